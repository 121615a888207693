"""The look back: outcomes by hand, what was known when, the demo, and too little history."""

from datetime import date, timedelta

import polars as pl
import pytest

from fleet.errors import BadInput
from fleet.flow.backtest import (
    Asked,
    look_back,
    look_back_on,
    looking_back,
    past_of,
    past_of_records,
)
from fleet.flow.backtest_cases import past_rates
from fleet.flow.backtest_forecast import FORECASTS
from fleet.flow.backtest_known import share_reconstructed
from fleet.flow.backtest_score import COLUMNS
from fleet.flow.due import due
from fleet.flow.entering import create_store
from fleet.flow.importing import import_files
from fleet.frames import KINDS, LIVES, known_schema

CUT = date(2026, 6, 30)
DAY = date(2020, 1, 1)  # 731 days before the end of the small records; two years are 730.5


def _days(row, names):
    for name in names:
        if isinstance(row.get(name), date):
            row |= {f"{name}_earliest": row[name], f"{name}_latest": row[name],
                    name: row[name].isoformat()}  # fmt: skip
    return row


def book(*reports, units=8, entered=None):
    """Records of machines u0, u1, ... of model M, built 2010, enrolled working in 2012; reports
    are (unit, day, kind, more). Those not named are seen working in 2019 and 2022.
    """
    told = [{"unit": u, "date": d, "kind": k, **(more[0] if more else {})}
            for u, d, k, *more in reports]  # fmt: skip
    named = {row["unit"] for row in told}
    for n in range(units):
        if f"u{n}" not in named:
            told += [{"unit": f"u{n}", "date": date(y, 1, 1), "kind": "working"}
                     for y in (2019, 2022)]  # fmt: skip
    for row in told:
        row.setdefault("cause", "capacitor" if row["kind"] == "failed" else None)
        row.setdefault("entered_on", entered or row["date"])
    machines = [
        {"unit": f"u{n}", "model": "M", "manufactured": date(2010, 1, 1),
         "enrolled_on": date(2012, 1, 1), "enrolled_because": "working", "source": "S",
         "entered_on": entered or date(2012, 1, 1)}
        for n in range(units)
    ]  # fmt: skip
    rows = {
        "sources": [{"source": "S", "collecting_since": date(2012, 1, 1)}],
        "models": [{"model": "M", "planned_cost": 40.0, "failure_cost": 200.0, "currency": "XTS"}],
        "positions": [],
        "batches": [],
        "units": machines,
        "reports": told,
    }
    out = {}
    for kind, some in rows.items():
        dates = [c.name for c in KINDS[kind].columns if c.form == "date"]
        full = [
            dict.fromkeys(known_schema(kind))
            | {"record": f"{kind}{n}", "content": f"{kind}{n}", "reconstructed": False}
            | _days(dict(row), dates)
            for n, row in enumerate(some)
        ]
        out[kind] = pl.DataFrame(full, schema=known_schema(kind))
    return out


def said(chance=0.25, optimal_age=None):
    """A forecast that gives every machine thought to work the same chance."""

    def forecast(records, as_of, horizon_years, *, table=None, new_parts="typical"):
        return table.working.with_columns(
            age=(pl.lit(as_of) - pl.col("started")).dt.total_days().cast(pl.Float64),
            p_fail=pl.lit(chance),
            optimal_age=pl.lit(optimal_age, pl.Float64),
        )

    return forecast


def judged(records, *, first=DAY, forecast=None, **asked):
    past = past_of_records(records, as_of=date(2022, 1, 1))
    return look_back_on(
        past, as_of=date(2022, 1, 1), asked=Asked(first=first, **asked), forecast=forecast or said()
    )


def only(found):
    assert found.days.height == 1
    return found.days.row(0, named=True)


def seen(unit, *days):
    return [(unit, day, "working") for day in days]


