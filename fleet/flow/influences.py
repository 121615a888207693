"""Does heat, use or a batch shorten life here? The answer as a table and in words."""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import polars as pl

from fleet.errors import BadInput
from fleet.flow.answers import choose_parts
from fleet.flow.differences import UNLIKELY, range_words
from fleet.flow.facts import HEAT, USE, with_facts
from fleet.flow.identifiable import set_apart, what_failures_alone_tell
from fleet.flow.read_aloud import chance_words, number
from fleet.flow.table import Answer, Settings, Table

if TYPE_CHECKING:
    from fleet.fits.groups.factors import Factor
    from fleet.fits.regression import Regression

_VALUES_SAID = 5
_HALF_PER_TEN = 0.5  # the ten-kelvin rule: half as long for every 10 kelvin
_CLOSE = 0.05  # so near to the rule a limit is called close to it


def influences(
    table: Table,
    columns: Sequence[str],
    *,
    store: Path | None,
    as_of: date,
    by: Sequence[str] = (),
    level: float = 0.95,
    settings: Settings | None = None,
) -> Answer:
    """How many times as long lives last for more heat, more use, another batch ...

    Columns of the frame: fits.regression.EFFECTS. Groups of `by` may differ in how long they
    last; models may in any case. Raises BadInput for a column that is not there or tells nothing.
    """
    from fleet.fits.regression import regression

    if not columns:
        raise BadInput("say which columns may explain how long lives last, like --explain batch")
    table, notes = with_facts(table, columns, store=store, as_of=as_of)
    apart = kept_apart(table, columns, by)
    groups = tuple(dict.fromkeys([*apart, *(c for c in columns if c in ("model", "parts"))]))
    named = {c: table.lives[c] for c in columns}
    chosen, said = choose_parts(table, groups, settings)
    chosen, alone = set_apart(chosen, table, apart)
    factors = [_factor(c, chosen[c]) for c in named]
    found = regression(chosen, factors, apart=apart, level=level)
    words = influence_words(found, apart)
    return Answer(
        frame=found.effects,
        notes=(*words, *notes, *said, *what_failures_alone_tell(alone, apart)),
    )


def kept_apart(table: Table, columns: Sequence[str], by: Sequence[str]) -> tuple[str, ...]:
    """The groups with lives of their own: those asked for, and models of a store."""
    for column in by:
        if column not in table.lives.columns:
            raise BadInput(f"there is no column {column} to group by")
    extra = ["model"] if table.from_store and table.lives["model"].n_unique() > 1 else []
    return tuple(c for c in dict.fromkeys([*extra, *by]) if c not in columns)


def _factor(column: str, values: pl.Series) -> "Factor":
    from fleet.fits.groups.factors import Factor

    if not values.dtype.is_numeric():
        return Factor(column=column, reading="names")
    if column in HEAT:
        return Factor(column=column, step=10.0)
    if column == USE:
        if bool((values.drop_nulls() > 0.0).all()):
            return Factor(column=column, reading="doubling")
        return Factor(column=column, step=1000.0)
    return Factor(column=column)


def influence_words(found: "Regression", apart: Sequence[str] = ()) -> tuple[str, ...]:
    """The effects as sentences, with what weakens them."""
    said: list[str] = []
    rough = not bool(found.effects["reliable"].all())
    if rough:
        said.append(
            "Fewer than ten failures for each number estimated: what follows is unreliable, and "
            "its limits too narrow"
        )
    for part in found.effects.partition_by("column", maintain_order=True):
        rows = list(part.iter_rows(named=True))
        said += (
            [_number_words(rows[0], rough=rough)]
            if rows[0]["value"] is None
            else _names_words(rows)
        )
    said.append(
        f"From {number(found.lives)} lives with {number(found.failures)} failures"
        + (f"; groups by {', '.join(apart)} may differ in how long they last" if apart else "")
    )
    if found.missing:
        each = ", ".join(
            f"{row['column']} of {number(row['missing'])}"
            for row in found.effects.unique("column", maintain_order=True).iter_rows(named=True)
            if row["missing"]
        )
        said.append(f"{number(found.missing)} lives were left out, a column being empty: {each}")
    if found.shape is None:
        said.append("The lives alone do not fix how long they last, so effects are not given")
    return tuple(said)


def _number_words(row: Mapping[str, Any], *, rough: bool) -> str:
    heat, low, high = row["column"] in HEAT, row["effect_low"], row["effect_high"]
    more = _more(row)
    if row["effect"] is None:
        known = "" if low is None and high is None else f" ({range_words(low, high)} times as long)"
        return f"{more}: no estimate{known}"
    limits = range_words(low, high)
    if row["p_value"] is not None and row["p_value"] < UNLIKELY:
        way = "shorter" if row["effect"] < 1.0 else "longer"
        said = (
            f"{more}: lives {way}, {number(row['effect'])} times as long ({limits}; chance of as "
            f"much without an effect: {chance_words(row['p_value'])})"
        )
    else:
        said = f"{more}: no effect seen ({number(row['effect'])} times as long, {limits})"
        said += "" if rough else _missed_words(low, high)
    return said + (_ten_kelvin_words(low, high) if heat and not rough else "")


def _more(row: Mapping[str, Any]) -> str:
    column, per = row["column"], row["per"]
    if column in HEAT:
        return f"For every {per.removesuffix(' more')} °C hotter ({column})"
    if column == USE and per == "twice as much":
        return "For twice the powered hours a year"
    return f"For {column} {per}"


def _missed_words(low: float | None, high: float | None) -> str:
    if low is None or high is None:
        return ""
    return f"; anything from {number(low)} to {number(high)} times as long fits these lives"


def _ten_kelvin_words(low: float | None, high: float | None) -> str:
    inside = (low is None or low <= _HALF_PER_TEN) and (high is None or high >= _HALF_PER_TEN)
    no_effect = (low is None or low <= 1.0) and (high is None or high >= 1.0)
    rule = "the ten-kelvin rule (half as long for every 10 kelvin)"
    if inside and no_effect:
        return f". T{rule[1:]} and no effect at all both fit: these data cannot tell"
    if inside:
        return f". That agrees with {rule}"
    less = low is not None and low > _HALF_PER_TEN
    nearest = low if less else high
    if nearest is not None and abs(nearest - _HALF_PER_TEN) < _CLOSE:
        return f". That is close to {rule}, a little {'weaker' if less else 'stronger'}"
    way = "less" if less else "more"
    return f". T{rule[1:]} does not fit: heat does {way} than that here"


def _names_words(rows: Sequence[Mapping[str, Any]]) -> list[str]:
    column = rows[0]["column"]
    p = rows[0]["p_column"]
    if p is None:
        return [f"{column}: no estimate"]
    chance = f"chance of as much without a difference: {chance_words(p)}"
    if p >= UNLIKELY:
        return [f"{column}: differences no larger than chance would make ({chance})"]
    said = [f"{column}: makes a difference ({chance})"]
    clear = [r for r in rows if r["p_value"] is not None and r["p_value"] < UNLIKELY]
    for row in sorted(clear, key=lambda r: r["p_value"])[:_VALUES_SAID]:
        limits = range_words(row["effect_low"], row["effect_high"])
        against = row["per"].removeprefix("instead of ")
        if row["effect"] is None:
            said.append(f"{column} {row['value']}: {limits} times as long as {against}")
        else:
            times = number(row["effect"])
            said.append(f"{column} {row['value']}: {times} times as long as {against} ({limits})")
    return said
