"""Batch or design in sentences, with how sure they are."""

from collections.abc import Mapping
from typing import Any

import polars as pl

from fleet.flow.read_aloud import chance_words, number
from fleet.flow.suspects_judge import (
    BATCH,
    DESIGN,
    FEW,
    FEWEST,
    LIKE,
    LONGER,
    NEITHER,
    OTHER,
    SHORTER,
    SLIGHT,
    UNTOLD,
)

_ENOUGH = 5.0  # failures of one kind of parts from which shares are said; our own rule
_PARTS = {"original": "", "replaced": " (replaced parts)"}


def sure_words(chance: float | None) -> str:
    """A posterior chance as spoken: "about 19 in 20"."""
    if chance is None:
        return "unknown"
    if chance >= 0.99:
        return "more than 99 in 100"
    if chance >= 0.93:
        return "about 19 in 20"
    if chance >= 0.85:
        return "about 9 in 10"
    return f"about {chance_words(chance)}"


def times(value: float) -> str:
    """A ratio or a shape with two figures."""
    return number(float(f"{value:.2g}"))


def batch_words(row: Mapping[str, Any]) -> str:
    """The verdict on one batch as a sentence."""
    counts = f"{_counted(row['failures'], 'failure')} of {_counted(row['lives'], 'life', 'lives')}"
    if row["effect"] is None:
        return f"{counts}; how long it lasts beside the model's typical batch is unknown"
    # replaced parts have no typical batch of their own: they are held against the factory's
    kind = "factory batch" if row["parts"] == "replaced" else "batch"
    long = (
        f"{times(row['effect'])} times as long as a typical {kind} of {row['model']} "
        f"({times(row['effect_low'])} to {times(row['effect_high'])})"
    )
    if row["expected"] is not None:
        counts += f", {_whole(row['expected'])} expected if it lived like the others"
    verdict = row["verdict"]
    if verdict in (SHORTER, LONGER):
        said = f"{_sided(row, long)}; {counts}"
        return said + (f"; {row['pattern']}" if row["pattern"] else "")
    words = {
        LIKE: f"lives like the others: {long}; {counts}",
        SLIGHT: f"differs from the others, but by little: {long}; {counts}",
        FEW: f"too few failures to say anything of it: {counts}; {long} as far as can be seen",
        OTHER: f"the other of the two batches lives shorter than it: {long}; {counts}",
        UNTOLD: f"cannot be told apart from the others nor called alike: {long}; {counts}",
    }
    return words[verdict] + (f"; {row['pattern']}" if row["pattern"] else "")


def _sided(row: Mapping[str, Any], long: str) -> str:
    """Shorter or longer, how sure, and by what: of two batches by one beside the other."""
    shorter = row["verdict"] == SHORTER
    way = "shorter" if shorter else "longer"
    sure = sure_words(row["p_shorter"] if shorter else 1.0 - row["p_shorter"])
    if row["groups"] != 2:
        return f"lives {way} ({sure}): {long}"
    other = (
        f"{times(row['other'])} times as long as that one "
        f"({times(row['other_low'])} to {times(row['other_high'])})"
    )
    said = f"lives {way} than the other batch ({sure}): {other}; {long}"
    open_beside = row["effect_high"] >= 1.0 if shorter else row["effect_low"] <= 1.0
    if open_beside:
        said += ", which two batches settle poorly: the verdict is of the two beside each other"
    return said


def model_words(row: Mapping[str, Any]) -> str:
    """The verdict on one model as a sentence."""
    counts = (
        f"{_counted(row['groups'] or 0, 'named batch', 'named batches')}, "
        f"{_counted(row['failures'], 'failure')} of {_counted(row['lives'], 'life', 'lives')}"
    )
    ageing = _ageing(row)
    if row["verdict"].endswith(f": {BATCH}"):
        spread = f"{_percent(row['share'])} of the variation of life lies between batches"
        return f"a matter of batches, not of the design alone: {counts}; {spread}; {ageing}"
    if row["verdict"] == DESIGN:
        return (
            f"the batches fail alike ({sure_words(row['p_design'])} that none of {row['known']} "
            f"lasts less than 0.7 times as long as is typical and that they wear out): {counts}; "
            f"{ageing}"
        )
    if row["verdict"] == NEITHER:
        return f"failures come at any age in every batch: {counts}; {ageing}"
    same = row["p_same"]
    known = (
        ""
        if same is None
        else f"; {sure_words(same)} that all batches with three failures are alike"
    )
    return f"{row['verdict']}: {counts}{known}; {ageing}"


