"""Which parts may stand in for which: records of places, offers and stock held together."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from fleet.errors import BadInput, NotKnown

READ = ("models", "positions", "offers", "stock")
TYPED = "typed facts"  # the name of a part that is described and not listed


@dataclass(frozen=True, slots=True)
class StandIns:
    """Verdicts (fleet.capacitors.stand_in.STAND_INS), the best of each place first, and notes."""

    frame: pl.DataFrame
    notes: tuple[str, ...]


def reasons_by_verdict() -> dict[str, pl.Expr]:
    """The sentences of a row's `reasons`, joined, by the verdict that each gives; for what may go
    against a part.
    """
    reason = pl.element().struct
    return {
        verdict: pl.col("reasons")
        .list.eval(reason.field("sentence").filter(reason.field("verdict") == verdict))
        .list.join("; ")
        for verdict in ("does_not_fit", "facts_not_known", "fits_with_care")
    }


def stand_ins(
    store: Path,
    *,
    as_of: date,
    parts: Sequence[str] = (),
    model: str | None = None,
    position: str | None = None,
    facts: str | None = None,
) -> StandIns:
    """May these parts go into these places? As `stand_ins_of`, from a store."""
    from fleet.flow.known import known_records

    records = known_records(store, READ, as_of=as_of)
    return stand_ins_of(records, parts=parts, model=model, position=position, facts=facts)


def stand_ins_of(
    records: Mapping[str, pl.DataFrame],
    *,
    parts: Sequence[str] = (),
    model: str | None = None,
    position: str | None = None,
    facts: str | None = None,
) -> StandIns:
    """Verdicts on `parts` (none named: every offer and what is on the shelf) in every place.

    `facts` describes one more part as printed on it; alone, only that part is judged. Raises
    NotKnown for a part, model or position nobody recorded, BadInput for facts of what was named
    that contradict one another and for a single place without a voltage.
    """
    from fleet.capacitors.stand_in import judge_stand_ins
    from fleet.capacitors.told_twice import told_twice

    places = _places(records, model, position)
    offered = _offered(parts_of(records), parts, facts)
    notes: list[str] = []
    wrong = _contradictory(places, ("model", "position"))
    if model is not None and position is not None:
        _refuse(wrong)
        _refuse_without_voltage(places)
    else:
        notes += wrong
    wrong = _contradictory(offered, ("part",))
    twice = told_twice(records["offers"]).join(offered, on="part", how="semi")
    wrong += [f"{part}: {sentence}" for part, sentence in twice.iter_rows()]
    offered = offered.join(twice, on="part", how="anti", maintain_order="left")
    if parts or facts:
        _refuse(wrong)
    else:
        notes += wrong
    notes += _incomplete(places)
    judged = judge_stand_ins(places, offered)
    best = _best_first(judged)
    if not parts and facts is None:
        notes += _nothing_goes_in(best)
    return StandIns(best, tuple(notes))


def _nothing_goes_in(best: pl.DataFrame) -> list[str]:
    """Places for which every part is refused, with the part that comes nearest."""
    refused = (pl.col("verdict") == "does_not_fit").all().over("model", "position")
    nearest = best.filter(refused).unique(["model", "position"], keep="first", maintain_order=True)
    return [
        f"{_named(row)}: none of the parts that can be had goes in; {row['part']} comes nearest"
        for row in nearest.iter_rows(named=True)
    ]


def _best_first(judged: pl.DataFrame) -> pl.DataFrame:
    """Places in their order; in each what fits, then what needs the fewest steps to make it fit."""
    from fleet.capacitors.rule import VERDICTS

    ranks = {name: rank for rank, name in enumerate(VERDICTS)}
    of_reasons = pl.col("reasons").list.eval(pl.element().struct.field("verdict"))
    return (
        judged.with_row_index("_row")
        .with_columns(
            _place=pl.col("_row").first().over("model", "position"),
            _rank=pl.col("verdict").replace_strict(ranks, return_dtype=pl.Int8),
            _refused=of_reasons.list.count_matches("does_not_fit"),
            _unsettled=pl.col("measure_first").list.len(),
            _care=of_reasons.list.count_matches("fits_with_care"),
        )
        .sort("_place", "_rank", "_refused", "_unsettled", "_care", "_row")
        .select(judged.columns)
    )


def parts_of(records: Mapping[str, pl.DataFrame]) -> pl.DataFrame:
    """Every part that can be had, one row each: its facts, and `on_shelf`, how many are in stock.

    A part listed by several suppliers has the first fact told of it. A part that is only in stock
    has no facts: they are told by an offer of it.
    """
    from fleet.capacitors.facts import FACTS

    offers, stock = records["offers"], records["stock"]
    facts = [pl.col(c).drop_nulls().first() for c in offers.columns if c in FACTS]
    listed = offers.group_by("part", maintain_order=True).agg(facts)
    shelf = stock.group_by("part", maintain_order=True).agg(on_shelf=pl.col("quantity").sum())
    return listed.join(shelf, on="part", how="full", coalesce=True, maintain_order="left_right")


def _places(
    records: Mapping[str, pl.DataFrame], model: str | None, position: str | None
) -> pl.DataFrame:
    places = records["positions"]
    if model is not None:
        model = _own_name(records["models"], model)
        places = places.filter(pl.col("model") == model)
        if places.is_empty():
            raise NotKnown(
                f"no place is recorded for the model {model}; add one with fleet add position "
                f"C1 --model {model}"
            )
    if position is not None:
        known = places["position"].unique(maintain_order=True).to_list()
        places = places.filter(pl.col("position").str.to_uppercase() == position.strip().upper())
        if places.is_empty():
            whose = f" on {model}" if model else ""
            raise NotKnown(
                f"there is no position {position}{whose}; there are {', '.join(known) or 'none'}"
            )
    number = pl.col("position").str.extract(r"(\d+)").cast(pl.Int64, strict=False)
    letters = pl.col("position").str.extract(r"^(\D*)")
    return places.sort(pl.col("model"), letters, number, "position")


def _own_name(models: pl.DataFrame, name: str) -> str:
    """The model's name, also when it is called by one of its aliases."""
    if name in models["model"].to_list():
        return name
    other = models.filter(
        pl.col("aliases")
        .str.split(";")
        .list.eval(pl.element().str.strip_chars())
        .list.contains(name)
    )
    return str(other["model"][0]) if other.height else name


