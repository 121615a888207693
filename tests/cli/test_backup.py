"""fleet backup and fleet restore: a copy proved by counting, and back again."""


def test_backup_then_restore_gives_the_same_answers(club, tmp_path):
    copy, again = tmp_path / "copy.duckdb", tmp_path / "again.duckdb"
    counts = {row["kind"]: row["rows"] for row in club("backup", copy, "--json").rows()}
    assert counts["units"] == 30
    assert counts["reports"] == 30
    assert club("restore", copy, "--store", again).code == 0
    assert club("lives", "--csv", "--store", again).out == club("lives", "--csv").out


def test_nothing_is_overwritten(club, tmp_path):
    (tmp_path / "copy.duckdb").write_text("precious")
    assert club("backup", tmp_path / "copy.duckdb").code == 1
    assert (tmp_path / "copy.duckdb").read_text() == "precious"


def test_restore_over_a_store_is_1(club, tmp_path):
    club("backup", tmp_path / "copy.duckdb")
    before = club("lives", "--csv").out
    done = club("restore", tmp_path / "copy.duckdb")
    assert done.code == 1
    assert club("lives", "--csv").out == before


def test_restoring_what_is_no_backup_is_1(fleet, tmp_path):
    (tmp_path / "letter.txt").write_text("Dear club")
    done = fleet("restore", tmp_path / "letter.txt")
    assert done.code == 1
    assert done.err.count("\n") == 1