def test_failed_and_lived_worked_by_hand():
    # Two of eight fail by their capacitors within two years of 2020-01-01.
    row = only(judged(book(
        *seen("u0", date(2019, 1, 1)), ("u0", date(2020, 6, 1), "failed"),
        *seen("u1", date(2019, 1, 1)), ("u1", date(2021, 6, 1), "failed"),
    )))  # fmt: skip
    assert row["as_of"] == DAY
    assert (row["units"], row["failures"], row["followed"]) == (8, 2.0, 1.0)
    assert (row["predicted"], row["happened"]) == (0.25, 0.25)
    assert row["brier"] == pytest.approx((2 * 0.75**2 + 6 * 0.25**2) / 8)


def test_other_causes_and_planned_recaps_are_no_failures_but_lost_from_sight():
    row = only(judged(book(
        *seen("u0", date(2019, 1, 1)), ("u0", date(2020, 6, 1), "failed"),
        *seen("u1", date(2019, 1, 1)), ("u1", date(2020, 3, 1), "failed", {"cause": "other"}),
        *seen("u2", date(2019, 1, 1)), ("u2", date(2020, 3, 2), "recapped", {"because": "planned"}),
    )))  # fmt: skip
    # Six are still followed when u0 fails, and it is one of them.
    assert row["happened"] == pytest.approx(1 / 6)
    assert row["followed"] == pytest.approx(6 / 8)
    assert (row["happened_least"], row["happened_most"]) == pytest.approx((1 / 8, 3 / 8))


def test_a_failure_of_unknown_cause_counts_by_its_share():
    records = book(
        *seen("u0", date(2019, 1, 1)), ("u0", date(2020, 6, 1), "failed", {"cause": "unknown"}),
    )  # fmt: skip
    assert only(judged(records))["failures"] == pytest.approx(0.5)


def test_found_dead_after_the_horizon_counts_by_the_days_within_it():
    at = DAY
    last, found = at + timedelta(days=365), at + timedelta(days=365 + 1461)
    records = book(
        *seen("u0", date(2019, 1, 1), last), ("u0", found, "failed", {"found_dead": True}),
    )  # fmt: skip
    late = past_of_records(records, as_of=date(2025, 1, 1))
    found = look_back_on(late, as_of=date(2025, 1, 1), asked=Asked(first=at), forecast=said())
    row = only(found)
    # The others were last heard of in 2022, so that is where the records end; 365.5 of the 1461
    # days in which it may have failed lie within two years.
    assert row["as_of"] == at
    assert row["failures"] == pytest.approx(365.5 / 1461)


def test_found_dead_having_failed_perhaps_before_counts_by_the_days_after():
    at = DAY
    records = book(
        *seen("u0", at - timedelta(days=100)),
        ("u0", at + timedelta(days=300), "failed", {"found_dead": True}),
    )  # fmt: skip
    row = only(judged(records))
    assert row["failures"] == pytest.approx(0.75)
    assert row["happened"] == pytest.approx(0.75 / 7.75)


def test_failed_already_without_anybody_knowing_is_not_in_the_test():
    at = DAY
    records = book(
        *seen("u0", date(2019, 1, 1)),
        ("u0", at - timedelta(days=5), "failed", {"entered_on": date(2020, 3, 1)}),
    )
    found = judged(records)
    assert only(found)["units"] == 7
    assert any("1 had failed already without anybody knowing" in note for note in found.notes)


def test_what_was_entered_later_was_not_known():
    early = book(*seen("u0", date(2019, 1, 1)), ("u0", date(2020, 6, 1), "failed"))
    late = book(entered=date(2021, 12, 1))
    assert only(judged(early))["units"] == 8
    found = judged(late, first=None)
    assert found.days.is_empty()
    assert "too little history" in found.said[0]
    assert "--as-dated" in found.said[1]


