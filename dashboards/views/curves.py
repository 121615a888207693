from collections.abc import Sequence

import address
import polars as pl
import reads
import shared
import streamlit as st
import words

from fleet import charts
from fleet.flow import at_risk
from fleet.flow.read_aloud import fit_words, median_words, number
from fleet.flow.table import Settings

_GROUPINGS = {
    "model": "model",
    "model,batch": "model and batch",
    "model,parts": "model and kind of parts",
    "batch": "batch",
    "all": "all together",
}
_LEVELS = (0.80, 0.90, 0.95, 0.99)
_FIRST_DRAWN = 4


def main() -> None:
    """Survival and failure rate by age, for models, batches and kinds of parts."""
    place = shared.open_page(
        "Curves", "How long sets of capacitors last, and how the failure rate changes with age."
    )
    with shared.sentences():
        if reads.records(place.key, "units").is_empty():
            shared.say_nothing_yet()
            return
        by, models, level, settings = _choose(place)
        curves = reads.curves(place.key, place.as_of, by, models, level, settings)
        names = _groups(curves, by)
        if not names:
            st.info(
                "There is no life to draw yet: a life needs a build date and a report of the "
                "machine working or failing."
            )
        else:
            drawn = _drawn(curves, by, names)
            _sentences(curves, by, drawn)
            _survival(curves, by, drawn, level)
            _rates(curves, by, drawn, level)
            _parameters(curves, by, level)
    shared.show_notes((*curves.notes, *curves.fit_notes))


def _choose(
    place: shared.Place,
) -> tuple[tuple[str, ...], tuple[str, ...], float, Settings]:
    one, two = st.columns(2)
    grouping = one.selectbox(
        "One curve for each",
        list(_GROUPINGS),
        format_func=lambda g: _GROUPINGS[g],
        **address.choice("by", list(_GROUPINGS), "model"),
    )
    known = reads.records(place.key, "units")["model"].drop_nulls().unique().sort().to_list()
    models = two.multiselect(
        "Model", known, placeholder="all models", **address.several("model", known)
    )
    with st.expander("Parts, limits and how reports are read", icon=":material/tune:"):
        one, two = st.columns(2)
        parts = one.selectbox(
            "Parts",
            list(words.PARTS),
            format_func=lambda p: words.PARTS[p],
            **address.choice("parts", list(words.PARTS), "original"),
            disabled=grouping == "model,parts",
            help="Original and replaced parts are kept apart unless asked for together.",
        )
        level = two.selectbox(
            "Limits hold",
            _LEVELS,
            format_func=lambda v: f"{v:.0%} of the time",
            **address.choice("level", _LEVELS, 0.95),
        )
        cause = one.selectbox(
            "Failures of unknown cause",
            list(words.UNKNOWN_CAUSE),
            format_func=lambda v: words.UNKNOWN_CAUSE[v],
            **address.choice("unknown_cause", list(words.UNKNOWN_CAUSE), "share"),
        )
        degraded = two.selectbox(
            "Recapped for a poor reading, still working",
            list(words.DEGRADED_AS),
            format_func=lambda v: words.DEGRADED_AS[v],
            **address.choice("degraded_as", list(words.DEGRADED_AS), "censored"),
        )
    by = () if grouping == "all" else tuple(grouping.split(","))
    settings = Settings(
        unknown_cause=cause,
        degraded_as=degraded,
        parts=None if grouping == "model,parts" else parts,
    )
    return by, tuple(models), float(level), settings


def _groups(curves: reads.Curves, by: Sequence[str]) -> list[str]:
    """Names of all groups, those with the most failures first."""
    fits = charts.name_groups(curves.fits, by)
    ordered = fits.sort("failures", "lives", descending=True)["group"].to_list()
    others = charts.name_groups(curves.points, by)["group"].unique(maintain_order=True)
    return list(dict.fromkeys([*ordered, *others]))


def _drawn(curves: reads.Curves, by: Sequence[str], names: list[str]) -> list[str]:
    if len(names) == 1:
        return names
    # The key holds the grouping, so that another grouping starts with its own groups.
    return st.multiselect(
        "Groups shown",
        names,
        max_selections=charts.MOST_GROUPS,
        help=f"Those with the most failures come first; at most {charts.MOST_GROUPS} at a time.",
        **address.several(f"groups_{'_'.join(by) or 'all'}", names, names[:_FIRST_DRAWN]),
    )


def _only(frame: pl.DataFrame, by: Sequence[str], drawn: list[str]) -> pl.DataFrame:
    """Rows of the groups shown, in the order shown."""
    order = pl.DataFrame({"group": drawn}, schema={"group": pl.String}).with_row_index("place")
    named = charts.name_groups(frame, by).join(order, on="group", maintain_order="left")
    return named.sort("place", maintain_order=True).drop("place")


def _sentences(curves: reads.Curves, by: Sequence[str], drawn: list[str]) -> None:
    fits, points = _only(curves.fits, by, drawn), _only(curves.points, by, drawn)
    lines = []
    for name in drawn:
        parts = [fit_words(fit) for fit in fits.filter(group=name).iter_rows(named=True)]
        mine = points.filter(group=name)
        if not mine.is_empty():
            median = median_words(mine)
            parts.append(f"{median[:1].upper()}{median[1:]}.")
        lines.append(f"- **{name}**: {' '.join(parts)}")
    st.markdown("\n".join(lines))


