"""The page of plan and order, as Streamlit runs it."""


def _texts(page):
    kinds = ("title", "header", "subheader", "markdown", "caption", "info", "warning", "error")
    return [element.value for kind in kinds for element in getattr(page, kind)]


def _jobs(page):
    return next(e.value for e in page.dataframe if "Waits (days)" in e.value.columns)


def test_jobs_hours_and_what_is_ordered_on_the_demo(demo_store, open_view):
    page = open_view("plan", months="6")
    assert not page.exception
    assert not page.error
    assert page.title[0].value == "Plan and order"
    jobs = _jobs(page)
    assert set(jobs["Model"]) <= {"DQ31", "BZ62", "WQ18", "IX07"}
    assert jobs["Start"].is_monotonic_increasing
    said = " ".join(_texts(page))
    assert "is the fullest month" in said
    assert "lost" in said
    assert any("Unplug" in warning.value for warning in page.warning)
    assert any("To measure or ask after first" in fold.label for fold in page.expander)


def test_a_machine_that_may_be_dead_is_asked_after_first(demo_store, open_view):
    page = open_view("plan", as_of="2026-06-30")
    jobs = _jobs(page).set_index("Machine")
    silent = jobs.loc["Q-021"]
    assert silent["What to do"] == "ask, then recap"
    assert silent["Fails before"].endswith("4 in 10 that it no longer does")
    assert "if it still works" in silent["Fails before"]
    heard = jobs.loc["S-045"]
    assert heard["What to do"] == "recap now"
    assert "if" not in heard["Fails before"]
    asked = int(jobs["What to do"].str.startswith("ask").sum())
    assert any(f"**Ask first of {asked}**" in text for text in _texts(page))


def test_a_job_shows_since_when_its_machine_is_due(demo_store, open_view):
    page = open_view("plan", as_of="2026-06-30")
    jobs = _jobs(page).set_index("Machine")
    assert str(jobs.loc["S-045"]["Due"])[:7] == "2017-08"
    late = sum(str(day)[:10] < "2026-06-30" for day in jobs["Due"])
    assert any(f"{late} on machines past their date already" in text for text in _texts(page))


def test_a_month_that_is_lost_is_beside_the_jobs(demo_store, open_view):
    page = open_view("plan", months="6", lose="2026-08")
    assert not page.exception
    assert "If the month is lost" in _jobs(page).columns
    assert any("Were 2026-08 lost" in text for text in _texts(page))


def test_a_store_where_nothing_is_due_says_so(small_store, open_view):
    small_store([(f"U{n}", "K1", "working", "2012-03-01") for n in range(5)])
    page = open_view("plan", as_of="2013-01-01")
    assert not page.exception
    assert any("No machine is due" in text for text in _texts(page))