def test_reference_is_failures_over_the_time_watched():
    lives = pl.DataFrame(
        [{"model": m, "entry": e, "low": lo, "high": hi, "known_by": by, "count": 1.0}
         for m, e, lo, hi, by in [
             *[("A", 0.0, 100.0, 100.0, None)] * 5, ("A", 100.0, 600.0, None, None),
             ("B", 0.0, 300.0, 500.0, None), ("B", 0.0, 50.0, 50.0, 60.0)]],
        schema_overrides={"known_by": pl.Float64},
    ).select(
        pl.col(c).cast(t) if c in ("model", "entry", "low", "high", "known_by", "count")
        else pl.lit(None, t).alias(c) for c, t in LIVES.items()
    )  # fmt: skip
    rates = past_rates(lives, pl.Series(["A", "B", "C"])).rows_by_key("model", unique=True)
    # A: 5 failures in 1000 days. B has too few, C none: 6 failures in 1400 days of all together.
    assert {model: rate for model, (rate,) in rates.items()} == pytest.approx(
        {"A": 5 / 1000, "B": 6 / 1400, "C": 6 / 1400}
    )


def test_costs_of_three_rules():
    records = book(
        *seen("u0", date(2019, 1, 1)), ("u0", date(2020, 6, 1), "failed"),
        *seen("u1", date(2017, 1, 1)), ("u1", date(2018, 6, 1), "failed"),
        *seen("u2", date(2017, 1, 1)), ("u2", date(2019, 6, 1), "failed"),
        *seen("u3", date(2014, 1, 1)), ("u3", date(2017, 6, 1), "failed"),
    )  # fmt: skip
    row = only(judged(records, forecast=said(optimal_age=100.0)))
    # All are older than 100 days and ten years come within the horizon: both rules replace all of
    # them, at once or at age ten; never replacing pays one failure of 200 among the five.
    assert row["cost_run_to_failure"] > row["cost_fixed_age"] > 0.0
    assert row["saved_on_fixed_age"] == pytest.approx(row["cost_fixed_age"] - row["cost"])
    assert row["currency"] == "XTS"


def test_nothing_is_written(demo_store):
    before = demo_store.read_bytes()
    look_back(demo_store, as_of=CUT, asked=Asked(first=date(2023, 1, 1)))
    assert demo_store.read_bytes() == before


@pytest.fixture(scope="module")
def on_demo(demo_store):
    return look_back(demo_store, as_of=CUT, asked=Asked(first=date(2018, 1, 1)))


def test_the_demo_year_by_year(on_demo):
    days = on_demo.days
    assert days.schema == COLUMNS
    assert days["as_of"].is_sorted()
    gaps = days["as_of"].diff().drop_nulls().dt.total_days()
    assert gaps.is_between(365, 366).all()
    assert days["as_of"].max() <= CUT - timedelta(days=730)
    assert (days["happened"].is_between(days["happened_low"], days["happened_high"])).all()
    assert days.select(pl.col("brier", "brier_reference", "followed").is_between(0, 1).all()).row(
        0
    ) == (True, True, True)
    assert days["flagged"].all()
    assert on_demo.together["model"].to_list() == [None, "BZ62", "DQ31", "IX07", "WQ18"]
    assert on_demo.bins["cases"].sum() == pytest.approx(
        on_demo.models["units"].sum(), rel=0.05
    )  # a machine of unknown fate counts by shares


@pytest.mark.parametrize("estimate", list(FORECASTS))
def test_the_forecast_of_a_past_day_is_the_due_list_of_that_day(demo_store, estimate):
    """Unit by unit: what the look back judges is what `due` says as of the same day."""
    day = date(2021, 4, 19)
    records = past_of(demo_store, as_of=CUT).at(day)
    told = FORECASTS[estimate](records, day, 2.0).frame.sort("unit")
    listed = due(demo_store, as_of=day, estimate=estimate).frame.sort("unit")
    assert told.height > 100
    for column in ("unit", "p_fail", "age", "optimal_age"):
        assert told[column].equals(listed[column], null_equal=True)