def _survival(curves: reads.Curves, by: Sequence[str], drawn: list[str], level: float) -> None:
    st.subheader("How many are still good", anchor=False)
    points = _only(curves.points, by, drawn)
    if points.is_empty():
        st.info("None of the groups shown has a curve; the sentences above say why.")
        return
    st.altair_chart(
        charts.draw_survival(points.drop("group"), by=by),
        alt="Share of sets not yet failed by age, with limits; the table below has the numbers.",
    )
    st.caption(
        f"Bands are {level:.0%} limits. A curve ends at its mark where too few are left to trust "
        "it; the faint dots beyond are only what the last few did."
    )
    oldest = float(points["age"].max() or 1.0)  # type: ignore[arg-type]
    table = at_risk.at_risk_table(
        _only(curves.lives, by, drawn).drop("group"),
        points.drop("group"),
        by=by,
        ages=at_risk.table_ages(oldest),
    )
    named = charts.name_groups(table, by)
    st.dataframe(
        named.select(
            pl.col("group").alias("Group"),
            pl.col("age").alias("Age (years)"),
            pl.col("at_risk").alias("At risk (sets)"),
            pl.col("failures").alias("Failures so far"),
            (pl.col("survival") * 100).alias("Not yet failed (%)"),
            (pl.col("survival_low") * 100).alias("at least (%)"),
            (pl.col("survival_high") * 100).alias("at most (%)"),
        ),
        hide_index=True,
        alt="Sets at risk, failures so far and share not yet failed at round ages",
        placeholder="not known",
        column_config={
            "Group": st.column_config.TextColumn(pinned=True),
            "Age (years)": st.column_config.NumberColumn(format="%.0f"),
            "At risk (sets)": st.column_config.NumberColumn(format="%.1f"),
            "Failures so far": st.column_config.NumberColumn(format="%.1f"),
            **{
                c: st.column_config.NumberColumn(format="%.0f")
                for c in ("Not yet failed (%)", "at least (%)", "at most (%)")
            },
        },
    )
    st.caption(
        "At risk counts the sets watched at that age. It may rise: machines that join when they "
        "are old count only from then on. Parts of a set come from failures of unknown cause, "
        "which are shared out. Not known: too few are left to say, or none has failed yet."
    )


def _rates(curves: reads.Curves, by: Sequence[str], drawn: list[str], level: float) -> None:
    st.subheader("Failure rate by age", anchor=False)
    rates = _only(curves.rates, by, drawn)
    if rates.is_empty():
        st.info("None of the groups shown has an estimate of its failure rate; see below why.")
        return
    st.altair_chart(
        charts.draw_hazard(rates.drop("group"), by=by),
        alt="Failures a year per 100 sets still running by age, with limits.",
    )
    st.caption(
        f"From the Weibull fit, with {level:.0%} limits; bands that leave the chart at the top go "
        "on above it. Dots: beyond the ages seen."
    )
    with st.expander("The same as a table"):
        oldest = float(rates["age"].max() or 1.0)  # type: ignore[arg-type]
        ages = pl.DataFrame({"wanted": at_risk.table_ages(oldest)})
        near = (
            rates.sort("age")
            .join(ages, how="cross")
            .filter(pl.col("age") <= pl.col("wanted"))
            .group_by("group", "wanted", maintain_order=True)
            .last()
        )
        st.dataframe(
            near.sort("group", "wanted").select(
                pl.col("group").alias("Group"),
                pl.col("wanted").alias("Age (years)"),
                (pl.col("hazard") * 100).alias("A year per 100 sets"),
                (pl.col("hazard_low") * 100).alias("at least"),
                (pl.col("hazard_high") * 100).alias("at most"),
            ),
            hide_index=True,
            alt="Failures a year per 100 sets at round ages",
            placeholder="no limit",
            column_config={
                "Age (years)": st.column_config.NumberColumn(format="%.0f"),
                **{
                    c: st.column_config.NumberColumn(format="%.1f")
                    for c in ("A year per 100 sets", "at least", "at most")
                },
            },
        )


def _parameters(curves: reads.Curves, by: Sequence[str], level: float) -> None:
    st.subheader("Weibull parameters", anchor=False)
    fits = charts.name_groups(curves.fits, by)
    st.dataframe(
        fits.select(
            pl.col("group").alias("Group"),
            pl.col("lives").alias("Lives"),
            pl.col("failures").alias("Failures"),
            _with_limits(fits, "shape").alias("Shape"),
            _with_limits(fits, "scale").alias("Scale (years)"),
            _with_limits(fits, "b10").alias("One in ten failed by (years)"),
            pl.col("reason").fill_null("").alias("Why no estimate or no limit"),
        ),
        hide_index=True,
        alt="Weibull parameters with limits for each group, or why there are none",
        column_config={
            "Group": st.column_config.TextColumn(pinned=True),
            "Lives": st.column_config.NumberColumn(format="%.1f"),
            "Failures": st.column_config.NumberColumn(format="%.1f"),
        },
    )
    st.caption(
        f"In brackets the {level:.0%} limits. Shape above 1: the older, the likelier to fail. "
        "Scale: the age by which about 63 in 100 have failed."
    )


def _with_limits(fits: pl.DataFrame, name: str) -> pl.Series:
    """An estimate with its limits as text: "3.1 (2.2 to 4.4)", "none" where there is none."""
    columns = (fits[name], fits[f"{name}_low"], fits[f"{name}_high"])
    texts = []
    for value, low, high in zip(*columns, strict=True):
        if value is None:
            texts.append("none")
        else:
            texts.append(f"{number(value)} ({_limit(low)} to {_limit(high)})")
    return pl.Series(name, texts, dtype=pl.String)


def _limit(value: float | None) -> str:
    return "open" if value is None else number(value)


main()
