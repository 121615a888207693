"""Whether the Weibull describes the lives, on the curves page."""

import curve_reads
import curve_view
import polars as pl
import streamlit as st
import take_away
import words
from curve_view import ONE_DECIMAL, PINNED, View

from fleet import charts
from fleet.flow import where_it_stops

_TRIFLE = 1e-6
_KINDS = {
    "weibull": "Weibull",
    "lognormal": "lognormal",
    "exponential": "constant failure rate",
    "limited_failure": "only a share can fail",
    "two_causes": "one early and one late cause",
    "two_kinds": "two kinds of sets mixed",
}


def draw(view: View) -> None:
    """Sentences, the failures beside the fitted line, and other kinds of lives."""
    found = curve_reads.fit_check(view.choice, view.shown)
    curve_view.say(found.notes, view)
    _paper(view)
    _kinds(view, found.frame)


def _paper(view: View) -> None:
    drawn = curve_reads.fit_paper(view.choice, view.shown)
    # Turnbull's estimate may leave a trifle of a failure, which has no place on the paper.
    rise = pl.col("share_failed") - pl.col("share_failed").shift(1, fill_value=0.0).over("group")
    points = view.only(drawn.points).filter(rise > _TRIFLE)
    if points.is_empty():
        st.info("None of the groups shown has failures that can be placed beside a fit.")
        return
    lines = view.only(drawn.line).filter(pl.col("group").is_in(points["group"].unique().to_list()))
    st.markdown("**Failures beside the fit, on Weibull paper**")
    take_away.drawn(
        charts.draw_weibull_paper(
            points.drop("group"), lines.drop("group"), by=view.by, among=view.shown
        ),
        "failures-beside-fit",
        alt="Share failed by age on scales that make a Weibull a straight line: dots for the "
        "failures, a line with limits for the fit; the table below has the dots.",
    )
    st.caption(
        "Both scales are stretched so that a Weibull is a straight line. Dots that keep to their "
        "line but for their limits speak for it; dots that bend away from it speak against. Bands "
        f"and strokes are {view.level:.0%} limits."
    )
    curve_view.say_stops(where_it_stops.paper_stops(points, by=view.by))
    without = [name for name in view.shown if name not in set(points["group"])]
    if without:
        st.caption(
            f":material/info: Without dots, as nothing failed or no curve is settled: "
            f"{words.escaped('; '.join(without))}."
        )
    for line in _own_notes(view, drawn.notes):
        st.caption(f":material/info: {words.escaped(line)}")
    shares = {
        "share_failed": "Failed (%)",
        "share_low": "at least (%)",
        "share_high": "at most (%)",
    }
    take_away.shown(
        points.select(
            pl.col("group").alias("Group"),
            pl.col("age").alias("Age (years)"),
            *((pl.col(c) * 100).alias(name) for c, name in shares.items()),
        ),
        "failures-beside-fit",
        hide_index=True,
        height=220,
        alt="Share failed at each age with failures, with limits",
        placeholder="none",
        column_config={
            "Group": PINNED,
            "Age (years)": ONE_DECIMAL,
            **dict.fromkeys(shares.values(), ONE_DECIMAL),
        },
    )


def _own_notes(view: View, notes: tuple[str, ...]) -> list[str]:
    """What the drawing says that the curve has not said, in whatever unit; each sentence once."""
    said = {note.replace(" years", "") for note in view.curves.notes}
    return [n for n in dict.fromkeys(notes) if n.replace(" years", "") not in said]


def _kinds(view: View, frame: pl.DataFrame) -> None:
    best = pl.col("aic_few").min().over("group")
    share = view.only(frame).with_columns(
        behind=pl.col("aic_few") - best,
        share=pl.col("share_that_can_fail") * 100,
        share_low=pl.col("share_low") * 100,
        share_high=pl.col("share_high") * 100,
    )
    st.markdown("**Other kinds of lives**")
    why = pl.when(pl.col("reason").is_not_null()).then("reason").otherwise(pl.lit(""))
    take_away.shown(
        share.select(
            pl.col("group").alias("Group"),
            pl.col("distribution").replace(_KINDS).alias("Kind of life"),
            pl.col("b10").alias("One in ten failed by (years)"),
            pl.col("behind").alias("Behind the best"),
            pl.when(pl.col("share").is_not_null())
            .then(curve_view.with_limits(share, "share"))
            .otherwise(pl.lit(""))
            .alias("Share that can fail (%)"),
            curve_view.p_value("p_value").alias("Chance"),
            why.alias("Why none"),
        ),
        "kinds-of-lives",
        hide_index=True,
        alt="Other kinds of lives fitted to each group: age by which one in ten has failed, how "
        "far behind the best, share that can fail, and chances",
        placeholder="none",
        column_config={
            "Group": PINNED,
            "One in ten failed by (years)": ONE_DECIMAL,
            "Behind the best": ONE_DECIMAL,
            "Why none": st.column_config.TextColumn(width="large"),
        },
    )
    st.caption(
        "Behind the best: the gap in AIC, corrected for few failures. Below 2 nothing tells two "
        "kinds apart; above 6 the better one is clear. Where failures are under 20 only a gap of "
        "6 counts. Chance: for the Weibull, of a departure this large if lives follow it; for a "
        "constant rate, of so large a gain by the Weibull if age does not matter; for a share, of "
        "so large a gain if all can fail."
    )
