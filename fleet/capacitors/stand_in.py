"""May this part stand in for that one? Every point of comparison, each reason with its source.

METHODS: stand-ins. A verdict is on what is recorded: what nobody recorded is a fact to measure,
never a guess. It does not replace the look at the board.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import polars as pl

from fleet.capacitors.body import DIAMETER, HEIGHT, LENGTH, UNCOMMON_BODY
from fleet.capacitors.capacitance import CAPACITANCE
from fleet.capacitors.facts import FACTS, with_facts
from fleet.capacitors.leads import FORM, SPACING
from fleet.capacitors.polarity import ORIENTATION, POLARITY
from fleet.capacitors.rating import ENDURANCE, TEMPERATURE, VOLTAGE
from fleet.capacitors.ripple import ESR, RIPPLE
from fleet.capacitors.rule import REFUSED, VERDICTS, Point
from fleet.capacitors.safety_class import SAFETY_CLASS
from fleet.capacitors.technology import TECHNOLOGY

# In the order in which reasons are read: what hurts first.
POINTS = (
    *(VOLTAGE, TEMPERATURE, SAFETY_CLASS, POLARITY, CAPACITANCE, TECHNOLOGY, RIPPLE, ESR),
    *(FORM, SPACING, DIAMETER, LENGTH, HEIGHT, UNCOMMON_BODY, ENDURANCE, ORIENTATION),
)
REASON = pl.Struct(
    {"point": pl.String, "verdict": pl.String, "sentence": pl.String, "source": pl.String}
)
STAND_INS = pl.Schema(
    {
        "model": pl.String(),
        "position": pl.String(),
        "part": pl.String(),
        "verdict": pl.String(),
        "measure_first": pl.List(pl.String),
        "reasons": pl.List(REASON),
    }
)

_NO_RULE = 255
_NO_REASON = pl.DataFrame(
    schema={
        "_at": pl.UInt32,
        **REASON.to_schema(),
        "verdict_rank": pl.Int8,
        "measure": pl.List(pl.String),
    }
)


@dataclass(frozen=True, slots=True)
class Reason:
    """What one point of comparison says, and where that comes from."""

    point: str
    verdict: str
    sentence: str
    source: str


@dataclass(frozen=True, slots=True)
class StandIn:
    """The verdict on one part in one place: fits, fits_with_care, facts_not_known (voltage or
    capacitance of one of the two) or does_not_fit.

    `measure_first`: what to measure or look up before ordering; nothing where it does not fit.
    """

    verdict: str
    measure_first: tuple[str, ...]
    reasons: tuple[Reason, ...]


def judge_stand_in(place: Mapping[str, Any], part: Mapping[str, Any]) -> StandIn:
    """One part in one place, by facts named as in the record kinds positions and offers."""
    row = judge_stand_ins(_one_row(place), _one_row(part)).row(0, named=True)
    return StandIn(
        verdict=row["verdict"],
        measure_first=tuple(row["measure_first"]),
        reasons=tuple(Reason(**reason) for reason in row["reasons"]),
    )


def judge_stand_ins(positions: pl.DataFrame, parts: pl.DataFrame) -> pl.DataFrame:
    """Every part in every place: frame STAND_INS, a row a pair, in the order of the two frames.

    `positions` has model, position and facts, `parts` has part and facts, as in the record kinds
    (columns may be missing: nobody knows them). A part listed several times, at several suppliers
    or prices, is one part; the first fact told of it counts.
    """
    places, offered = with_facts(positions), with_facts(_once(parts))
    pairs = places.height * offered.height
    told = [_Told.of(point, places, offered) for point in POINTS]
    reasons = pl.concat([one.reasons for one in told])
    # A matrix of reason numbers, a column a point; 0 where a point says nothing.
    numbers = np.zeros((pairs, len(POINTS)), dtype=np.uint32)
    start = 1
    for column, one in enumerate(told):
        numbers[:, column] = np.where(one.which > 0, one.which + (start - 1), 0)
        start += one.reasons.height
    rank = np.concatenate(([0], reasons["verdict_rank"].to_numpy()))
    worst = rank[numbers].max(axis=1) if pairs else np.zeros(0, dtype=np.int64)
    known_against = worst[:, None] == VERDICTS.index(REFUSED)
    named = _crossed(places.select("model", "position"), offered.select("part"))
    return named.with_columns(
        verdict=pl.Series(np.asarray(VERDICTS)[worst], dtype=pl.String),
        # Nothing is worth measuring for a part that is refused by what is known.
        measure_first=_measure_first(reasons, np.where(known_against, 0, numbers)),
        reasons=_listed(reasons.select(*REASON.to_schema()), numbers),
    ).select(STAND_INS.names())


@dataclass(frozen=True, slots=True)
class _Told:
    """What one point says: its reasons, and for each pair which (from 1; 0: none)."""

    reasons: pl.DataFrame
    which: np.ndarray[Any, Any]

    @classmethod
    def of(cls, point: Point, places: pl.DataFrame, parts: pl.DataFrame) -> "_Told":
        """Judge each combination of facts once, however many places and parts share it."""
        asked, place_of = _combinations(places, point.of_place, "place")
        given, part_of = _combinations(parts, point.of_part, "part")
        both = _crossed(asked, given).with_row_index("_at")
        ruled = both.with_columns(_rule=_first_rule(point))
        pieces = [_NO_REASON, *_by_rule(point, ruled)]
        reasons = pl.concat(pieces)
        if len(pieces) > 2:
            reasons = reasons.sort("_at")
        number = np.zeros(ruled.height, dtype=np.uint32)
        number[reasons["_at"].to_numpy()] = np.arange(1, reasons.height + 1, dtype=np.uint32)
        at = place_of[:, None] * given.height + part_of[None, :]
        return cls(reasons, number[at.ravel()])


def _by_rule(point: Point, ruled: pl.DataFrame) -> Iterator[pl.DataFrame]:
    """Reasons of the combinations, rule by rule; `_rule` is the one that took each."""
    for number in np.unique(ruled["_rule"].fill_null(_NO_RULE).to_numpy()):
        if number == _NO_RULE:
            continue
        rule = point.rules[number]
        yield (
            ruled.lazy()
            .filter(pl.col("_rule") == int(number))
            .select(
                "_at",
                point=pl.lit(point.name),
                verdict=pl.lit(rule.verdict),
                sentence=rule.sentence,
                source=pl.lit(rule.source),
                verdict_rank=pl.lit(VERDICTS.index(rule.verdict), dtype=pl.Int8),
                measure=pl.lit(list(rule.measure), dtype=pl.List(pl.String)),
            )
            # A rule without a sentence only keeps later ones from speaking.
            .filter(pl.col("sentence").is_not_null())
            .collect()
        )


def _crossed(left: pl.DataFrame, right: pl.DataFrame) -> pl.DataFrame:
    """Each row of `left` with every row of `right`, in this order (a cross join promises none)."""
    first = np.repeat(np.arange(left.height), right.height)
    second = np.tile(np.arange(right.height), left.height)
    return left[first].hstack(right[second])


@cache
def _first_rule(point: Point) -> pl.Expr:
    """The number of the first rule of a point that holds; null where none does."""
    first = pl.lit(None, dtype=pl.UInt8)
    for number, rule in reversed([*enumerate(point.rules)]):
        first = pl.when(rule.when).then(pl.lit(number, dtype=pl.UInt8)).otherwise(first)
    return first


def _combinations(
    frame: pl.DataFrame, facts: tuple[str, ...], side: str
) -> tuple[pl.DataFrame, np.ndarray[Any, Any]]:
    """The combinations of `facts` that occur, and which of them each row has."""
    read = frame.select(pl.col(facts).name.prefix(f"{side}_"))
    if read.height == 1:
        return read, np.zeros(1, dtype=np.int64)
    different = read.unique(maintain_order=True).with_row_index("_no")
    number = read.join(
        different, on=read.columns, how="left", nulls_equal=True, maintain_order="left"
    )
    return different.drop("_no"), number["_no"].to_numpy().astype(np.int64)


def _listed(reasons: pl.DataFrame, numbers: np.ndarray[Any, Any]) -> pl.Series:
    """For each row of `numbers` its reasons as a list, in the order of the points."""
    said = numbers > 0
    flat = reasons.to_struct("reasons").gather(pl.Series(numbers[said].astype(np.uint32) - 1))
    pair = np.repeat(np.arange(len(numbers), dtype=np.uint32), said.sum(axis=1))
    lists = (
        pl.DataFrame({"pair": pl.Series(pair).set_sorted(), "reasons": flat})
        .group_by("pair", maintain_order=True)
        .agg("reasons")
    )
    if lists.height < len(numbers):  # a pair of which no point says anything
        every = pl.DataFrame({"pair": pl.Series(np.arange(len(numbers), dtype=np.uint32))})
        lists = every.join(lists, on="pair", how="left", maintain_order="left")
    return lists["reasons"].cast(pl.List(REASON))


def _measure_first(reasons: pl.DataFrame, numbers: np.ndarray[Any, Any]) -> pl.Series:
    """For each row of `numbers` what to measure first, each fact once."""
    asks = np.concatenate(([False], (reasons["measure"].list.len() > 0).to_numpy()))
    pair, column = np.nonzero(asks[numbers])
    facts = reasons["measure"].gather(pl.Series(numbers[pair, column]).cast(pl.UInt32) - 1)
    lists = (
        pl.DataFrame({"pair": pl.Series(pair).cast(pl.UInt32), "fact": facts})
        .explode("fact")
        .group_by("pair", maintain_order=True)
        .agg(pl.col("fact").unique(maintain_order=True))
    )
    every = pl.DataFrame({"pair": pl.Series(np.arange(len(numbers), dtype=np.uint32))})
    joined = every.join(lists, on="pair", how="left", maintain_order="left")["fact"]
    return joined.fill_null(pl.Series([[]], dtype=pl.List(pl.String)))


def _once(parts: pl.DataFrame) -> pl.DataFrame:
    facts = [name for name in FACTS if name in parts.columns]
    return parts.group_by("part", maintain_order=True).agg(pl.col(facts).drop_nulls().first())


def _one_row(facts: Mapping[str, Any]) -> pl.DataFrame:
    names = ("model", "position", "part", *FACTS)
    row = {name: facts.get(name) for name in names}
    unnamed = {name: "" for name in ("model", "position", "part") if row[name] is None}
    return pl.DataFrame([{**row, **unnamed}])
