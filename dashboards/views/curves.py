from collections.abc import Sequence

import address
import curve_again
import curve_causes
import curve_chances
import curve_fit
import curve_groups
import curve_reads
import curve_sections
import reads
import shared
import streamlit as st
import words
from curve_view import View, section

from fleet import charts
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
# What folds away below the first curve: name in the address, label, icon, what draws it.
_SECTIONS = (
    ("chances", "Chances at an age you name", ":material/casino:", curve_chances.draw),
    ("rate", "Failure rate by age (hazard)", ":material/show_chart:",
     curve_sections.draw_rates),
    ("fit", "Weibull paper: can the fit be trusted?", ":material/rule:", curve_fit.draw),
    ("groups", "Compare: do the groups differ?", ":material/compare_arrows:", curve_groups.draw),
    ("causes", "Does heat or use shorten life here?", ":material/device_thermostat:",
     curve_causes.draw),
    ("clock", "Does age count, or powered hours?", ":material/schedule:",
     curve_causes.draw_clocks),
    ("again", "Do machines fail again and again?", ":material/replay:", curve_again.draw),
    ("numbers", "Weibull parameters of all groups", ":material/tag:",
     curve_sections.draw_numbers),
)  # fmt: skip


def main() -> None:
    """How long sets last, for models, batches and kinds of parts, and how far to trust it."""
    place = shared.open_page(
        "Curves", "How long sets of capacitors last, and how the failure rate changes with age."
    )
    with shared.sentences():
        if reads.records(place.key, "units").is_empty():
            shared.say_nothing_yet()
            return
        choice = _choose(place)
        curves = curve_reads.curves(choice)
        names = _groups(curves, choice.by)
        if not names:
            st.info(
                "There is no life to draw yet: a life needs a build date and a report of the "
                "machine working or failing."
            )
        else:
            shown = _shown(choice.by, names)
            view = View(choice=choice, curves=curves, shown=tuple(shown))
            curve_sections.draw_sentences(view)
            curve_sections.draw_survival(view)
            st.header("Ask further", anchor=False)
            for name, label, icon, draw in _SECTIONS:
                section(name, label, icon, draw, view)
    shared.show_notes(tuple(words.plain(n) for n in (*curves.notes, *curves.fit_notes)))


def _choose(place: shared.Place) -> curve_reads.Choice:
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
    with st.expander(
        "Parts, limits and how reports are read", icon=":material/tune:", key="fold_curves_asked"
    ):
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
    return curve_reads.Choice(
        key=place.key,
        as_of=place.as_of,
        by=by,
        models=tuple(models),
        level=float(level),
        settings=settings,
    )


def _groups(curves: curve_reads.Curves, by: Sequence[str]) -> list[str]:
    """Names of all groups, those with the most failures first."""
    fits = charts.name_groups(curves.fits, by)
    ordered = fits.sort("failures", "lives", descending=True)["group"].to_list()
    others = charts.name_groups(curves.points, by)["group"].unique(maintain_order=True)
    return list(dict.fromkeys([*ordered, *others]))


def _shown(by: Sequence[str], names: list[str]) -> list[str]:
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


main()
