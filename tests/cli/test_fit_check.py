"""fleet fit --check."""

KEYS = {
    *("group", "distribution", "lives", "failures", "exists", "reason", "log_likelihood"),
    *("parameters", "aic", "aic_few", "b10", "share_that_can_fail", "share_low", "share_high"),
    *("p_value", "p_value_of", "departure", "at_age", "excess", "draws", "age_unit"),
}
LIVES = "low,high,count\n" + "".join(f"{a},{a},1\n" for a in (3, 5, 6, 7, 8, 9, 11)) + "12,,6\n"


def test_keys(club):
    rows = club("fit", "--check", "--by", "model", "--json").rows()
    assert rows
    assert all(row.keys() == KEYS for row in rows)
    assert all(set(row["group"]) == {"model"} for row in rows)
    assert {row["age_unit"] for row in rows} == {"years"}


def test_file_and_words(fleet, tmp_path):
    (tmp_path / "lives.csv").write_text(LIVES)
    result = fleet("fit", "--check", "--lives", tmp_path / "lives.csv")
    assert result.code == 0
    assert "limited failure" in result.out
    assert "such fleets" in result.err
    (weibull, *_) = fleet("fit", "--check", "--lives", tmp_path / "lives.csv", "--json").rows()
    assert weibull["distribution"] == "weibull"
    assert 0 < weibull["p_value"] <= 1
    assert weibull["draws"] == 499


def test_no_failure_exits_0(fleet, tmp_path):
    (tmp_path / "lives.csv").write_text("low,high,count\n10,,20\n")
    result = fleet("fit", "--check", "--lives", tmp_path / "lives.csv", "--json")
    assert result.code == 0
    assert all(row["exists"] is False and row["reason"] for row in result.rows())