def _offered(every: pl.DataFrame, parts: Sequence[str], facts: str | None) -> pl.DataFrame:
    for name in parts:
        if name not in every["part"].to_list():
            raise NotKnown(
                f"there is no part {name} among the offers and the stock; describe it with "
                "--facts, or add it with fleet add offer"
            )
    if facts is None:
        return every.filter(pl.col("part").is_in(list(parts))) if parts else every
    from fleet.capacitors.read_facts import read_facts

    typed = pl.DataFrame([{"part": TYPED, **read_facts(facts)}])
    named = every.filter(pl.col("part").is_in(list(parts)))
    return pl.concat([named, typed], how="diagonal_relaxed")


def _contradictory(frame: pl.DataFrame, of: Sequence[str]) -> list[str]:
    from fleet.capacitors.contradictory import contradictions

    found = contradictions(frame, of=of)
    whose = pl.concat_str(pl.col(of), separator=" ")
    return found.select(whose + ": " + pl.col("sentence")).to_series().to_list()


def _refuse(sentences: Sequence[str]) -> None:
    if sentences:
        raise BadInput(
            "; ".join(sentences) + "; correct the record with fleet amend before any verdict"
        )


def _refuse_without_voltage(places: pl.DataFrame) -> None:
    for row in places.filter(pl.col("voltage").is_null()).iter_rows(named=True):
        raise BadInput(
            f"{_named(row)} has no voltage on record, and without it no part can be judged: read "
            "it off the old part's sleeve and correct the record with fleet amend"
        )


def _named(row: Mapping[str, Any]) -> str:
    return f"{row['model']} {row['position']}"


def _incomplete(places: pl.DataFrame) -> list[str]:
    from fleet.capacitors.gaps import position_gaps

    return [
        f"{_named(row)}: measure before ordering: {', '.join(row['missing'])}"
        for row in position_gaps(places).iter_rows(named=True)
    ]
