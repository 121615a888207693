"""Batch or design for somebody who keeps machines going: the answer first, without statistics."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import polars as pl

from fleet.flow.suspects_judge import BATCH, DESIGN, FEWEST, LONGER, NEITHER, SHORTER
from fleet.flow.suspects_words import sure_words

_MOST = 6  # names in one sentence
_FRACTIONS = ((0.25, "a quarter"), (1 / 3, "a third"), (0.5, "half"), (2 / 3, "two thirds"),
              (0.75, "three quarters"), (0.9, "nine tenths"))  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainAnswer:
    """`found`: batch, design or open; `headline` says it in a few words, `because` why, and
    `meaning` what it means: pairs of names (models, a batch, "") and what is said of them.
    """

    found: str
    headline: str
    because: str
    meaning: tuple[tuple[str, str], ...]


def plain_answer(frame: pl.DataFrame) -> PlainAnswer:
    """The answer on one kind of parts, from rows of flow.suspects.SUSPECTS."""
    accused = frame.filter(pl.col("level") == "batch", pl.col("verdict") == SHORTER)
    models = frame.filter(level="model")
    said = (*_models(models), *_across(frame), *_places(frame))
    if not accused.is_empty():
        rows = accused.rows(named=True)
        names = _names([f"{row['name']} in {row['model']}" for row in rows])
        one = len(rows) == 1
        stand = "one batch stands out" if one else f"{len(rows):,} batches stand out"
        return PlainAnswer(
            found="batch",
            headline=f"Yes, {stand}: {names}.",
            because=" ".join(_accused(row, alone=one) for row in rows[:_MOST]),
            meaning=said,
        )
    better = frame.filter(pl.col("level") == "batch", pl.col("verdict") == LONGER)
    if not better.is_empty():
        names = _names([f"{row['name']} in {row['model']}" for row in better.rows(named=True)])
        return PlainAnswer(
            found="batch",
            headline=f"No batch is worse than the rest, but some are better: {names}.",
            because="Machines with these capacitors can wait longer than the others.",
            meaning=said,
        )
    design = models.filter(verdict=DESIGN)["model"].to_list()
    if design:
        return PlainAnswer(
            found="design",
            headline="No batch stands out.",
            because=f"In {_names(design)} it is the design or age itself that ends them, "
            "not a bad batch.",
            meaning=said,
        )
    return PlainAnswer(
        found="open",
        headline="It cannot be told yet.",
        because=_open(frame),
        meaning=said,
    )


def _accused(row: dict[str, Any], *, alone: bool) -> str:
    who = "It" if alone else f"{row['name']} in {row['model']}"
    expected = row["expected"]
    beside = (
        ""
        if expected is None
        else f", where about {_count(expected)} would have if it lived like the others"
    )
    return (
        f"{who} lasts about {fraction_words(row['effect'])} as long as is usual for the model: "
        f"{_count(row['failures'])} of its {_count(row['lives'])} sets have failed{beside}. The "
        f"chance that it really lives shorter: {sure_words(row['p_shorter'])}."
    )


def _models(models: pl.DataFrame) -> list[tuple[str, str]]:
    """What the verdicts mean, models of one verdict together."""
    enough = models.filter(pl.col("failures") >= FEWEST)
    batch = enough.filter(pl.col("verdict").str.ends_with(f": {BATCH}"))["name"].to_list()
    design = enough.filter(verdict=DESIGN)["name"].to_list()
    neither = enough.filter(verdict=NEITHER)["name"].to_list()
    decided = {*batch, *design, *neither}
    rest = [name for name in models["name"].to_list() if name not in decided]
    pairs = (
        (batch, "the batch matters. Find out which batch each machine has before planning its "
                "recap."),
        (design, "every batch wears out alike. Go by age: no batch is much safer than another."),
        (neither, "every batch fails at any age alike. New parts by age do not help here."),
        (rest, "not enough is known. Reports of machines that still work, and the batch printed "
               "on their capacitors, would settle it soonest."),
    )  # fmt: skip
    return [(_names(names), said) for names, said in pairs if names]


def _across(frame: pl.DataFrame) -> list[tuple[str, str]]:
    rows = frame.filter(level="batch across models").filter(
        pl.col("verdict").str.ends_with("the parts")
    )
    names = rows["name"].to_list()
    if not names:
        return []
    return [(_names(names), "early in every model looked at: the parts, not the boards.")]


def _places(frame: pl.DataFrame) -> list[tuple[str, str]]:
    """Which place on the board fails first."""
    rows = frame.filter(level="position", verdict=SHORTER)
    if rows.is_empty():
        return []
    by_model = rows.group_by("model", maintain_order=True).agg("name")
    names = [f"{model} {', '.join(places[:3])}" for model, places in by_model.rows()]
    return [("On the board", f"these places fail sooner than the rest: {_names(names, '; ')}.")]


def _open(frame: pl.DataFrame) -> str:
    failures = float(frame.filter(level="model")["failures"].sum())
    if failures < FEWEST:
        one = round(failures) == 1
        return (
            f"With {_count(failures)} failure{'' if one else 's'} there is nothing to tell batches "
            "apart by."
        )
    if frame.filter(level="batch").is_empty():
        return "No machine's batch is named: enter what is printed on its capacitors."
    return "No batch is clearly worse, and none of the models is known well enough to say more."


def fraction_words(ratio: float) -> str:
    """A ratio below 1 as spoken: "half", "two thirds"."""
    if ratio < 0.2:
        return "a fifth or less"
    return min(_FRACTIONS, key=lambda pair: abs(pair[0] - ratio))[1]


def _names(names: Sequence[str], between: str = ", ") -> str:
    """Names in a row, the first few of many."""
    more = len(names) - _MOST
    if more > 0:
        return f"{between.join(names[:_MOST])} and {more:,} more"
    if between == ", " and len(names) > 1:
        return f"{', '.join(names[:-1])} and {names[-1]}"
    return between.join(names)


def _count(value: float) -> str:
    return f"{value:,.0f}"