def _ageing(row: Mapping[str, Any]) -> str:
    if row["shape"] is None:
        return "whether they wear out is unknown"
    low, high = times(row["shape_low"]), times(row["shape_high"])
    limits = f"shape {times(row['shape'])}, {low} to {high}"
    if row["shape_low"] > 1.0:
        return f"they wear out: the older, the likelier to fail ({limits})"
    return f"it is open whether they wear out ({limits})"


def overall_words(frame: pl.DataFrame, shares: pl.DataFrame) -> tuple[str, ...]:
    """The answer for the whole fleet: suspects, models by verdict, and the shares."""
    said = list(suspect_words(frame))
    for row in frame.filter(level="model").iter_rows(named=True):
        if row["failures"] >= FEWEST:
            said.append(f"{row['name']}{_PARTS[row['parts']]}: {row['verdict']}")
    return (*said, *share_words(frame, shares))


def suspect_words(frame: pl.DataFrame) -> tuple[str, ...]:
    """A sentence for each batch that lives shorter, or that there is none."""
    batches = frame.filter(level="batch")
    suspects = batches.filter(pl.col("verdict") == SHORTER)
    said = []
    for row in suspects.iter_rows(named=True):
        said.append(
            f"Suspect: {row['name']} in {row['model']}{_PARTS[row['parts']]} {row['reason']}"
        )
    return tuple(said) or (_no_suspect(batches),)


def share_words(frame: pl.DataFrame, shares: pl.DataFrame) -> tuple[str, ...]:
    """Where the variation of life lies, of kinds of parts with failures enough to say."""
    failures = frame.filter(level="model").group_by("parts").agg(pl.col("failures").sum())
    enough = failures.filter(pl.col("failures") >= _ENOUGH)["parts"]
    return tuple(_share_words(shares.filter(pl.col("parts").is_in(enough.implode()))))


def _no_suspect(batches: pl.DataFrame) -> str:
    like = int((batches["verdict"] == LIKE).sum())
    if not batches.height:
        return "No batch is named, so none can be suspected"
    return (
        f"No batch is told apart for living shorter: {like} of {batches.height} live like the "
        "others, of the rest too little is known"
    )


def _share_words(shares: pl.DataFrame) -> list[str]:
    said = []
    for (parts,), rows in shares.filter(pl.col("model").is_null()).group_by(
        "parts", maintain_order=True
    ):
        share = {r["part_of_life"]: _percent(r["share"]) for r in rows.iter_rows(named=True)}
        said.append(
            f"Of all variation of life{_PARTS[str(parts)]} about {share['model']} lies between "
            f"models, {share['batch']} between batches of a model, {share['chance']} between sets "
            "of one batch, which nobody can tell apart beforehand"
        )
    for row in shares.filter(part_of_life="position").iter_rows(named=True):
        said.append(
            f"{row['model']}{_PARTS[row['parts']]}: of the variation of life of single capacitors "
            f"of one batch {_roughly(row['share'])} lies between positions on the board"
        )
    return said


def _roughly(share: float) -> str:
    return "next to nothing that can be seen" if share < 0.03 else f"roughly {_percent(share)}"


def _percent(share: float | None) -> str:
    if share is None:
        return "an unknown part"
    return "under 1 %" if share < 0.01 else f"{100.0 * share:.0f} %"


def _counted(count: float, one: str, many: str | None = None) -> str:
    return f"{_whole(count)} {one if count == 1 else many or one + 's'}"


def _whole(count: float) -> str:
    """A count of lives as spoken; shares of lives (unknown causes) show only where few."""
    return f"{count:,.0f}" if count >= 10 else f"{count:.1f}".removesuffix(".0")
