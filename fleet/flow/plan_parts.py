"""When the parts for each job of a plan can be there: from the shelf at once, else when ordered.

METHODS: plan
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

import polars as pl

from fleet.errors import FleetError

_NAMED = 6
_LACKS = {"model": pl.String, "lacks": pl.String}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PartsThere:
    """`there`: for each job the first day on which its parts can be there. `notes`: what it is
    taken from, and what nobody said. `lacks`: model, lacks: a sentence on its places for which no
    part can be ordered.
    """

    there: pl.Series
    notes: tuple[str, ...]
    lacks: pl.DataFrame = field(default_factory=lambda: pl.DataFrame(schema=_LACKS))

    def told_in(self, jobs: pl.DataFrame) -> pl.DataFrame:
        """`jobs` (frames.JOBS) whose reason says which places no part can be ordered for."""
        lacks = jobs.select("model").join(self.lacks, on="model", how="left", maintain_order="left")
        said = pl.concat_str("reason", pl.lit(" "), lacks["lacks"])
        return jobs.with_columns(said.fill_null(pl.col("reason")).alias("reason"))


def parts_there(
    jobs: pl.DataFrame, records: Mapping[str, pl.DataFrame], *, as_of: date
) -> PartsThere:
    """First day of each job (unit, model, due_on, p_fail), parts ordered on `as_of`.

    `records`: known frames of positions, offers and stock. Whole sets on the shelf go to the
    machines due first; the others wait for the slowest part of their model, each from its fastest
    supplier. Where nobody said how long a part takes, or no part is known, nothing is waited for,
    which is said.
    """
    from fleet.flow.best_part import choose, judge
    from fleet.flow.order_stock import on_shelf

    now = pl.Series("there", [as_of] * jobs.height, dtype=pl.Date)
    models = jobs["model"].unique().sort().to_list()
    if not models or records["positions"].filter(pl.col("model").is_in(models)).is_empty():
        return PartsThere(there=now, notes=(_NOT_KNOWN,) if models else ())
    try:
        judged = judge(records, models=models, as_of=as_of)
    except FleetError as error:
        return PartsThere(there=now, notes=(f"No job waits for parts: {error}.",))
    chosen = choose(judged)
    named = chosen.drop_nulls("part")
    shelf = on_shelf(records["stock"], judged.pairs, named, as_of=as_of, offers=records["offers"])
    lead = records["offers"].group_by("part").agg(pl.col("lead_days").min())
    waits = named.join(lead, on="part", how="left", maintain_order="left")
    slowest = waits.group_by("model").agg(days=pl.col("lead_days").max().ceil())
    stocked = _stocked(jobs, named, shelf.may_stand, shelf.lots)
    days = jobs.join(slowest, on="model", how="left", maintain_order="left")["days"]
    there = [
        as_of if unit in stocked or wait is None else as_of + timedelta(days=int(wait))
        for unit, wait in zip(jobs["unit"], days, strict=True)
    ]
    return PartsThere(
        there=pl.Series("there", there, dtype=pl.Date),
        notes=_said(slowest, waits, models, len(stocked), as_of),
        lacks=_lacks(chosen.filter(pl.col("part").is_null())),
    )


def _lacks(bare: pl.DataFrame) -> pl.DataFrame:
    """For each model the places of `bare` (best_part.BEST), those to be measured and others."""
    rows = []
    for (model,), mine in bare.group_by("model", maintain_order=True):
        open_ = pl.col("verdict").is_null()
        unmeasured = mine.filter(open_)["position"].to_list()
        unfit = mine.filter(~open_)["position"].to_list()
        said = []
        if unmeasured:
            them = "it" if len(unmeasured) == 1 else "them"
            said.append(
                f"{_listed(unmeasured)} not measured: no part can be ordered for {them} yet."
            )
        if unfit:
            said.append(f"No part on offer fits {_listed(unfit)}.")
        rows.append((model, " ".join(said)))
    return pl.DataFrame(rows, schema=_LACKS, orient="row")


def _stocked(
    jobs: pl.DataFrame, named: pl.DataFrame, may_stand: pl.DataFrame, lots: pl.DataFrame
) -> set[str]:
    """Machines whose whole set lies on the shelf, those due first served first."""
    left = dict(lots.select("lot", "pieces").iter_rows())
    lots_of = {
        (str(model), str(position)): mine["lot"].to_list()
        for (model, position), mine in may_stand.sort("preference").group_by(
            "model", "position", maintain_order=True
        )
    }
    places = dict(named.group_by("model").agg("position").iter_rows())
    ended: set[str] = set()
    found: set[str] = set()
    first = jobs.sort("due_on", "p_fail", "unit", descending=[False, True, False])
    for unit, model in first.select("unit", "model").iter_rows():
        if model in ended or model not in places:
            continue
        taken: dict[int, int] = {}
        for position in places[model]:
            lot = next(
                (n for n in lots_of.get((model, position), []) if left[n] > taken.get(n, 0)), None
            )
            if lot is None:
                ended.add(model)
                break
            taken[lot] = taken.get(lot, 0) + 1
        else:
            found.add(unit)
            for lot, pieces in taken.items():
                left[lot] -= pieces
    return found


_NOT_KNOWN = (
    "No positions are described for these models, so no job waits for parts: `fleet add position`, "
    "`fleet add offer`."
)


def _said(
    slowest: pl.DataFrame, waits: pl.DataFrame, models: list[str], stocked: int, as_of: date
) -> tuple[str, ...]:
    said = []
    told = slowest.drop_nulls("days").filter(pl.col("days") > 0).sort("days", "model")
    if told.height:
        days = int(told["days"].max())  # type: ignore[arg-type]
        shelf = f"; {stocked:,} machines find a whole set on the shelf" if stocked else ""
        said.append(
            f"No session begins before its parts can be there: ordered on {as_of}, the slowest are "
            f"there by {as_of + timedelta(days=days)}{shelf}. What is on its way already counts "
            "once it is entered as stock."
        )
    silent = waits.filter(pl.col("lead_days").is_null())["part"].unique().sort().to_list()
    if silent:
        said.append(
            f"How long {_listed(silent)} takes to come is not recorded (lead_days of the offer): "
            "no job waits for that."
        )
    bare = sorted(set(models) - set(waits["model"]))
    if bare:
        said.append(
            f"No part is known to fit anything of {_listed(bare)}, so their jobs wait for none: "
            "`fleet order` says what is missing."
        )
    return tuple(said)


def _listed(names: list[str]) -> str:
    few = names[:_NAMED]
    more = [f"{len(names) - _NAMED:,} more"] if len(names) > _NAMED else []
    *first, last = [*few, *more]
    return f"{', '.join(first)} and {last}" if first else last
