import pytest


def _lives(folder):
    # Lee and Wang's and many books' 6-MP trial (Freireich et al. 1963, Blood 21), weeks of
    # remission; log-rank chi-square 16.79 on 1 degree of freedom (R survival's survdiff, from
    # memory, and the reference file that lies beside the checkout).
    treated = [6, 6, 6, 7, 10, 13, 16, 22, 23]
    treated_on = [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35]
    placebo = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]
    rows = [f"{t},{t},treated" for t in treated] + [f"{t},,treated" for t in treated_on]
    rows += [f"{t},{t},placebo" for t in placebo]
    path = folder / "lives.csv"
    path.write_text("\n".join(["low,high,arm", *rows]) + "\n")
    return path


def test_the_published_trial_is_told_apart(fleet, tmp_path):
    rows = fleet("compare", "--lives", _lives(tmp_path), "--by", "arm", "--json").rows()
    assert [row["test"] for row in rows] == ["log-rank", "likelihood-ratio"]
    assert rows[0]["statistic"] == pytest.approx(16.79, abs=0.005)
    assert rows[0]["degrees_of_freedom"] == 1
    assert rows[1]["degrees_of_freedom"] == 2
    assert all(row["p_value"] < 0.001 for row in rows)


def test_without_groups_it_says_what_to_give(fleet, tmp_path):
    ran = fleet("compare", "--lives", _lives(tmp_path))
    assert ran.code == 1
    assert "--by" in ran.err


def test_a_column_that_is_not_there_is_named(fleet, tmp_path):
    ran = fleet("compare", "--lives", _lives(tmp_path), "--by", "colour")
    assert ran.code == 1
    assert "colour" in ran.err
