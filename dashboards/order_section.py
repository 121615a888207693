"""The order of a plan's next months: the foot of the page of plan and order."""

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

import address
import narrow
import page_names
import polars as pl
import shared
import streamlit as st
import take_away
import words

from fleet.flow.order import Losses, Order, Wishes, order
from fleet.flow.order_words import money
from fleet.sheets.order_file import order_csv, order_xlsx

_MOST_MONTHS = 24
_WAYS = {
    "apart": "This window's now, the next one's later",
    "together_now": "Both now",
    "together_later": "Wait, and order both later",
}
# What a page calls the options of the command.
_PLAIN = {
    "count your own and give --dud and --slip": "count your own and change them above",
    "money tied up not counted: give --rate": "money tied up not counted",
    ". Name a later day with --until, or machines with --units": "; order for more months",
    "; say which with --currency": "; the command line takes one of them",
    ", or order for fewer machines with --units": "",
}
_MONEY = st.column_config.NumberColumn(format="%.2f")


def draw(place: shared.Place, plan: Any) -> None:  # noqa: ANN401 - a flow.plan.Plan
    """What to buy for the jobs of `plan` (its `jobs`, frames.JOBS), from whom, and what to measure.

    Choices are in the address; reckoned anew only when one of them, the jobs or the store change.
    """
    st.header("What to order", anchor=False)
    wishes, months = _choices()
    with shared.sentences():
        found = _order(place.key, place.as_of, months, plan.jobs, wishes)
    st.markdown("\n".join(f"- {words.escaped(sentence)}." for sentence in _on_page(found.said)))
    if found.frame.height:
        _buy(found, place)
        _measure(found)
        _places(found)
        _ways(found)
    shared.show_notes(tuple(_on_page(found.notes)), what="the order")


def _choices() -> tuple[Wishes, int]:
    one, two, three, four = st.columns(4, vertical_alignment="bottom")
    months = one.number_input(
        "Order for the next (months)",
        min_value=1,
        max_value=_MOST_MONTHS,
        step=1,
        **address.number("order_months", 1, _MOST_MONTHS, 3),
    )
    level = two.number_input(
        "Enough of each part (%)",
        min_value=50.0,
        max_value=99.9,
        step=1.0,
        format="%g",
        help="Spares are counted so that each part is enough with this chance.",
        **address.number("enough", 50.0, 99.9, 95.0),
    )
    dud = three.number_input(
        "Duds (%)",
        min_value=0.0,
        max_value=50.0,
        step=1.0,
        format="%g",
        **address.number("duds", 0.0, 50.0, 1.0),
    )
    slip = four.number_input(
        "Spoilt at the bench (%)",
        min_value=0.0,
        max_value=50.0,
        step=1.0,
        format="%g",
        **address.number("spoilt", 0.0, 50.0, 2.0),
    )
    anyway = st.checkbox(
        "Order too what should be measured or asked first",
        **address.choice("anyway", [False, True], False),
    )
    keep = st.checkbox(
        "Buy so that jobs keep their days, though it costs more",
        **address.choice("keep_days", [False, True], True),
    )
    losses = Losses(dud=dud / 100, slip=slip / 100, level=level / 100)
    return Wishes(losses=losses, anyway=bool(anyway), keep_dates=bool(keep)), int(months)


@st.cache_resource(max_entries=8, show_spinner="Putting the order together")
def _order(
    key: tuple[str, str], as_of: date, months: int, jobs: pl.DataFrame, wishes: Wishes
) -> Order:
    """Nobody changes it."""
    return order(Path(key[0]), as_of=as_of, months=months, jobs=jobs, wishes=wishes)


def _on_page(sentences: tuple[str, ...]) -> list[str]:
    """Sentences without their full stop, and without names of commands and options."""
    said = []
    for sentence in sentences:
        text = sentence.rstrip(".")
        for name, plain in _PLAIN.items():
            text = text.replace(name, plain)
        said.append(page_names.instead_of_commands(text, amend="Parts"))
    return said


def _buy(found: Order, place: shared.Place) -> None:
    if found.buy.is_empty():
        return
    st.subheader("To buy", anchor=False)
    table = found.buy.select(
        _named().alias("Part"),
        pl.col("quantity").alias("Pieces"),
        pl.col("supplier").alias("Supplier"),
        pl.col("unit_price").alias("Each"),
        pl.col("line_total").alias("Together"),
        pl.col("currency").alias("Currency"),
        pl.col("description").alias("What it is"),
        pl.col("positions").alias("For"),
        pl.col("date_code_advice").alias("About its age"),
    )
    with narrow.wide("order"):
        st.dataframe(
            table,
            hide_index=True,
            placeholder="",
            alt="Parts to buy, how many of each, at what price and from whom",
            column_config={
                "Part": st.column_config.TextColumn(pinned=True),
                "Pieces": st.column_config.NumberColumn(width=60),
                "Supplier": st.column_config.TextColumn(width=130),
                "Each": _MONEY,
                "Together": _MONEY,
            },
        )
    narrow.lines("order", [_bought(row) for row in table.iter_rows(named=True)])
    st.caption(f"Shipping included: {money(found.cost, found.currency)}.")
    name = f"order-{place.as_of.isoformat()}"
    with st.container(horizontal=True):
        take_away.file(
            "Download the order (XLSX)",
            lambda: order_xlsx(
                found.buy, found.shipping, found.currency, measure=found.measure, why=found.why
            ),
            f"{name}.xlsx",
            take_away.SHEET,
        )
        take_away.file(
            "Download the order (CSV)",
            lambda: ("\ufeff" + order_csv(found.buy, found.shipping, found.currency)).encode(),
            f"{name}.csv",
            "text/csv",
        )


