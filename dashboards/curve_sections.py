"""The first parts of the curves page: sentences, survival, failure rate, numbers of the fits."""

import curve_batches
import curve_reads
import curve_view
import polars as pl
import streamlit as st
import take_away
import words
from curve_view import NO_DECIMALS, ONE_DECIMAL, PINNED, View

from fleet import charts
from fleet.flow import at_risk, where_it_stops
from fleet.flow.read_aloud import fit_words, median_words
from fleet.flow.unsettled import unsettled_words

_FEW = 10.0  # failures below which a group's numbers are called rough; our own rule
_TRIFLE = 1e-6


def draw_sentences(view: View) -> None:
    """What each group shown comes to, and that failures are few where they are."""
    fits, points = view.only(view.curves.fits), view.only(view.curves.points)
    together = curve_batches.sentences(view, fits)
    lines = []
    for name in view.shown:
        parts = [_fit_words(fit) for fit in fits.filter(group=name).iter_rows(named=True)]
        if together.get(name):
            parts.append(together[name])
        mine = points.filter(group=name)
        if not mine.is_empty():
            parts.append(_median_words(mine))
        lines.append(f"- **{words.escaped(name)}**: {words.escaped(' '.join(parts))}")
    st.markdown("\n".join(lines))
    if lines:
        st.caption(
            "Shape: how far failures keep to one age. At 1 age does not matter; at 3 or more most "
            f"come within some years of each other. In brackets the {view.level:.0%} limits; "
            "pages that say what to do give 90 % limits. About: a failure of unknown cause counts "
            "in part, as likely as it was a capacitor; the tables have the exact numbers."
        )
    curve_batches.draw_way(view, together)
    if view.shown and not fits["failures"].sum():
        st.info(
            "No failure has been reported here yet, so there is no life to learn from. Log "
            "failures as they come (Log a report), and tell of the machines that still work: both "
            "count.",
            icon=":material/edit_note:",
        )


def _median_words(points: pl.DataFrame) -> str:
    if points.filter("supported").is_empty() and points["survival"].null_count():
        return "Several curves fit equally well, so none is drawn."
    median = median_words(points)
    drawn = "" if points.filter("supported").is_empty() else "The reports alone, drawn below: "
    return f"{drawn}{median}." if drawn else f"{median[:1].upper()}{median[1:]}."


def _fit_words(fit: dict[str, float]) -> str:
    few = fit["exists"] and fit["failures"] < _FEW
    return fit_words(fit) + (" Few failures: take all of this as rough." if few else "")


def draw_survival(view: View) -> None:
    """The share still good by age, with what is not settled, and the same as a table."""
    st.header("How many are still good", anchor=False)
    points = view.only(view.curves.points)
    if points.is_empty():
        st.info(
            "None of the groups shown has a curve; the sentences above say why."
            if view.shown
            else "No group is chosen: choose one above to see its curve."
        )
        return
    take_away.drawn(
        charts.draw_survival(points.drop("group"), by=view.by, among=view.shown),
        "still-good",
        alt="Share of sets not yet failed by age, with limits; the table below has the numbers.",
    )
    st.caption(
        f"Read it so: at each age the line is the share of sets that had not failed by then. Bands "
        f"are {view.level:.0%} limits. A curve ends at its mark; faint dots are only a hint."
    )
    curve_view.say_stops(
        (*where_it_stops.curve_stops(points, by=view.by), *unsettled_words(points, by=view.by))
    )
    with st.expander("At-risk table: who was watched at each age", icon=":material/table_rows:"):
        _at_risk(view, points)


