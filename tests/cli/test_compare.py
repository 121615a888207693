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
    tests = [row["test"] for row in rows]
    assert tests == ["log-rank", "likelihood-ratio", "equal-shape", "equal-scale"]
    assert rows[0]["statistic"] == pytest.approx(16.79, abs=0.005)
    assert rows[0]["degrees_of_freedom"] == 1
    assert rows[1]["degrees_of_freedom"] == 2
    assert all(rows[k]["p_value"] < 0.001 for k in (0, 1, 3))


def test_without_groups_it_says_what_to_give(fleet, tmp_path):
    ran = fleet("compare", "--lives", _lives(tmp_path))
    assert ran.code == 1
    assert "--by" in ran.err


def test_a_column_that_is_not_there_is_named(fleet, tmp_path):
    ran = fleet("compare", "--lives", _lives(tmp_path), "--by", "colour")
    assert ran.code == 1
    assert "colour" in ran.err


def _warm(folder):
    """Lives that heat shortens, with hours a year: made up, worked out from a fixed recipe."""
    rows = []
    for n in range(60):
        heat, hours = 15 + 5 * (n % 6), 400 + 200 * (n % 5)
        age = 14.0 * 0.6 ** ((heat - 20) / 10) * (0.6 + 0.8 * ((n * 37) % 60) / 60)
        end = 4.0 + (n * 13) % 11
        failed = age <= end
        rows.append(f"{min(age, end)},{age if failed else ''},{heat},{hours},{'AB'[n % 2]}")
    path = folder / "warm.csv"
    path.write_text("\n".join(["low,high,ambient_c,hours_per_year,batch", *rows]) + "\n")
    return path


def test_it_says_in_words_how_the_groups_differ(fleet, tmp_path):
    ran = fleet("compare", "--lives", _lives(tmp_path), "--by", "arm")
    assert ran.code == 0
    assert "differ more than chance would explain" in ran.err
    assert "treated lasts 3.55 times as long as placebo (2.05 to 7.31)" in ran.err
    assert "log-rank" in ran.out


def test_ratios_instead_of_tests(fleet, tmp_path):
    rows = fleet("compare", "--lives", _lives(tmp_path), "--by", "arm", "--ratios", "--json").rows()
    assert [row["group"]["arm"] for row in rows] == ["placebo", "treated"]
    assert rows[1]["ratio_low"] < rows[1]["ratio"] < rows[1]["ratio_high"]
    assert rows[0]["ratio"] == 1.0
    assert rows[0]["ratio_low"] is None


def test_what_shortens_life(fleet, tmp_path):
    path = _warm(tmp_path)
    ran = fleet("compare", "--lives", path, "--explain", "ambient_c,hours_per_year,batch")
    assert ran.code == 0
    assert "10 °C hotter" in ran.err
    assert "95 % limits" in ran.out
    rows = fleet("compare", "--lives", path, "--explain", "ambient_c", "--json").rows()
    assert rows[0]["column"] == "ambient_c"
    assert rows[0]["effect_low"] < 0.6 < rows[0]["effect_high"]


def test_which_clock(fleet, tmp_path):
    path = _warm(tmp_path)
    rows = fleet("compare", "--lives", path, "--clock", "--json").rows()
    assert [row["clock"] for row in rows] == ["age", "hours", "mix"]
    assert "powered hours" in fleet("compare", "--lives", path, "--clock").err
    ran = fleet("compare", "--lives", path, "--clock", "--hours", "shift")
    assert ran.code == 1
    assert "no column shift" in ran.err


def test_one_question_at_a_time(fleet, tmp_path):
    ran = fleet("compare", "--lives", _warm(tmp_path), "--clock", "--explain", "batch")
    assert ran.code == 2
    assert "one of" in ran.err
    ran = fleet("compare", "--lives", _warm(tmp_path), "--by", "batch", "--hours", "shift")
    assert ran.code == 2
    assert "--clock" in ran.err


def test_a_constant_column_is_refused_in_one_sentence(fleet, tmp_path):
    path = tmp_path / "flat.csv"
    path.write_text("low,high,ambient_c\n1,1,20\n2,2,20\n3,,20\n")
    ran = fleet("compare", "--lives", path, "--explain", "ambient_c")
    assert ran.code == 1
    assert "ambient_c is the same for every life" in ran.err
