"""fleet undo: a whole import is taken back, by the id that import and imports give."""


def test_takes_an_import_back(club, tmp_path):
    before = club("lives", "--csv").out
    (tmp_path / "reports.csv").write_text(
        "unit,date,kind,cause\nTL-020,2024-06-30,failed,capacitor\n"
    )
    done = club("import", tmp_path / "reports.csv", "--json")
    assert club("lives", "--csv").out != before
    back = club("undo", done.rows()[0]["import"])
    assert back.code == 0
    assert "1 record" in back.err
    assert club("lives", "--csv").out == before


def test_unknown_import_is_1(club):
    done = club("undo", "no-such-import")
    assert done.code == 1
    assert "no-such-import" in done.err


def test_it_can_be_imported_again(club, tmp_path):
    (tmp_path / "units.csv").write_text("unit,model\nTL-500,BM-2\n")
    first = club("import", tmp_path / "units.csv", "--json").rows()[0]
    club("undo", first["import"])
    assert club("import", tmp_path / "units.csv", "--json").rows()[0]["kept"] == 1


def test_a_dry_run_lists_what_would_be_taken_back_and_takes_nothing(club, tmp_path):
    (tmp_path / "reports.csv").write_text("unit,date,kind\nTL-020,2024-06-30,stored\n")
    done = club("import", tmp_path / "reports.csv", "--json").rows()[0]
    tried = club("undo", done["import"], "--dry-run", "--json")
    assert tried.rows() == [{"kind": "reports", "records": 1, "corrections": 0}]
    assert "Nothing was taken back" in tried.err
    assert club("undo", done["import"]).code == 0
    assert club("undo", done["import"], "--dry-run").code == 1
