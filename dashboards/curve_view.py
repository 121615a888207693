"""What the sections of the curves page share: the choice, the groups shown, foldable sections."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import address
import curve_reads
import polars as pl
import streamlit as st
import words

from fleet import charts
from fleet.errors import FleetError
from fleet.flow import at_risk
from fleet.flow.known import store_stamp
from fleet.flow.read_aloud import chance_words, number

NO_DECIMALS = st.column_config.NumberColumn(format="%.0f")
ONE_DECIMAL = st.column_config.NumberColumn(format="%.1f")
_EVERYTHING = ("All lives", "All machines", "All units")  # how answers name a single group
PINNED = st.column_config.TextColumn(pinned=True)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class View:
    """One choice with its curves, and the names of the groups shown."""

    choice: curve_reads.Choice
    curves: curve_reads.Curves
    shown: tuple[str, ...]

    @property
    def by(self) -> tuple[str, ...]:
        """The columns that make the groups."""
        return self.choice.by

    @property
    def level(self) -> float:
        """How often limits hold."""
        return self.choice.level

    def only(self, frame: pl.DataFrame) -> pl.DataFrame:
        """Rows of the groups shown, in the order shown, with their names in `group`."""
        return only(frame, self.by, self.shown)


def only(frame: pl.DataFrame, by: Sequence[str], shown: Sequence[str]) -> pl.DataFrame:
    """Rows of `frame` in the groups `shown` and in their order, named in a column `group`."""
    order = pl.DataFrame({"group": list(shown)}, schema={"group": pl.String})
    named = charts.name_groups(frame, by)
    placed = named.join(order.with_row_index("place"), on="group", maintain_order="left")
    return placed.sort("place", maintain_order=True).drop("place")


def at_round_ages(frame: pl.DataFrame, by: Sequence[str], shown: Sequence[str]) -> pl.DataFrame:
    """The last point at or before each round age (`wanted`), up to each group's last point."""
    named = only(frame, by, shown)
    oldest = float(named["age"].max() or 1.0)  # type: ignore[arg-type]
    ages = pl.DataFrame({"wanted": at_risk.table_ages(oldest)})
    near = (
        named.with_columns(last=pl.col("age").max().over("group"))
        .sort("age")
        .join(ages, how="cross")
        .filter(pl.col("age") <= pl.col("wanted"), pl.col("wanted") <= pl.col("last"))
        .group_by("group", "wanted", maintain_order=True)
        .last()
    )
    return only(near.drop("group").sort("wanted"), by, shown)


@st.fragment  # opening one, or a number typed in it, leaves the rest of the page alone
def section(name: str, label: str, icon: str, body: Callable[[View], None], view: View) -> None:
    """A part of the page that is folded away, and worked out only while it is open.

    What cannot be answered is said in its sentence, and the rest of the page goes on.
    """
    box = st.expander(label, icon=icon, **address.opened(f"show_{name}"))
    if not box.open:
        return
    store, stamp = view.choice.key
    if store_stamp(Path(store)) != stamp:  # written to since the rest of the page was drawn
        st.rerun()
    with box:
        if not view.shown:
            st.info("No group is chosen: choose at least one under “Groups shown”.")
            return
        with_sentences(lambda: body(view))


def with_sentences(draw: Callable[[], None]) -> None:
    """Draw a part of a section, or say why it cannot be answered."""
    try:
        draw()
    except FleetError as error:
        text = words.plain(str(error))
        st.info(words.escaped(f"{text[:1].upper()}{text[1:].rstrip('.')}."))


def say(lines: Sequence[str], view: View, *, names: Sequence[str] | None = None) -> None:
    """Sentences as a list in the order of the groups, which are bold; without those at the foot.

    `names`: of the groups, where they are not those shown.
    """
    known = {*view.curves.notes, *view.curves.fit_notes}
    fresh = [
        _told(line, view.shown if names is None else names)
        for line in dict.fromkeys(lines)
        if line not in known
    ]
    if fresh:
        ordered = sorted(fresh, key=lambda pair: pair[0])
        st.markdown("\n".join(f"- {text}" for _, text in ordered))


def say_stops(lines: Sequence[str]) -> None:
    """Where the data behind a chart stop: one line for each group."""
    if lines:
        told = "\n".join(f"- {words.escaped(line)}" for line in lines)
        st.caption(f"**Where the data stop**\n\n{told}")


def _told(line: str, names: Sequence[str]) -> tuple[int, str]:
    """A sentence as the page shows it, and the place of the group it is about."""
    text = words.plain(line)
    for place, name in enumerate((*names, *_EVERYTHING)):
        for said in (name.replace(", ", " "), name):
            if text.startswith(f"{said}: "):
                return place, f"**{words.escaped(name)}**: {_sentence(text[len(said) + 2 :])}"
    last = len(names) + len(_EVERYTHING)
    if text.startswith(tuple(name.replace(", ", " ") for name in names)):
        return last, f"{words.escaped(text.rstrip('.'))}."  # a name keeps its small letter
    return last, _sentence(text)


def _sentence(text: str) -> str:
    return words.escaped(f"{text[:1].upper()}{text[1:].rstrip('.')}.")


def with_limits(
    frame: pl.DataFrame, name: str, *, form: Callable[[float | None], str] = number
) -> pl.Series:
    """An estimate with its limits as text: "3.1 (2.2 to 4.4)", "none" where there is none."""
    columns = (frame[name], frame[f"{name}_low"], frame[f"{name}_high"])
    texts = []
    for value, low, high in zip(*columns, strict=True):
        if value is None and low is None and high is None:
            texts.append("none")
        else:
            middle = "no estimate" if value is None else form(value)
            ends = ["open" if end is None else form(end) for end in (low, high)]
            texts.append(f"{middle} ({' to '.join(ends)})")
    return pl.Series(name, texts, dtype=pl.String)


def per_cent(share: float | None) -> str:
    """A share in per cent as text, never a certain 0 or 100."""
    if share is None:
        return "none"
    if share >= 0.9995:
        return "over 99.9"
    return "under 0.1" if share < 0.0005 else number(100.0 * share)


def p_value(name: str) -> pl.Expr:
    """A chance as spoken, "1 in 95"; "-" for none."""
    value = pl.col(name)
    said = value.map_elements(chance_words, return_dtype=pl.String, skip_nulls=True)
    return pl.when(value.is_null()).then(pl.lit("-")).otherwise(said)
