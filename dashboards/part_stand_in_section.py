"""What may go in at a place: the parts listed, and a part in the hand, each with its reasons."""

import address
import page_names
import parts_reads
import polars as pl
import reads
import shared
import streamlit as st
import take_away
import words

from fleet.errors import FleetError
from fleet.flow.parts import reasons_by_verdict

VERDICTS = {
    "fits": "fits",
    "fits_with_care": "fits with care",
    "facts_not_known": "cannot be judged yet",
    "does_not_fit": "does not fit",
}
_WORST_FIRST = {
    "does_not_fit": 0,
    "facts_not_known": 1,
    "fits_with_care": 2,
    "fits": 3,
}
_LISTED = 8  # parts told of one by one; the table has them all


def may_go_in(place: shared.Place, model: str, position: str) -> None:
    """Every part listed, those that may go in as sentences, all of them as a table."""
    st.header("What may go in", anchor=False)
    if (
        reads.records(place.key, "offers").is_empty()
        and reads.records(place.key, "stock").is_empty()
    ):
        st.info(
            "No parts are listed yet: enter one that can be bought, at the foot of this page, or "
            "type what is printed on a part below."
        )
        return
    try:
        found = parts_reads.verdicts(place.key, place.as_of, model, position, None)
    except FleetError as error:  # a place that cannot be judged leaves the rest of the page
        _refused(error)
        return
    _count(found.frame)
    _tell(found.frame)
    with st.expander(f"All {words.counted(found.frame.height, 'part')} as a table"):
        take_away.shown(
            _table(found.frame),
            "what-may-go-in",
            hide_index=True,
            placeholder="",
            alt=f"Parts for {model} {position} with verdict and what speaks against each",
            column_config={
                "Part": st.column_config.TextColumn(pinned=True),
                "Verdict": st.column_config.TextColumn(width="small"),
                "Measure first": st.column_config.TextColumn(width="small"),
                "What speaks against it": st.column_config.TextColumn(width="large"),
            },
        )
    parts = found.frame["part"].to_list()
    part = st.selectbox("Every reason for", parts, **address.choice("stand_in", parts, parts[0]))
    _reasons(found.frame.filter(pl.col("part") == part), "reasons")
    shared.show_notes(found.notes)


def fitting(place: shared.Place, model: str, position: str) -> list[str]:
    """Parts that may go in, the best first."""
    try:
        frame = parts_reads.verdicts(place.key, place.as_of, model, position, None).frame
    except FleetError:
        return []
    return frame.filter(pl.col("verdict").is_in(["fits", "fits_with_care"]))["part"].to_list()


def in_the_hand(place: shared.Place, model: str, position: str) -> None:
    """The verdict on a part as it is printed on it; what was typed is kept in the address."""
    st.header("A part in the hand", anchor=False)
    typed = st.text_input(
        "What is printed on it",
        placeholder="1000uF 25V 105C 10x20 radial aluminium",
        help="Capacitance with its unit, voltage, temperature, diameter x length, lead form; also "
        "20%, pitch5, 850mA, 0.05ohm, 5000h, X2, non-polar.",
        **address.text("part_in_hand"),
    )
    if not typed.strip():
        return
    try:
        found = parts_reads.verdicts(place.key, place.as_of, model, position, typed)
    except FleetError as error:
        _refused(error)
        return
    row = found.frame.row(0, named=True)
    against = _table(found.frame)["What speaks against it"][0]
    why = f": {words.escaped(against)}" if against else ""
    where = words.escaped(f"{model} {position}")
    st.markdown(f"In {where} it **{VERDICTS[row['verdict']]}**{why}.")
    if row["measure_first"]:
        st.markdown(
            "Measure or look up first: " + words.escaped(", ".join(row["measure_first"])) + "."
        )
    _reasons(found.frame, "reasons-part-in-hand")
    st.caption(
        ":material/link: The address of this page holds the place and the part: send it to ask "
        "somebody else."
    )


def _refused(error: FleetError) -> None:
    said = page_names.instead_of_commands(str(error), amend="Parts")
    st.error(words.escaped(said), icon=":material/error:")


def _count(frame: pl.DataFrame) -> None:
    counts = frame["verdict"].value_counts()
    number = dict(zip(counts["verdict"], counts["count"], strict=True))
    unknown = number.get("facts_not_known", 0)
    st.markdown(
        f"Of {frame.height} parts {number.get('fits', 0)} fit, "
        f"{number.get('fits_with_care', 0)} with care, {number.get('does_not_fit', 0)} do not"
        + (f", {unknown} cannot be judged yet." if unknown else ".")
    )


def _tell(frame: pl.DataFrame) -> None:
    """The parts that may go in, or might, a line each: what a phone beside the board shows."""
    told = _table(frame.filter(pl.col("verdict") != "does_not_fit").head(_LISTED))
    lines = []
    for part, verdict, first, against in told.iter_rows():
        line = f"- **{words.escaped(part)}** {verdict}"
        line += f": {words.escaped(against)}" if against else ""
        line += f" Measure first: {words.escaped(first)}." if first else ""
        lines.append(line)
    if lines:
        st.markdown("\n".join(lines))
    else:
        nearest = _table(frame.head(1)).row(0)
        st.markdown(
            f"Nearest comes **{words.escaped(nearest[0])}**, and it does not fit: "
            f"{words.escaped(nearest[3])}."
        )


def _table(frame: pl.DataFrame) -> pl.DataFrame:
    against = reasons_by_verdict()
    return frame.select(
        pl.col("part").alias("Part"),
        pl.col("verdict").replace(VERDICTS).alias("Verdict"),
        pl.col("measure_first").list.join(", ").alias("Measure first"),
        pl.when(pl.col("verdict") == "does_not_fit")
        .then(against["does_not_fit"])
        .when(pl.col("verdict") == "facts_not_known")
        .then(against["facts_not_known"])
        .otherwise(against["fits_with_care"])
        .alias("What speaks against it"),
    )


def _reasons(pair: pl.DataFrame, name: str) -> None:
    """Every reason of one pair, those against it first; lines break, as they are read whole."""
    worst_first = pl.col("verdict").replace_strict(_WORST_FIRST, return_dtype=pl.Int8)
    reasons = (
        pair.explode("reasons")
        .select("reasons")
        .unnest("reasons")
        .sort(worst_first, maintain_order=True)
        .select(
            pl.col("point").alias("Point"),
            pl.col("verdict").replace(VERDICTS).alias("Says"),
            pl.col("sentence").alias("Reason"),
            pl.col("source").alias("Source"),
        )
    )
    st.table(reasons, hide_index=True, alt="Every reason for the verdict, each with its source")
    st.caption("The verdict is the worst of its reasons.")
    take_away.table(reasons, name, what="Reasons")