def _at_risk(view: View, points: pl.DataFrame) -> None:
    table = at_risk.at_risk_table(
        view.only(view.curves.lives).drop("group"),
        points.drop("group"),
        by=view.by,
        ages=at_risk.table_ages(_oldest(points)),
    )
    # Turnbull's estimate may leave a trifle of a failure, with limits that mean nothing.
    seen = pl.col("failures") > _TRIFLE
    limits = ("survival_low", "survival_high")
    named = charts.name_groups(table, view.by).with_columns(
        pl.when(seen).then(pl.col(c)).alias(c) for c in limits
    )
    shares = ("Not yet failed (%)", "at least (%)", "at most (%)")
    take_away.shown(
        named.select(
            pl.col("group").alias("Group"),
            pl.col("age").alias("Age (years)"),
            (pl.col("survival") * 100).alias("Not yet failed (%)"),
            (pl.col("survival_low") * 100).alias("at least (%)"),
            (pl.col("survival_high") * 100).alias("at most (%)"),
            pl.col("at_risk").alias("At risk (sets)"),
            pl.col("failures").alias("Failures so far"),
        ),
        "at-risk",
        hide_index=True,
        alt="Sets at risk, failures so far and share not yet failed at round ages",
        placeholder="not known",
        column_config={
            "Group": PINNED,
            "Age (years)": NO_DECIMALS,
            "At risk (sets)": ONE_DECIMAL,
            "Failures so far": ONE_DECIMAL,
            **dict.fromkeys(shares, NO_DECIMALS),
        },
    )
    st.caption(
        "At risk counts the sets watched at that age. It may rise: machines that join when they "
        "are old count only from then on. Parts of a set come from failures of unknown cause, "
        "which are shared out. Not known: too few are left to say, none has failed yet, or "
        "several curves fit equally well."
    )
    take_away.table(points.drop("group"), "every-step", what="Every step of these curves")
    st.caption(
        "The table has round ages and the picture leaves out steps too small to be seen; the last "
        "two files have every step, with ages in years and shares from 0 to 1."
    )


def draw_rates(view: View) -> None:
    """Failures a year by age, from the fits."""
    rates = view.only(curve_reads.rates(view.choice, view.shown).frame)
    if rates.is_empty():
        st.info(
            "None of the groups shown has an estimate of its failure rate; the sentences at the "
            "top say why."
        )
        return
    take_away.drawn(
        charts.draw_hazard(rates.drop("group"), by=view.by, among=view.shown),
        "failure-rate",
        alt="Failures a year per 100 sets still running by age, with limits; the table below has "
        "the numbers.",
    )
    st.caption(
        "The failure rate (hazard): of 100 sets that have reached an age, how many would fail in "
        "a year if the rate stayed as it is at that age. From the Weibull fit, with "
        f"{view.level:.0%} limits; bands that leave the chart at the top go on above it. A line "
        "ends at its mark, where too few were watched; dots beyond are only a hint."
    )
    curve_view.say_stops(where_it_stops.rate_stops(rates, by=view.by))
    take_away.shown(
        curve_view.at_round_ages(rates.drop("group"), view.by, view.shown).select(
            pl.col("group").alias("Group"),
            pl.col("wanted").alias("Age (years)"),
            (pl.col("hazard") * 100).alias("A year per 100 sets"),
            (pl.col("hazard_low") * 100).alias("at least"),
            (pl.col("hazard_high") * 100).alias("at most"),
        ),
        "failure-rate",
        hide_index=True,
        alt="Failures a year per 100 sets at round ages",
        placeholder="no limit",
        column_config={
            "Group": PINNED,
            "Age (years)": NO_DECIMALS,
            **dict.fromkeys(("A year per 100 sets", "at least", "at most"), ONE_DECIMAL),
        },
    )


def draw_numbers(view: View) -> None:
    """Parameters with limits for every group, or why there are none."""
    fits = charts.name_groups(view.curves.fits, view.by)
    take_away.shown(
        fits.select(
            pl.col("group").alias("Group"),
            curve_view.with_limits(fits, "b10").alias("One in ten failed by (years)"),
            curve_view.with_limits(fits, "shape").alias("Shape"),
            curve_view.with_limits(fits, "scale").alias("Scale (years)"),
            pl.col("failures").alias("Failures"),
            pl.col("lives").alias("Lives"),
            pl.col("reason").fill_null("").alias("Why no estimate or no limit"),
        ),
        "weibull-parameters",
        hide_index=True,
        alt="Weibull parameters with limits for each group, or why there are none",
        column_config={"Group": PINNED, "Lives": ONE_DECIMAL, "Failures": ONE_DECIMAL},
    )
    st.caption(
        f"All groups, shown or not. In brackets the {view.level:.0%} limits. Shape above 1: the "
        "older, the likelier to fail. Scale: the age by which about 63 in 100 have failed."
    )


def _oldest(frame: pl.DataFrame) -> float:
    return float(frame["age"].max() or 1.0)  # type: ignore[arg-type]
