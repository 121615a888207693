import pytest

from fleet import store
from fleet.errors import Conflict, NotKnown


@pytest.fixture
def take_back(path, today):
    def take(**which):
        return store.withdraw(path, today=today, by="ann", **which)

    return take


def test_a_whole_import_is_taken_back_and_nothing_is_deleted(
    path, put, rows, put_units, take_back, current, today
):
    put(
        units=rows("units", {"record": "u-1", "unit": "A"}, {"record": "u-2", "unit": "B"}),
        stock=rows("stock", {"record": "s-1", "part": "P", "quantity": 1}),
    )
    put_units({"record": "u-3"})
    assert take_back(import_id="i-0001") == 3
    assert (current(), current("stock")) == (["u-3"], [])
    assert store.history(path, "units").height == 3
    rows_ = store.known(path, ["withdrawn"])["withdrawn"]
    assert sorted(rows_.select("kind", "withdraws", "entered_on", "by").rows()) == [
        ("stock", "s-1", today, "ann"),
        ("units", "u-1", today, "ann"),
        ("units", "u-2", today, "ann"),
    ]
    told = store.imports(path).select("import_id", "what", "kept", "taken_back").rows()
    assert told == [
        ("i-0001", "a test", 3, 3),
        ("i-0002", "a test", 1, 0),
        ("i-0003", "undo of i-0001", 3, 0),
    ]


def test_what_the_import_corrected_counts_again(put_units, take_back, current):
    put_units({"record": "a"})
    put_units({"record": "b", "supersedes": "a"}, {"record": "c"})
    assert current() == ["b", "c"]
    take_back(import_id="i-0002")
    assert current() == ["a"]


def test_a_correction_within_the_import_goes_with_it(put_units, take_back, current):
    put_units({"record": "a"}, {"record": "b", "supersedes": "a"})
    assert take_back(import_id="i-0001") == 2
    assert current() == []


def test_what_a_later_import_corrects_stays(path, put_units, take_back, current):
    put_units({"record": "a"}, {"record": "z"})
    put_units({"record": "b", "supersedes": "a"})
    before = path.read_bytes()
    with pytest.raises(Conflict, match="nothing was taken back: a is corrected by b; take that"):
        take_back(import_id="i-0001")
    assert path.read_bytes() == before
    take_back(import_id="i-0002")
    take_back(import_id="i-0001")
    assert current() == []


def test_twice(put_units, take_back):
    put_units({"record": "a"})
    take_back(import_id="i-0001")
    with pytest.raises(Conflict, match="import i-0001 was taken back already; import the file"):
        take_back(import_id="i-0001")
    with pytest.raises(Conflict, match="record a was taken back already"):
        take_back(records=["a"])
    with pytest.raises(Conflict, match="import i-0002 only took records back; import or enter"):
        take_back(import_id="i-0002")


def test_what_there_is_not(put, take_back, put_units, rows):
    with pytest.raises(NotKnown, match="there is no import i-0001; the store has none yet"):
        take_back(import_id="i-0001")
    put_units({"record": "a", "supersedes": "none"})
    with pytest.raises(NotKnown, match="there is no import i-0007; the latest is i-0001"):
        take_back(import_id="i-0007")
    with pytest.raises(Conflict, match="import i-0001 brought no records; there is nothing"):
        take_back(import_id="i-0001")
    with pytest.raises(NotKnown, match="there is no record x, y; take the id from"):
        take_back(records=["x", "y"])
    with pytest.raises(NotKnown, match="name at least one record"):
        take_back(records=[])
    with pytest.raises(TypeError, match="import_id or records"):
        take_back()


def test_single_records(put_units, take_back, current):
    put_units({"record": "a"}, {"record": "b", "supersedes": "a"}, {"record": "c"})
    with pytest.raises(Conflict, match="a is corrected by b"):
        take_back(records=["a"])
    assert take_back(records=["b", "c", "c"]) == 2
    assert current() == ["a"]
    assert take_back(import_id="i-0001") == 1
    assert current() == []


def test_an_import_that_took_back_records_of_others(put, put_units, rows, take_back):
    put_units({"record": "a"})
    put(
        withdrawn=rows("withdrawn", {"record": "w", "kind": "units", "withdraws": "a"}),
        units=rows("units", {"record": "b", "unit": "B"}),
    )
    with pytest.raises(Conflict, match="i-0002 itself took back 1 records of earlier imports"):
        take_back(import_id="i-0002")
    assert take_back(records=["b"]) == 1


def test_undo_and_import_again_as_often_as_one_likes(path, put_units, take_back, current):
    """The file holds a record and its correction; both come again each time."""
    file = ({"record": "a"}, {"record": "b", "supersedes": "a"}, {"record": "c"})
    put_units(*file)
    for n in (2, 3, 4):
        take_back(import_id=store.imports(path)["import_id"][-1])
        assert current() == []
        done = put_units(*file)
        assert done.kept["record"].to_list() == [f"a~{n}", f"b~{n}", f"c~{n}"]
        assert done.kept["given"].to_list() == ["a", "b", "c"]
        assert current() == [f"b~{n}", f"c~{n}"]
        assert put_units(*file).import_id is None


def test_a_correction_alone_cannot_come_again_without_its_record(put_units, take_back, current):
    put_units({"record": "a"})
    put_units({"record": "b", "supersedes": "a"})
    take_back(import_id="i-0002")
    take_back(import_id="i-0001")
    done = put_units({"record": "b", "supersedes": "a"})
    assert "corrects a, which was taken back" in done.rejected["reason"][0]
    put_units({"record": "a"})
    put_units({"record": "b", "supersedes": "a"})
    assert current() == ["b~2"]
