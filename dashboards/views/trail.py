import access
import address
import narrow
import polars as pl
import reads
import shared
import streamlit as st
import take_away
import trail_reads
import words

_DAYS = {"day": 1, "week": 7, "month": 31, "year": 366, "all": None}
_SAID = {
    "day": "today",
    "week": "the last week",
    "month": "the last month",
    "year": "the last year",
    "all": "all of it",
}

_KINDS = {
    "units": "machines",
    "reports": "reports",
    "readings": "readings",
    "photos": "photos",
    "models": "models",
    "positions": "places for parts",
    "batches": "batches",
    "sources": "sources",
    "offers": "offers",
    "stock": "lots in stock",
    "shop": "the shop",
    "prices": "prices",
    "steps": "steps",
}
_ONE = {
    "units": "a machine",
    "reports": "a report",
    "readings": "a reading",
    "photos": "a photo",
    "models": "a model",
    "positions": "a place for parts",
    "batches": "a batch",
    "sources": "a source",
    "offers": "an offer",
    "stock": "parts in stock",
    "shop": "the shop",
    "prices": "a price",
    "steps": "a step",
}
_SHOWN = 500
_LISTED = 2_000  # machines


def main() -> None:
    """Every write of the store: who, when, through which page or command."""
    access.need("manage")
    place = shared.open_page(
        "Who did what",
        "Every report, correction, undo and file that came in: who, when, and through what.",
        dated=False,
    )
    with shared.sentences():
        rows = trail_reads.trail(place.key)
        if rows.is_empty():
            st.info("Nothing was written yet.", icon=":material/start:")
            return
        _table(_asked(rows, place))


def _asked(rows: pl.DataFrame, place: shared.Place) -> pl.DataFrame:
    """The rows of the chosen time, person and machine, all in the address."""
    when, who, which = st.columns(3)
    with when:
        span = st.selectbox(
            "How far back", list(_DAYS), format_func=lambda k: _SAID[k],
            **address.choice("trail_span", list(_DAYS), "month"),
        )  # fmt: skip
    names = sorted(rows["by"].drop_nulls().unique().to_list())
    with who:
        name = st.selectbox(
            "Who", names, placeholder="anybody",
            **address.choice("trail_by", names, None),
        )  # fmt: skip
    units = reads.records(place.key, "units")["unit"].sort().to_list()
    with which:
        unit = _machine(units)
    if unit is not None:
        rows = trail_reads.trail(place.key, str(unit))
    if name is not None:
        rows = rows.filter(pl.col("by") == name)
    back = _DAYS[str(span)]
    if back is not None:
        rows = rows.filter(pl.col("day") > pl.lit(place.today).dt.offset_by(f"-{back}d"))
    return rows


def _machine(units: list[str]) -> str | None:
    """One machine or none; of very many the name is typed, as a list of all is slow to send."""
    if len(units) <= _LISTED:
        chosen: str | None = st.selectbox(
            "Machine", units, placeholder="any", filter_mode="contains",
            **address.choice("trail_unit", units, None),
        )  # fmt: skip
        return chosen
    typed = st.text_input(
        "Machine", placeholder="its whole name", **address.text("trail_unit")
    ).strip()
    if not typed or typed in set(units):
        return typed or None
    st.caption(f":material/info: No machine is called {words.escaped(typed)}; all are shown.")
    return None


def _table(rows: pl.DataFrame) -> None:
    """The lines as a sentence, a table and files."""
    people = rows["by"].drop_nulls().n_unique()
    if rows.is_empty():
        st.markdown("Nothing was written then.")
        return
    st.markdown(
        f"{words.counted(rows.height, 'line')}, by {words.counted(people, 'person', 'people')} "
        "who gave a name. Nothing here can be changed or removed: a correction or an undo is one "
        "line more."
        if people
        else f"{words.counted(rows.height, 'line')}; nobody gave a name."
    )
    shown = _in_few_columns(rows.head(_SHOWN))
    with narrow.wide("trail"):
        st.dataframe(
            shown,
            hide_index=True,
            placeholder="",
            alt="Who did what, the newest first",
            column_config={
                "Who": st.column_config.TextColumn(pinned=True, width=100),
                "What was done": st.column_config.TextColumn(width=250),
                "When": st.column_config.TextColumn(width=130),
            },
        )
    told = shown.select("When", "Who", "What was done", "Through", "Record")
    narrow.lines(
        "trail",
        [
            narrow.line(f"{when}, {who}", what, through, record and f"record {record}")
            for when, who, what, through, record in told.iter_rows()
        ],
    )
    if rows.height > _SHOWN:
        st.caption(f"The newest {_SHOWN:,} of {rows.height:,}; the file holds all of them.")
    st.caption("Hours are UTC. Blank: written before the hour, or the way in, was kept.")
    take_away.table(_shown(rows), "who-did-what", what="Lines")


def _in_few_columns(rows: pl.DataFrame) -> pl.DataFrame:
    """Who and what first, then the rest in few columns."""
    kind, many = pl.col("kind"), pl.col("records")
    of = (
        pl.when(pl.col("unit").is_not_null())
        .then("unit")
        .when(many == 1)
        .then(kind.replace(_ONE))
        .otherwise(pl.format("{} {}", many, kind.replace(_KINDS)))
    )
    return rows.select(
        pl.col("by").fill_null("no name").alias("Who"),
        pl.concat_str("did", of, separator=": ", ignore_nulls=True).alias("What was done"),
        _when().alias("When"),
        _through().alias("Through"),
        pl.col("record").alias("Record"),
        pl.col("import_id").alias("Import"),
    )


def _shown(rows: pl.DataFrame) -> pl.DataFrame:
    """The parts of each line in columns of their own, for the files."""
    return rows.select(
        _when().alias("When"),
        pl.col("by").fill_null("no name").alias("Who"),
        pl.col("did").alias("Did"),
        pl.col("kind").replace(_KINDS).alias("What"),
        pl.col("unit").alias("Machine"),
        pl.col("records").alias("Records"),
        _through().alias("Through"),
        pl.col("record").alias("Record"),
        pl.col("import_id").alias("Import"),
    )


def _when() -> pl.Expr:
    moment = pl.col("moment").dt.strftime("%Y-%m-%d %H:%M")
    return pl.coalesce(moment, pl.col("day").cast(pl.String))


def _through() -> pl.Expr:
    return pl.col("through").str.strip_prefix("page ")


main()
