"""Rows that are impossible by themselves, each with a sentence.

Only definite contradictions count: two dates contradict when the whole of one range lies beyond
the whole of the other.
"""

from datetime import date

import polars as pl

from fleet.frames import KINDS
from fleet.records import impossible_facts as facts

MOST_MONEY = 1e9  # an amount; ours, beyond it sums are a slip of the hand
LEAST_COST = 1e-6
MOST_PARTS_YEARS = 60.0  # electrolytic capacitors that old are hardly known of; ours
_HOURS_IN_A_LEAP_YEAR = 8784
_CURES = ("recapped", "repaired", "board_swapped")
_CAUSE_KINDS = ("failed", "recapped", "repaired", "board_swapped")


def impossible(kind: str, *, today: date) -> list[pl.Expr]:
    """Expressions over a frame with the columns of clean_schema(kind): a reason, or null."""
    return [
        *(_future(name, today) for name in _date_columns(kind)),
        *_entered(kind, today),
        *_OF_KIND.get(kind, list)(),
    ]


def _date_columns(kind: str) -> list[str]:
    return [column.name for column in KINDS[kind].columns if column.form == "date"]


def _future(name: str, today: date) -> pl.Expr:
    late = pl.col(f"{name}_earliest") > today
    return pl.when(late).then(
        pl.format(f"{name} {{}} is after today, {today}; correct the date", pl.col(name))
    )


def _entered(kind: str, today: date) -> list[pl.Expr]:
    """Rules for entered_on, which is a whole day here."""
    entered = pl.col("entered_on")
    rules: list[pl.Expr] = [
        pl.when(entered > today).then(
            pl.format(f"entered_on {{}} is after today, {today}; correct it", entered)
        )
    ]
    own = KINDS[kind].own_date
    if own is not None:
        rules.append(
            pl.when(entered < pl.col(f"{own}_earliest")).then(
                pl.format(
                    f"entered_on {{}} is before {own} {{}}; correct one of them",
                    entered,
                    pl.col(own),
                )
            )
        )
    return rules


def _before(first: str, second: str) -> pl.Expr:
    """Reason where `second` lies wholly before `first`."""
    wrong = pl.col(f"{second}_latest") < pl.col(f"{first}_earliest")
    return pl.when(wrong).then(
        pl.format(
            f"{second} {{}} is before {first} {{}}; correct one of them",
            pl.col(second),
            pl.col(first),
        )
    )


def _holds(name: str, pattern: str, marks: str) -> pl.Expr:
    found = pl.col(name).str.contains(pattern)
    return pl.when(found).then(
        pl.format(
            f"{name} '{{}}' holds {marks}, which separates names in a list; write it without",
            pl.col(name),
        )
    )


def _sources() -> list[pl.Expr]:
    return [_before("collecting_since", "data_cutoff")]


def _too_much(name: str) -> pl.Expr:
    most = f"more than {MOST_MONEY:,.0f}"
    return pl.when(pl.col(name) > MOST_MONEY).then(
        pl.format(f"{name} {{}} is {most}; correct it, or use a larger unit of money", name)
    )


def _models() -> list[pl.Expr]:
    return [
        _before("first_made", "last_made"),
        _holds("model", ";", ";"),
        _too_much("planned_cost"),
        _too_much("failure_cost"),
    ]


def _prices() -> list[pl.Expr]:
    age = pl.col("parts_age_years")
    return [
        _too_much("price"),
        pl.when(age > MOST_PARTS_YEARS).then(
            pl.format(
                f"parts_age_years {{}} is more than {MOST_PARTS_YEARS:g}, and nothing is known of "
                "older electrolytic capacitors; correct it",
                age,
            )
        ),
    ]


def _shop() -> list[pl.Expr]:
    return [_too_much("labour_rate"), _too_much("budget"), *facts.of_shop()]


def _offers() -> list[pl.Expr]:
    return [_too_much("price"), _too_much("shipping"), *facts.of_offer()]


def _positions() -> list[pl.Expr]:
    return [_holds("position", "[;:]", "; or :"), *facts.of_place()]


def _batches() -> list[pl.Expr]:
    return [
        _holds("batch", "[;:]", "; or :"),
        *facts.date_code(),
        *facts.of_rated_volts(),
    ]


def _units() -> list[pl.Expr]:
    hours = pl.col("hours_per_year")
    return [
        _before("manufactured", "enrolled_on"),
        pl.when(hours > _HOURS_IN_A_LEAP_YEAR).then(
            pl.format("hours_per_year {} is more than a year has; correct it", hours)
        ),
    ]


def _reports() -> list[pl.Expr]:
    kind = pl.col("kind")
    return [
        _before("last_known_working", "date"),
        pl.when(pl.col("because").is_not_null() & (kind != "recapped")).then(
            pl.format("because is for recapped reports only, this one is {}; leave it blank", kind)
        ),
        pl.when(pl.col("found_dead") & (kind != "failed")).then(
            pl.format("found_dead is for failed reports only, this one is {}; leave it blank", kind)
        ),
        pl.when(pl.col("cause").is_not_null() & ~kind.is_in(_CAUSE_KINDS)).then(
            pl.format("cause is for a failure or its repair, this one is {}; leave it blank", kind)
        ),
        pl.when(pl.col("cured").is_not_null() & ~kind.is_in(_CURES)).then(
            pl.format("cured is for a recap or repair, this one is {}; leave it blank", kind)
        ),
    ]


_OF_KIND = {
    "sources": _sources,
    "models": _models,
    "prices": _prices,
    "shop": _shop,
    "offers": _offers,
    "positions": _positions,
    "batches": _batches,
    "units": _units,
    "reports": _reports,
    "stock": facts.date_code,
}
