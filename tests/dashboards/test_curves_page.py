"""What folds away on the curves page: closed at first, worked out when opened, never an error."""

import re

import polars as pl
import pytest

SECTIONS = ("chances", "rate", "fit", "groups", "causes", "clock", "again", "numbers")
ALL_OPEN = {f"show_{name}": "True" for name in SECTIONS}


def said(page):
    kinds = ("markdown", "caption", "info", "warning", "error")
    return "\n".join(element.value for kind in kinds for element in getattr(page, kind))


def table(page, column):
    """The first table with a column of that name."""
    return next(e.value for e in page.dataframe if column in e.value.columns)


def charts(page):
    return page.get("vega_lite_chart")


@pytest.fixture(scope="module")
def whole(built_demo, open_view):
    """The demo's page with everything open; only looked at."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FLEET_STORE", str(built_demo))
        page = open_view("curves", **ALL_OPEN)
    assert not page.exception
    return page


def test_sections_are_closed_at_first_and_nothing_in_them_is_worked_out(demo_store, open_view):
    page = open_view("curves")
    assert len(charts(page)) == 1  # survival
    assert len(page.dataframe) == 1  # who was watched at each age
    labels = [expander.label for expander in page.expander]
    assert "Weibull paper: can the fit be trusted?" in labels
    assert "of 100 sets" not in said(page).lower()


def test_no_section_of_the_demo_is_refused(whole):
    assert not whole.error
    assert [info.value for info in whole.info] == []
    assert len(charts(whole)) == 5  # survival, rate, fit, ratios, repeated


def test_nothing_says_inf_nan_or_the_name_of_a_column(whole):
    texts = said(whole) + "\n".join(
        str(v) for e in whole.dataframe for c in e.value.columns for v in e.value[c].dropna()
    )
    assert not re.search(r"\b(inf|nan|infinity|none\b.{0,5}none)\b", texts, re.IGNORECASE)
    assert not re.search(r"\w_\w|--\w", texts)


@pytest.mark.parametrize(
    "begins",
    [
        r"Of 100 sets \d+ are still good at 15 years",
        r"Nothing speaks against the Weibull|The Weibull does not fit well",
        r"A machine has had [\d.]+ failures on average",
    ],
)
def test_each_group_shown_has_its_sentence(whole, begins):
    shown = whole.multiselect(key="groups_model").value
    assert shown
    for group in shown:
        assert re.search(rf"\*\*{re.escape(group)}\*\*: (?:{begins})", said(whole))


@pytest.mark.parametrize(
    "sentence",
    [
        "the groups differ more than chance would explain",
        "They age differently",
        "For every 10 °C hotter (room temperature)",
        "powered hours",
        "lives were left out",
        "several curves fit equally well",
        "Few failures: take all of this as rough.",
    ],
)
def test_answers_are_said_before_they_are_numbers(whole, sentence):
    assert sentence in said(whole)


@pytest.mark.parametrize(
    ("column", "rows"),
    [
        ("Still good at that age (%)", 4),
        ("A year per 100 sets", None),
        ("Kind of life", None),
        ("Failed (%)", None),
        ("Times as long", 4),
        ("Compared", 4),
        ("Change", 2),
        ("Clock", 3),
        ("Machines watched", None),
        ("Shape", 4),
    ],
)
def test_every_picture_and_answer_has_its_table(whole, column, rows):
    found = table(whole, column)
    assert len(found) == rows if rows else len(found) > 0


def test_what_is_drawn_is_what_the_table_and_the_sentence_say(whole):
    """Values read off the first chart beside the at-risk table and the sentence on the median."""
    drawn = curve_drawn(charts(whole)[0])
    rows = table(whole, "At risk (sets)").dropna(subset=["Not yet failed (%)"])
    assert len(rows) > 10
    for _, row in rows.iterrows():
        mine = drawn.filter(pl.col("group") == row["Group"], pl.col("age") <= row["Age (years)"])
        for column, height in (
            ("Not yet failed (%)", "survival"),
            ("at least (%)", "survival_low"),
            ("at most (%)", "survival_high"),
        ):
            if row[column] == row[column]:
                # drawn steps keep within half a pixel of 440
                assert mine[height][-1] * 100 == pytest.approx(row[column], abs=50 / 440)
    for group, age in re.findall(r"\*\*(\w+)\*\*:.*?[Hh]alf have failed by ([\d.]+)", said(whole)):
        mine = drawn.filter(pl.col("supported"), group=group)
        half = mine.filter(pl.col("survival") <= 0.5)["age"][0]
        assert half == pytest.approx(float(age), abs=0.06)


def curve_drawn(chart):
    """The rows a chart's line is drawn from, as they are sent to the browser."""
    frames = [pl.read_ipc_stream(held.data.data) for held in chart.proto.datasets]
    lines = [f for f in frames if {"run", "survival"} <= set(f.columns)]
    together = pl.concat(lines, how="diagonal_relaxed").unique(["group", "age"])
    return together.sort("group", "age")


def test_every_step_can_be_taken_away(whole):
    labels = [button.label for button in whole.get("download_button")]
    assert {"Every step of these curves (CSV)", "Every step of these curves (XLSX)"} <= set(labels)


