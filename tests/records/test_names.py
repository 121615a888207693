"""Names: aliases followed and counted, near misses and unknown units refused."""

import polars as pl
import pytest

from fleet.records import nearest_names, resolve_names
from fleet.records.names import bare, batch_names

REPORT = {"date": "2020", "kind": "working"}


@pytest.fixture
def tables(cleaned):
    def make(**rows):
        return {kind: cleaned(kind, *some).kept for kind, some in rows.items()}

    return make


def models(*names):
    return {
        "models": pl.DataFrame({"model": [n for n, _ in names], "aliases": [a for _, a in names]})
    }


def unit(name, model):
    return {"unit": name, "model": model}


def test_bare():
    assert bare("BK-3 b") == bare("bk3B") == "bk3b"
    assert bare("--") == "--"


def test_batch_names():
    assert batch_names("B7") == ["B7"]
    assert batch_names("C1:B7;C4: B9;") == ["B7", "B9"]


def test_known_names_stay_and_aliases_are_followed_and_counted(tables):
    result = resolve_names(
        tables(units=[unit("A", "BK3"), unit("B", "BK-3"), unit("C", "BK-3"), unit("D", "Brot")]),
        known=models(("BK3", "BK-3; Backer")),
        aliases={"Brot": "BK3"},
    )
    assert result.tables["units"]["model"].to_list() == ["BK3"] * 4
    assert result.rejected.height == 0
    assert result.notes == (
        "BK-3 read as BK3 (an alias) in 2 rows of units",
        "Brot read as BK3 (an alias) in 1 rows of units",
    )


def test_near_miss_is_refused_with_the_name(tables):
    result = resolve_names(
        tables(units=[unit("A", "bk 3"), unit("B", "backer")]), known=models(("BK3", "Backer"))
    )
    assert result.tables["units"].height == 0
    first, second = result.rejected["reason"]
    assert "did you mean BK3?" in first
    assert "add bk 3 to its aliases" in first
    assert "did you mean BK3?" in second
    assert result.rejected["line"].to_list() == [2, 3]
    assert '"model":"bk 3"' in result.rejected["row"][0]


def test_models_of_the_same_import_count_wherever_they_stand(tables):
    result = resolve_names(
        tables(units=[unit("A", "BK-3")], models=[{"model": "BK3", "aliases": "BK-3"}]), known={}
    )
    assert result.tables["units"]["model"].to_list() == ["BK3"]


def test_the_rarer_of_two_spellings_is_refused(tables):
    result = resolve_names(
        tables(units=[unit("A", "BK-3"), unit("B", "BK3"), unit("C", "BK3")]), known={}
    )
    assert result.tables["units"]["unit"].to_list() == ["B", "C"]
    assert "did you mean BK3?" in result.rejected["reason"][0]


def test_new_names_are_accepted_with_a_note(tables):
    result = resolve_names(
        tables(units=[{**unit("A", "New one"), "batch": "C1:B7;C2:B9"}], batches=[{"batch": "B7"}]),
        known={},
    )
    assert result.tables["units"].height == 1
    assert result.notes == (
        "no models record describes New one; accepted as new, add one when you can",
        "no batches record describes B9; accepted as new, add one when you can",
    )


@pytest.mark.parametrize(
    ("model", "words"),
    [
        ({"model": "BK-3"}, "BK-3 is an alias of the model BK3"),
        ({"model": "bk3"}, "did you mean BK3?"),
        ({"model": "Z", "aliases": "BK3"}, "the alias BK3 is the name of another model"),
        ({"model": "Z", "aliases": "y;BK-3"}, "the alias BK-3 belongs to the model BK3"),
    ],
)
def test_models_that_clash_are_refused(tables, model, words):
    result = resolve_names(tables(models=[model]), known=models(("BK3", "BK-3")))
    assert result.tables["models"].height == 0
    assert words in result.rejected["reason"][0]


def test_a_model_may_be_described_again_and_take_up_a_spelling_in_use(tables):
    known = {**models(("BK3", None)), "units": pl.DataFrame({"unit": ["A"], "model": ["DH 2"]})}
    result = resolve_names(
        tables(models=[{"model": "BK3", "revision": "2"}, {"model": "DH2", "aliases": "DH 2"}]),
        known=known,
    )
    assert result.tables["models"].height == 2
    assert result.rejected.height == 0


def test_rows_that_were_superseded_or_withdrawn_claim_no_names(tables):
    old = {"record": "m-1", "model": "BK3", "aliases": "DH2"}
    gone = {"record": "m-3", "model": "bk 3"}
    new = {"record": "m-2", "model": "BK3", "supersedes": "m-1"}
    result = resolve_names(
        tables(
            models=[old, gone, new, {"model": "DH2"}],
            withdrawn=[{"kind": "models", "withdraws": "m-3"}],
        ),
        known={},
    )
    assert result.tables["models"].height == 4
    assert result.rejected.height == 0


def test_unknown_units_are_refused_with_the_nearest_names(tables):
    result = resolve_names(
        tables(
            units=[unit("K-17", "M")],
            reports=[{**REPORT, "unit": u} for u in ("K-17", "K17", "K-71x", "Zebra", "S1")],
            readings=[{"date": "2020", "unit": "K17", "position": "C1"}],
        ),
        known={"units": pl.DataFrame({"unit": ["S1", "K-18"], "model": ["M", "M"]})},
    )
    assert result.tables["reports"]["unit"].to_list() == ["K-17", "S1"]
    assert result.tables["readings"].height == 0
    reasons = result.rejected["reason"].to_list()
    assert reasons[0].startswith("no unit is called K17; did you mean K-17")
    assert reasons[2] == "no unit is called Zebra; add the unit first, or correct the name"
    assert result.rejected["kind"].to_list() == ["reports"] * 3 + ["readings"]


def test_reports_of_a_unit_that_was_refused_are_refused(tables):
    result = resolve_names(
        tables(units=[unit("A", "bk 3")], reports=[{**REPORT, "unit": "A"}]),
        known=models(("BK3", None)),
    )
    assert {k: f.height for k, f in result.tables.items()} == {"units": 0, "reports": 0}
    assert result.rejected["kind"].to_list() == ["units", "reports"]


def test_nearest_names_among_many():
    names = sorted(f"unit {i:06d}" for i in range(100_000))
    assert nearest_names("unit 0500000", names, {})[0] == "unit 050000"
    assert nearest_names("UNIT-1", names, {"unit1": ["unit 1"]})[0] == "unit 1"


def test_the_given_tables_are_not_changed(tables):
    given = tables(units=[unit("A", "BK-3")])
    before = given["units"].clone()
    resolve_names(given, known=models(("BK3", "BK-3")))
    assert given["units"].equals(before)