def test_what_was_said_of_a_past_day_is_in_its_row(on_demo, demo_store):
    """The mean chance, before weights, is near what is predicted after them."""
    day = on_demo.days["as_of"][0]
    listed = due(demo_store, as_of=day).frame
    low, high = listed["p_fail"].min(), listed["p_fail"].max()
    assert on_demo.days["units"][0] <= listed["p_fail"].count()
    assert low <= on_demo.days["predicted"][0] <= high
    assert on_demo.days["predicted"][0] == pytest.approx(listed["p_fail"].mean(), abs=0.06)


def test_numbers_of_failures_beside_their_limits(on_demo):
    days = on_demo.days
    assert days["held"].to_list() == [
        low - 0.5 <= failed <= high + 0.5
        for low, high, failed in days.select("expected_low", "expected_high", "failures").rows()
    ]
    assert days["held"].mean() >= 0.75  # of past days that overlap: one bad year misses twice
    assert (days["expected_high"] <= days["units"]).all()
    of_models = on_demo.models.group_by("as_of").agg(pl.col("expected").sum()).sort("as_of")
    assert of_models["expected"].to_list() == pytest.approx(days["expected"].to_list())
    assert on_demo.together["expected"].null_count() == on_demo.together.height
    assert any("the number that failed lay within" in text for text in on_demo.said)


def test_a_forecast_that_says_nothing_of_numbers_has_none():
    row = only(judged(book(*seen("u0", date(2019, 1, 1)), ("u0", date(2020, 6, 1), "failed"))))
    assert (row["expected"], row["held"]) == (None, None)


def test_sentences_have_no_odd_numbers(on_demo):
    text = " ".join([*on_demo.said, *on_demo.notes]).lower()
    assert "of 100 machines" in text
    assert "no day of entry of their own" in text
    assert not {"nan", "inf", "null"} & set(text.replace(",", " ").split())


def test_a_first_day_that_leaves_none_is_refused(demo_store):
    with pytest.raises(BadInput, match="give an earlier day"):
        look_back(demo_store, as_of=CUT, asked=Asked(first=date(2026, 1, 1)))


@pytest.mark.parametrize(
    "asked",
    [
        {"horizon_years": 0.0},
        {"every_years": 0.01},
        {"fixed_age_years": -1.0},
        {"level": 1.0},
        {"estimate": "oracle"},
    ],
)
def test_what_cannot_be_asked_is_refused(asked):
    with pytest.raises(BadInput):
        Asked(**asked)


def test_an_empty_store_says_what_to_do(tmp_path):
    store = tmp_path / "empty.duckdb"
    create_store(store)
    found = look_back(store, as_of=CUT)
    assert found.days.is_empty()
    assert "Log what works" in found.said[0]


def test_too_few_failures_are_said(tmp_path):
    units = "\n".join(f"A{n},KB-1,2005-01-01,2015-01-01,working" for n in range(6))
    seen = "\n".join(f"A{n},{year}-03-01,working" for n in range(6) for year in range(2015, 2025))
    (tmp_path / "units.csv").write_text(
        f"unit,model,manufactured,enrolled_on,enrolled_because\n{units}\n"
    )
    (tmp_path / "reports.csv").write_text(f"unit,date,kind\n{seen}\n")
    (tmp_path / "models.csv").write_text("model\nKB-1\n")
    store = tmp_path / "few.duckdb"
    create_store(store)
    files = [tmp_path / f"{kind}.csv" for kind in ("models", "units", "reports")]
    assert import_files(store, files, today=CUT, by=None).rejected.is_empty()
    alone = look_back(store, as_of=CUT, asked=Asked(estimate="likelihood"))
    assert alone.days.is_empty()
    assert "too few failures" in alone.said[0]
    # With what is held before any report there is a chance, but nothing to judge it by.
    found = look_back(store, as_of=CUT)
    assert found.days["failures"].to_list() == [0.0] * found.days.height
    assert "too few failures to judge by" in found.said[0]