def _bought(row: Mapping[str, Any]) -> str:
    """A part to buy as a line for a phone."""
    each, together = row["Each"], row["Together"]
    currency = row["Currency"] or ""
    return narrow.line(
        f"{row['Pieces']} × {row['Part']}",
        row["Supplier"] and f"from {row['Supplier']}",
        None if each is None else f"{each:.2f} {currency} each",
        None if together is None else f"{together:.2f} {currency} together",
        row["What it is"],
        row["For"] and f"for {row['For']}",
        row["About its age"],
    )


def _named() -> pl.Expr:
    """The part with its capacitance and volts: what is read first, on a phone without scrolling."""
    said = pl.col("description")
    return pl.concat_str(
        "part",
        said.str.extract(r"^([\d.]+ ?[pnuµm]?F|\d+[pnuµm]\d+)\b"),
        said.str.extract(r"(?:^|, )([\d.]+ V)\b"),
        separator=" ",
        ignore_nulls=True,
    )


def _measure(found: Order) -> None:
    if found.measure.is_empty():
        return
    st.subheader("Measure or ask before ordering", anchor=False)
    table = found.measure.select(
        pl.col("model").alias("Model"),
        pl.col("position").alias("Position"),
        pl.col("measure_first").list.join(", ").alias("What"),
        pl.col("part").alias("Part in mind"),
        pl.col("needed").alias("Machines"),
        pl.col("advice").alias("What is known"),
    )
    with narrow.wide("measure"):
        take_away.rows(
            table,
            hide_index=True,
            placeholder="",
            alt="Places of which something is to be measured or asked before parts are ordered",
            column_config={"Model": st.column_config.TextColumn(pinned=True)},
        )
    narrow.lines(
        "measure",
        [
            narrow.line(
                f"{model} {position}",
                what,
                part and f"part in mind {part}",
                words.counted(machines, "machine"),
                known,
            )
            for model, position, what, part, machines, known in table.iter_rows()
        ],
    )
    take_away.table(table, "measure-before-ordering", what="Table")


def _places(found: Order) -> None:
    with st.expander("Place by place, and why each part"):
        take_away.shown(
            found.frame.select(
                pl.col("model").alias("Model"),
                pl.col("position").alias("Position"),
                pl.col("part").alias("Part"),
                pl.col("needed").alias("Places"),
                pl.col("spares").alias("Spares"),
                pl.col("from_stock").alias("From the shelf"),
                pl.col("to_buy").alias("To buy"),
                pl.col("verdict").str.replace_all("_", " ").alias("It"),
                pl.col("advice").alias("Advice"),
            ),
            "place-by-place",
            hide_index=True,
            placeholder="",
            alt="Each place on the boards, with the part that goes in and how many",
            column_config={"Model": st.column_config.TextColumn(pinned=True)},
        )
        take_away.shown(
            found.why.select(
                pl.col("model").alias("Model"),
                pl.col("position").alias("Position"),
                pl.col("part").alias("Part"),
                pl.col("sentence").alias("Why"),
            ),
            "why-each-part",
            hide_index=True,
            placeholder="",
            alt="Why each part was chosen, or why none was",
        )


def _ways(found: Order) -> None:
    if found.ways.is_empty():
        return
    with st.expander("Now, or together with the next window"):
        first = words.day(found.window.next_from)
        st.markdown(f"The next window's first job is on {first}. Three ways to order both:")
        take_away.shown(
            found.ways.select(
                pl.col("way").replace(_WAYS).alias("Way"),
                pl.col("cost").alias("Costs"),
                pl.col("goods").alias("Parts"),
                pl.col("shipping").alias("Shipping"),
                pl.col("orders").alias("Orders sent"),
                pl.col("lie_longer").alias("Pieces past the shelf limit"),
                pl.col("jobs_late").alias("Jobs late"),
                pl.col("days_late").alias("Days late at most"),
            ),
            "now-or-together",
            hide_index=True,
            placeholder="",
            alt="Cost of ordering apart, both now, or both later, with jobs made late",
            column_config={"Costs": _MONEY, "Parts": _MONEY, "Shipping": _MONEY},
        )
