"""What is written agrees with what truly happened, and with itself but for one unit."""

import json
from datetime import date

import polars as pl

from demo_data.make import simulate
from demo_data.told import build_date, month_span, season_span, year_span
from fleet.records.dates import parse_edtf

RUNNING = ["working", "failed", "repaired", "recapped", "board_swapped"]


def _ordinals(days: pl.Series) -> list[int | None]:
    return [None if day is None else day.toordinal() for day in days]


def test_texts_of_spans_say_their_days():
    # Worked by hand: 2019-01-15 lies in the winter that began in December 2018.
    winter = season_span(date(2019, 1, 15).toordinal())
    assert winter == ("2018-24", date(2018, 12, 1).toordinal(), date(2019, 2, 28).toordinal())
    autumn = season_span(date(2019, 11, 30).toordinal())
    assert autumn == ("2019-23", date(2019, 9, 1).toordinal(), date(2019, 11, 30).toordinal())
    assert month_span(date(2020, 2, 3).toordinal())[2] == date(2020, 2, 29).toordinal()
    assert year_span(date(2020, 2, 3).toordinal())[0] == "2020"


def test_spans_agree_with_the_reader_of_dates():
    days = [date(2015, 1, 1).toordinal() + 13 * step for step in range(60)]
    for span in (month_span, season_span, year_span):
        told = [span(day) for day in days]
        read = parse_edtf([text for text, _, _ in told])
        assert _ordinals(read["earliest"]) == [first for _, first, _ in told]
        assert _ordinals(read["latest"]) == [last for _, _, last in told]


def test_build_dates_cover_the_true_day():
    from demo_data.luck import Luck

    luck = Luck(5)
    days = [luck.whole(date(1996, 1, 1).toordinal(), date(2014, 12, 31).toordinal())
            for _ in range(3000)]  # fmt: skip
    texts = [build_date(day, luck) for day in days]
    read = parse_edtf(texts)
    true = pl.Series([date.fromordinal(day) for day in days])
    assert read["reason"].null_count() == len(days)
    assert (read["earliest"].fill_null(date(1900, 1, 1)) <= true).all()
    assert (read["latest"].fill_null(date(2100, 1, 1)) >= true).all()


def test_report_dates_cover_the_true_day_until_entry(world):
    """Rows of the stories, before the mistakes made on purpose are counted."""
    unit = world.mistakes.contradictory_unit
    true = [(story.machine.unit, event.day) for story in world.stories for event in story.events]
    rows = [
        row
        for row in world.rows["reports"]
        if "supersedes" not in row and not (row["unit"] == unit and row["kind"] == "retired")
    ]
    assert [row["unit"] for row in rows] == [name for name, _ in true]
    read = parse_edtf([row["date"] for row in rows])
    for row, (_, day), first, last in zip(
        rows, true, _ordinals(read["earliest"]), _ordinals(read["latest"]), strict=True
    ):
        assert first is not None
        assert last is not None
        assert first <= day <= last, row
        if first < last:
            assert row["entered_on"] >= date.fromordinal(day).isoformat(), row


def test_last_known_working_is_before_the_true_end(world):
    for story in world.stories:
        for event in story.events:
            if event.kind == "failed" and event.last_ok is not None:
                assert event.last_ok <= event.day, story.machine.unit


def test_nothing_is_reported_after_the_end_of_a_machine(world):
    for story in world.stories:
        kinds = [event.kind for event in story.events]
        if "retired" in kinds:
            assert kinds.index("retired") == len(kinds) - 1, story.machine.unit


def test_machines_reported_working_do_work(world):
    """No working report between a failure and what put it right, but for those that ran again."""
    for story in world.stories:
        if story.runs_once_failed:
            continue
        broken = False
        for event in story.events:
            if event.kind in ("recapped", "repaired", "board_swapped"):
                broken = False
            assert not (broken and event.kind in ("working", "failed")), story.machine.unit
            broken = broken or event.kind == "failed"


def _after_retired(reports: pl.DataFrame) -> set[str]:
    days = parse_edtf(reports["date"])
    told = reports.with_columns(earliest=days["earliest"], latest=days["latest"])
    retired = told.filter(pl.col("kind") == "retired").select("unit", until="latest")
    later = told.filter(pl.col("kind").is_in(RUNNING)).join(retired, on="unit")
    return set(later.filter(pl.col("earliest") > pl.col("until"))["unit"])


def _before_built(units: pl.DataFrame, reports: pl.DataFrame) -> set[str]:
    built = units.select("unit").with_columns(built=parse_edtf(units["manufactured"])["earliest"])
    told = reports.select("unit").with_columns(latest=parse_edtf(reports["date"])["latest"])
    wrong = told.join(built, on="unit").filter(pl.col("latest") < pl.col("built"))
    return set(wrong["unit"])


def test_exactly_one_unit_contradicts_itself(folder, current):
    truth = json.loads((folder / "truth.json").read_text())
    assert _after_retired(current["reports"]) == {truth["contradictory_unit"]}
    assert _before_built(current["units"], current["reports"]) == set()
    fails = current["reports"].filter(pl.col("kind") == "failed")
    assert fails.select("unit", "date").is_duplicated().sum() == 0


def test_the_correction_changes_the_cause(folder, tables):
    truth = json.loads((folder / "truth.json").read_text())
    reports = tables["reports"]
    first = reports.filter(pl.col("record") == truth["corrected_report"]).row(0, named=True)
    later = reports.filter(pl.col("supersedes") == truth["corrected_report"]).row(0, named=True)
    assert (first["cause"], later["cause"]) == ("other", "capacitor")
    assert (first["unit"], first["date"]) == (later["unit"], later["date"])
    assert later["entered_on"] > first["entered_on"]


def test_other_seeds_tell_consistent_stories_too():
    for seed in (1, 2, 3):
        world = simulate(seed)
        test_machines_reported_working_do_work(world)
        test_nothing_is_reported_after_the_end_of_a_machine(world)
        test_report_dates_cover_the_true_day_until_entry(world)