def test_a_few_days_first_then_all_come_to_the_same_as_all_at_once(tmp_path):
    store = tmp_path / "few.duckdb"
    create_store(store)
    rows = [f"A{n},{2010 + n % 12}-0{1 + n % 9}-05,failed,capacitor" for n in range(24)]
    rows += [f"A{n},{year}-03-01,working," for n in range(24, 40) for year in range(2009, 2025)]
    tables = {
        "models": ["model", "KB-1"],
        "units": [
            "unit,model,manufactured,enrolled_on,enrolled_because",
            *(f"A{n},KB-1,200{n % 6}-01-01,2008-01-01,working" for n in range(40)),
        ],
        "reports": ["unit,date,kind,cause", *rows],
    }
    files = [tmp_path / f"{kind}.csv" for kind in tables]
    for file, lines in zip(files, tables.values(), strict=True):
        file.write_text("\n".join(lines) + "\n")
    assert import_files(store, files, today=CUT, by=None).rejected.is_empty()
    asked = Asked(estimate="likelihood", every_years=2.0)
    looking = looking_back(store, as_of=CUT, asked=asked)
    few = looking.few()
    assert len(few) == 3 < len(looking.dates)
    assert (few[0], few[-1]) == (looking.dates[0], looking.dates[-1])
    assert looking.few(len(looking.dates)) == looking.dates
    seen = {day: looking.at(day) for day in few}
    first = looking.together([seen[day] for day in few])
    assert set(first.days["as_of"]) <= set(few)
    every = looking.together([seen.get(day) or looking.at(day) for day in looking.dates])
    whole = look_back(store, as_of=CUT, asked=asked)
    assert every.days.equals(whole.days)
    assert every.said == whole.said


def test_blank_days_of_entry_are_flagged_and_given_ones_can_be_set_aside(tmp_path):
    """One history three ways: no day of entry, all entered at the end, and that by own date."""
    rows = [f"A{n},{2014 + n % 8}-0{1 + n % 9}-05,failed,capacitor" for n in range(24)]
    rows += [f"A{n},{year}-03-01,working," for n in range(24, 40) for year in range(2013, 2025)]
    units = [f"A{n},KB-1,200{n % 6}-01-01,2012-01-01,working" for n in range(40)]
    found = {}
    for name, entered in {"blank": "", "late": "2024-12-01"}.items():
        folder = tmp_path / name
        folder.mkdir()
        texts = {
            "models": ["model,planned_cost,failure_cost", "KB-1,40,200"],
            "units": ["unit,model,manufactured,enrolled_on,enrolled_because,entered_on",
                      *(f"{u},{entered}" for u in units)],
            "reports": ["unit,date,kind,cause,entered_on", *(f"{r},{entered}" for r in rows)],
        }  # fmt: skip
        for kind, lines in texts.items():
            (folder / f"{kind}.csv").write_text("\n".join(lines) + "\n")
        store = folder / "store.duckdb"
        create_store(store)
        done = import_files(store, [folder], today=date(2024, 12, 31), by=None)
        assert done.rejected.is_empty()
        found[name] = store
    now = date(2024, 12, 31)
    blank = look_back(found["blank"], as_of=now)
    late = look_back(found["late"], as_of=now)
    dated = look_back(found["late"], as_of=now, asked=Asked(as_dated=True))
    assert blank.days.height >= 4
    assert blank.days["reconstructed_share"].to_list() == [1.0] * blank.days.height
    assert blank.days["flagged"].all()
    assert late.days.is_empty()
    assert "--as-dated" in late.said[1]
    assert dated.days.drop("reconstructed_share").equals(blank.days.drop("reconstructed_share"))
    assert any("entered on its own date" in note for note in dated.notes)


def test_share_reconstructed_of_nothing_is_unknown():
    assert share_reconstructed({}) is None
