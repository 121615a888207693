CUT = "2024-06-30"
KEYS = {"level", "name", "lives", "failures", "effect", "effect_low", "effect_high", "verdict"}


def test_the_list_has_the_agreed_keys_and_levels(club):
    rows = club("suspects", "--as-of", CUT, "--json").rows()
    assert rows
    for row in rows:
        assert set(row) >= KEYS
        assert row["level"] in {"batch", "model", "position", "batch across models"}
        assert row["verdict"]
    # One batch in both models, on every fourth unit; no model has a second one to compare.
    batches = [row for row in rows if row["level"] == "batch" and row["parts"] == "original"]
    assert {(row["name"], row["model"]) for row in batches} == {
        ("LX-9803", "BM-2"),
        ("LX-9803", "DH-5"),
    }
    assert "shorter life" not in {row["verdict"] for row in batches}
    models = {row["name"]: row["verdict"] for row in rows if row["level"] == "model"}
    assert "fewer than two batches are named" in models["BM-2"]


def test_the_screen_shows_words_and_the_sentences_follow(club):
    ran = club("suspects", "--as-of", CUT)
    assert ran.code == 0
    assert "times as long (90 % limits)" in ran.out
    assert "cannot tell" in ran.out
    assert "Of all variation of life" in ran.err
    assert "inf" not in ran.out.split()
    assert "nan" not in ran.out.split()


def test_shares_instead_of_the_list(club):
    rows = club("suspects", "--as-of", CUT, "--shares", "--json").rows()
    pieces = {row["part_of_life"] for row in rows}
    assert {"model", "batch", "chance"} <= pieces <= {"model", "batch", "chance", "position"}
    for row in rows:
        if row["part_of_life"] == "position":  # rough, without limits
            assert 0.0 <= row["share"] <= 1.0
            continue
        assert 0.0 <= row["share_low"] <= row["share"] <= row["share_high"] <= 1.0
    ran = club("suspects", "--as-of", CUT, "--shares")
    assert "between batches" in ran.out
    assert "all models" in ran.out


def test_limits_widen_with_the_level(club):
    def width(level):
        rows = club("suspects", "--as-of", CUT, "--level", level, "--json").rows()
        row = next(row for row in rows if row["level"] == "batch")
        return row["effect_high"] / row["effect_low"]

    assert width("0.5") < width("0.95")


def test_an_empty_store_has_nothing_to_compare(fleet):
    assert fleet("new").code == 0
    ran = fleet("suspects", "--as-of", CUT)
    assert ran.code == 0
    assert "no lives to compare" in ran.err
    assert fleet("suspects", "--as-of", CUT, "--json").rows() == []


def test_a_store_with_nothing_to_compare_says_so_without_a_posterior(fleet, tmp_path, monkeypatch):
    def never(*_, **__):
        raise AssertionError("no draws are needed")

    monkeypatch.setattr("fleet.flow.posterior.draws_for", never)
    (tmp_path / "units.csv").write_text(
        "unit,model,manufactured,enrolled_on,enrolled_because,batch\n"
        + "".join(f"U{k},M{k // 2},2001,2005-01-01,working,A{k // 2}\n" for k in range(6))
    )
    (tmp_path / "reports.csv").write_text(
        "unit,date,kind,cause\n"
        + "".join(f"U{k},201{k}-03-01,failed,capacitor\n" for k in range(6))
    )
    fleet("new")
    assert fleet("import", tmp_path / "units.csv", tmp_path / "reports.csv").code == 0
    ran = fleet("suspects", "--as-of", CUT)
    assert ran.code == 0
    assert "No model has two named batches" in ran.err
    assert "Name the batch of each set" in ran.err
    assert fleet("suspects", "--as-of", CUT, "--shares", "--json").rows() == []


def test_bad_wishes_are_refused(club, tmp_path):
    assert club("suspects", "--level", "2").code == 2
    assert club("suspects", "--as-of", "last spring").code == 2
    ran = club("suspects", "--store", tmp_path / "nowhere.duckdb")
    assert ran.code == 1
    assert "nowhere.duckdb" in ran.err
