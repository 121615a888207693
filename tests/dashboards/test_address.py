"""What an address asks for and cannot be is said at the head of the page, as it was asked."""

import pytest


def _lines(page):
    return [e.value for e in page.markdown if ":material/link_off:" in e.value]


def _asked():
    import address
    import streamlit as st

    page = st.session_state.setdefault("page", "one")
    address.say_refused_here(arrived=st.session_state.get("last") != page)
    st.session_state["last"] = page
    st.number_input("Months", 1, 60, step=1, **address.number("months", 1, 60, 24))
    st.number_input("Horizon", 0.5, 9.0, step=0.5, **address.number("horizon", 0.5, 9.0, 2.0))
    lacks = "No machine {} is here."
    st.selectbox("Unit", ["A", "B"], **address.choice("unit", ["A", "B"], None, lacks=lacks))
    st.multiselect("Model", ["M1", "M2"], **address.several("model", ["M1", "M2"]))


@pytest.fixture
def asked():
    from streamlit.testing.v1 import AppTest

    def run(**told):
        page = AppTest.from_function(_asked)
        for name, value in told.items():
            page.query_params[name] = value
        return page.run()

    return run


@pytest.mark.parametrize("horizon", ["nan", "1e9", "soon"])
def test_a_number_that_cannot_be_is_named_with_what_is_shown(asked, horizon):
    (line,) = _lines(asked(horizon=horizon, months="12"))
    assert f"horizon={horizon}, which this page cannot show" in line
    assert "it shows 2.0" in line


def test_it_is_said_until_somebody_chooses(asked):
    page = asked(horizon="nan")
    page.number_input(key="months").set_value(30).run()
    assert len(_lines(page)) == 1
    page.number_input(key="horizon").set_value(3.0).run()
    assert not _lines(page)


def test_a_machine_that_is_not_there_is_named_and_its_name_is_no_html(asked):
    (line,) = _lines(asked(unit="<img src=x>"))
    assert line.endswith(r"No machine \<img src=x\> is here.")
    (line,) = _lines(asked(unit="N" * 500))
    assert len(line) < 120


def test_of_a_list_what_is_not_there_is_named_and_the_others_are_shown(asked):
    page = asked(model=["NOPE", "M1", "M9"])
    (line,) = _lines(page)
    assert line.endswith(
        "The address asks for model=NOPE, M9, which this page cannot show: it shows M1."
    )
    assert page.multiselect(key="model").value == ["M1"]
    page.number_input(key="months").set_value(30).run()
    assert len(_lines(page)) == 1  # until somebody chooses
    page.multiselect(key="model").set_value(["M1", "M2"]).run()
    assert not _lines(page)


def test_of_a_list_without_one_that_is_there_all_are_named_in_short(asked):
    page = asked(model=[f"X{n}" for n in range(7)])
    (line,) = _lines(page)
    assert "model=X0, X1, X2, X3, X4 and 2 more, which" in line
    assert "nothing is chosen for it" in line
    assert page.multiselect(key="model").value == []


@pytest.mark.parametrize("view", ["due", "curves"])
def test_a_page_shows_the_models_there_are_and_names_the_others(small_store, open_view, view):
    small_store([("A-1", "M1", "working", "2019-05-01"), ("B-1", "M2", "failed", "2018-05-01")])
    page = open_view(view, model=["M1", "NOPE"])
    assert not page.exception
    (line,) = _lines(page)
    assert "model=NOPE, which this page cannot show: it shows M1." in line
    assert page.multiselect(key="model").value == ["M1"]


def test_nothing_is_said_of_what_can_be(asked):
    page = asked(unit="A", months="30", horizon="3", model=["M1", "M2"])
    assert not _lines(page)
    months = page.number_input(key="months").value
    assert (months, type(months)) == (30, int)


@pytest.mark.parametrize("view", ["units", "choose", "log", "sheet"])
def test_each_page_of_a_machine_says_so(small_store, open_view, view):
    small_store([("A-1", "M1", "working", "2019-05-01")])
    page = open_view(view, unit="NOPE")
    assert not page.exception
    assert any("No machine NOPE" in line for line in _lines(page))


def test_a_store_that_goes_away_is_told_from_one_that_never_was(small_store, open_view):
    store = small_store([("A-1", "M1", "working", "2019-05-01")])
    assert not open_view("units").error
    store.unlink()
    page = open_view("units")
    assert "The store that was open here is gone" in page.error[0].value


@pytest.mark.parametrize("there", [True, False])
def test_a_group_is_not_told_where_the_store_is(tmp_path, monkeypatch, there):
    import access
    import shared
    from streamlit.testing.v1 import AppTest

    store = tmp_path / "club.duckdb"
    if there:
        store.write_bytes(b"not a store" * 1_000)
    monkeypatch.setenv("FLEET_STORE", str(store))
    monkeypatch.setattr(access, "group_file", lambda: tmp_path / "group.toml")
    monkeypatch.setattr(shared, "_OPENED", set())

    def page():
        import shared

        shared.open_page("A page", "About it.")

    shown = AppTest.from_function(page).run()
    (said,) = [element.value for element in (*shown.error, *shown.info)]
    assert "club" in said
    assert str(tmp_path) not in said.replace("\\", "")
