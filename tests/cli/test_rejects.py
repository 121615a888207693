"""fleet rejects: refused rows are kept for good."""


def test_lists_line_reason_and_row(club, tmp_path):
    (tmp_path / "reports.csv").write_text("unit,date,kind\nNOBODY,2024-01-01,working\n")
    done = club("import", tmp_path / "reports.csv", "--json")
    assert done.rows()[0]["rejected"] == 1
    (row,) = club("rejects", "--json").rows()
    assert row["line"] == 2
    assert "NOBODY" in row["reason"]
    assert "NOBODY" in row["row"]


def test_of_one_import(club, tmp_path):
    (tmp_path / "reports.csv").write_text("unit,date,kind\nNOBODY,2024-01-01,working\n")
    club("import", tmp_path / "reports.csv")
    (first, second) = club("imports", "--json").rows()
    name = next(key for key in first if "import" in key)
    counts = {club("rejects", one[name], "--csv").out.count("\n") for one in (first, second)}
    assert counts == {1, 2}  # the header alone, and the header with one row


def test_none(club):
    done = club("rejects")
    assert (done.code, done.out, done.err) == (0, "", "No row was refused.\n")
