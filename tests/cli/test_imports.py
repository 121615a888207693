"""fleet imports."""


def test_lists_ids_that_undo_takes(club):
    rows = club("imports", "--json").rows()
    assert len(rows) == 1
    ids = [value for value in rows[0].values() if isinstance(value, str)]
    assert any(club("undo", one).code == 0 for one in ids)


def test_nothing_yet(fleet):
    fleet("new")
    done = fleet("imports")
    assert (done.code, done.out, done.err) == (0, "", "Nothing was imported yet.\n")
