"""fleet check."""


def test_each_finding_has_advice(club, tmp_path):
    (tmp_path / "units.csv").write_text("unit,model\nTL-600,BM-2\n")
    club("import", tmp_path / "units.csv")
    rows = club("check", "--json").rows()
    assert rows
    assert all(row.keys() >= {"subject", "finding", "count", "advice"} for row in rows)
    assert all(row["advice"] for row in rows)


def test_screen(club):
    assert club("check").code == 0


def test_empty_store_is_done(fleet):
    fleet("new")
    assert fleet("check").code == 0
