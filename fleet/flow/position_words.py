"""Which capacitor fails, in sentences for somebody who repairs machines."""

from collections.abc import Mapping
from typing import Any

import polars as pl

from fleet.flow.caution import CAUTION
from fleet.flow.position_lives import PositionLives
from fleet.flow.position_told import even_part, settled_words

_SAID = 20  # models put into words
_EVEN = "even part"


def what_is_taken_as_true(found: PositionLives) -> tuple[str, ...]:
    """What the sharing out rests on, how many failures it touches, and what readings did."""
    failures = found.failures
    several = failures.filter(pl.col("suspects") > 1)
    said = []
    if several.height:
        count = _count(_sum(several), "failure")
        said.append(
            f"{count} with several suspects {_is(count)} shared out. Taken "
            "as true: the faulty one is among those replaced or named; the one who replaced all "
            "would have done so whichever was at fault; and who replaces how many does not hang "
            "on how long the parts last"
        )
    said.append(
        "Shares are drawn a little towards equal parts, as though one more failure had been spread "
        "evenly over the positions of each model"
    )
    counts = {
        "Readings taken before the recap narrow or weigh the suspects of {}": "weighed",
        "All suspects measured good out of the circuit in {}: readings are set aside there": (
            "cleared_all"
        ),
        "The position named was not among those replaced in {}: what was replaced counts": (
            "against"
        ),
    }
    for words, which in counts.items():
        some = failures.filter(which)
        if some.height:
            said.append(words.format(_count(_sum(some), "failure")))
    return tuple(said)


def _is(count: str) -> str:
    return "is" if count.startswith("1 ") else "are"


def position_words(
    frame: pl.DataFrame, found: PositionLives, *, level: float = 0.90
) -> tuple[str, ...]:
    """A sentence or two for each model with failures, and what to do next."""
    failed = frame.filter(pl.col("of_failures") > 0.0)
    models = failed.group_by("model", maintain_order=True).agg(pl.col("of_failures").first())
    ordered = models.sort("of_failures", descending=True, maintain_order=True)["model"].to_list()
    said = [_of_model(failed.filter(model=name), level) for name in ordered[:_SAID]]
    if len(ordered) > _SAID:
        said.append(f"{len(ordered) - _SAID} further models are not put into words")
    if any(_EVEN in text for text in said):
        said.append("An even part is what falls to a capacitor if all on the board fail as often")
    unsure = found.failures.filter(pl.col("suspects") > 1)
    if unsure.height:
        said.append(
            f"{_count(_sum(unsure), 'failure')} would tell more if the position were "
            "known: name it when logging a failure, or measure each part as it comes out "
            "(stage before)"
        )
        said.append(CAUTION)
    return tuple(said)


def _of_model(rows: pl.DataFrame, level: float) -> str:
    ranked = rows.sort("failures", "share_low", descending=True, nulls_last=True)
    first = ranked.row(0, named=True)
    begin = f"Of {_count(first['of_failures'], 'failure')} of the {first['model']}"
    if _all_together(rows):
        return (
            f"{begin} nobody can say at which of {_names(first['position'])}: they were always "
            "suspected together"
        )
    if rows.height == 1:
        return (
            f"{begin} nothing can be ranked: {first['position']} is the only position known; list "
            "its capacitors in positions"
        )
    if first["share"] is None:
        return f"{begin} what was replaced does not settle which position it was{_apart(rows)}"
    if first["of_failures"] < 3.0:
        some = ranked.filter(pl.col("failures") >= 0.5).head(2).iter_rows(named=True)
        where = " and ".join(f"{_about(row)} at {_names(row['position'])}" for row in some)
        return f"{begin}, {where or 'no position stands out'}: too few to rank positions"
    rest = [
        f"{_about(row)} at {_names(row['position'])}"
        for row in ranked.slice(1, 2).iter_rows(named=True)
        if row["failures"] is not None and row["failures"] >= 0.5
    ]
    further = f", {', '.join(rest)}" if rest else ""
    were = "was" if _whole(first["failures"]) == "1" else "were"
    name = _names(first["position"])
    takes = "take" if ";" in first["position"] else "takes"
    settled = settled_words(rows)
    return (
        f"{begin} {_about(first)} {were} at {name}{_bounds(first)}{further}. {name} {takes} "
        f"{_percent(first['share_low'])} to {_percent(first['share_high'])} of what fails "
        f"({100.0 * level:.4g} % limits){_judgement(rows, first)}{_apart(rows)}"
        f"{f'. {settled}' if settled else ''}"
    )


def _about(row: Mapping[str, Any]) -> str:
    """How many, "about" where they were shared out."""
    number = _whole(row["failures"])
    return number if _sure(row) else f"about {number}"


def _sure(row: Mapping[str, Any]) -> bool:
    return bool(abs(row["candidates"] - row["certain"]) < 1e-9)


def _bounds(row: Mapping[str, Any]) -> str:
    if _sure(row):
        return ""
    return f" (between {_whole(row['certain'])} and {_whole(row['candidates'])})"


def _judgement(rows: pl.DataFrame, first: Mapping[str, Any]) -> str:
    shorter = rows.filter(verdict="shorter life")["position"].to_list()
    if shorter:
        whose = " and ".join(_names(name) for name in shorter)
        return f": more than an {_EVEN} falls to {whose}"
    ranked = rows.with_columns(even_part(rows)).filter(position=first["position"])
    if first["share_low"] > ranked["even"].item():
        return f", more than an {_EVEN} only by failures that were shared out: no verdict"
    its = "their" if ";" in first["position"] else "its"
    return f", which may still be no more than {its} {_EVEN}"


def _apart(rows: pl.DataFrame) -> str:
    blocks = rows.filter(pl.col("position").str.contains(";", literal=True))["position"]
    said = [f"{_names(b)} were always suspected together and cannot be told apart" for b in blocks]
    return "".join(f". {text}" for text in said)


def _all_together(rows: pl.DataFrame) -> bool:
    return rows.height == 1 and ";" in rows["position"][0]


def _names(position: str) -> str:
    *most, last = position.split(";")
    return f"{', '.join(most)} and {last}" if most else last


def _percent(share: float) -> str:
    return "under 1 %" if share < 0.01 else f"{100.0 * share:.0f} %"


def _sum(failures: pl.DataFrame) -> float:
    return float(failures["count"].sum())


def _count(count: float, one: str) -> str:
    text = _whole(count)
    return f"{text} {one}" if text == "1" else f"{text} {one}s"


def _whole(count: float) -> str:
    """A count as spoken: whole, as parts of a failure come from causes that are shared out."""
    return f"{count:,.0f}"