@pytest.mark.parametrize(
    "stops",
    [
        r"DQ31: drawn (from [\d.]+ )?to [\d.]+ years; ",
        r"DQ31: enough sets were watched from ",
        r"DQ31: failures from [\d.]+ to [\d.]+ years",
        r"DQ31: enough machines were watched from ",
    ],
)
def test_every_chart_says_where_its_data_stop(whole, stops):
    assert re.search(stops, said(whole))


def test_chances_follow_the_numbers_asked_for(small_store, open_view):
    small_store(two_models())
    page = open_view("curves", show_chances="True", reach="8")
    assert "still good at 8 years" in said(page)
    page.number_input(key="within").set_value(2.0).run()
    assert "within the next 2 years" in said(page)
    assert "rests on 4 failures: few" in said(page)
    page.number_input(key="reach").set_value(30.0).run()
    assert "None was watched beyond 12.1 years" in said(page)


def two_models(failures=4):
    works = [(f"W{i}", "KB-1", "working", "2012-06-01") for i in range(8)]
    fails = [(f"F{i}", "KB-1", "failed", f"{2004 + i}-06-01") for i in range(failures)]
    others = [(f"G{i}", "KB-2", "working", f"{2009 + i}-06-01") for i in range(4)]
    return [*works, *fails, *others]


def test_a_model_without_failures_beside_one_with_few(small_store, open_view):
    small_store(two_models())
    page = open_view("curves", **ALL_OPEN)
    assert not page.exception
    texts = said(page)
    assert "**KB-2**: No chance can be given" in texts
    assert "**KB-1**: 4 failures are too few to tell" in texts
    assert "no more than chance would explain" in texts
    assert "nothing can be told of what shortens lives" in texts
    assert "clocks cannot be told apart" in texts
    assert "Without dots" in texts


def test_one_model_and_no_failure_at_all(small_store, open_view):
    small_store([row for row in two_models(0) if row[1] == "KB-1"])
    page = open_view("curves", **ALL_OPEN)
    assert not page.exception
    texts = said(page)
    assert "There is only one group: show at least two to compare them." in texts
    assert "None of the groups shown has an estimate of its failure rate" in texts
    assert "None of the groups shown has failures that can be placed beside a fit." in texts


def test_machines_nobody_reported_on(small_store, open_view):
    small_store([("N1", "KB-1", "note", "2009-06-03")])
    page = open_view("curves", **ALL_OPEN)
    assert not page.exception
    assert "was watched for long enough to count its failures" in said(page)


def test_all_together_says_how_to_get_groups(small_store, open_view):
    small_store(two_models())
    page = open_view("curves", by="all", **ALL_OPEN)
    assert not page.exception
    assert "choose one curve for each model or batch above" in said(page)
    assert "**All lives**: Of 100 sets" in said(page)


def test_open_sections_without_a_group_say_so(small_store, open_view):
    small_store(two_models())
    page = open_view("curves", **ALL_OPEN)
    page.multiselect(key="groups_model").set_value([]).run()
    assert not page.exception
    assert "No group is chosen" in said(page)


def test_nothing_that_may_matter_is_asked_for(small_store, open_view):
    small_store(two_models())
    page = open_view("curves", show_causes="True")
    page.multiselect(key="causes").set_value([]).run()
    assert not page.exception
    assert "Choose at least one thing that may matter." in said(page)


@pytest.mark.parametrize("by", ["batch", "model,parts", "model,batch"])
def test_failures_of_machines_by_other_groups(demo_store, open_view, by):
    page = open_view("curves", by=by, show_again="True")
    assert not page.exception
    assert "A machine has had" in said(page)
    groups = set(table(page, "Machines watched")["Group"])
    assert groups
    assert all("original" not in group for group in groups)  # parts are a set's, not a machine's


def test_batches_taken_together_are_said_and_can_be_taken_apart(demo_store, open_view):
    page = open_view("curves", model="BZ62")
    assert re.search(
        r"\*\*BZ62\*\*: .*open whether age matters.* batches are counted together", said(page)
    )
    assert "Do the batches differ?" in {link.proto.label for link in page.get("page_link")}
    page.button(key="batches_apart").click().run()
    assert not page.exception
    assert page.selectbox(key="by").value == "model,batch"
    assert "counted together" not in said(page)
    assert "batches_apart" not in {button.key for button in page.button}


def test_what_the_page_on_batches_found_is_said_beside_a_curve_of_all(demo_store, open_view):
    open_view("suspects")
    page = open_view("curves", model="BZ62")
    assert "But its batches differ, and together they hide that each wears out" in said(page)


def test_the_fitted_curve_and_the_reports_are_told_apart(demo_store, open_view):
    texts = said(open_view("curves", model="WQ18"))
    assert "By the fitted Weibull curve one in ten has failed by" in texts
    assert "The reports alone, drawn below: half have failed by" in texts


def test_stores_without_batches_have_none_to_take_apart(small_store, open_view):
    small_store(two_models())
    page = open_view("curves")
    assert "batches_apart" not in {button.key for button in page.button}
