"""fleet amend: a correction supersedes, and earlier days still see the old version."""


def test_correction_changes_the_lives(club):
    (logged,) = club(
        "log", "failed", "TL-020", "--on", "2024-07-15", "--cause", "other", "--json"
    ).rows()
    (row,) = club("amend", logged["record"], "--set", "cause=capacitor", "--json").rows()
    assert row["record"] != logged["record"]
    (life,) = [one for one in club("lives", "--json").rows() if one["unit"] == "TL-020"]
    assert life["end"] == "failed"
    assert row["record"] in life["reports"]
    assert logged["record"] not in life["reports"]


def test_beginning_of_an_id_is_enough(club):
    (logged,) = club("log", "failed", "TL-020", "--on", "2024-07-15", "--json").rows()
    assert club("amend", logged["record"][:10], "--set", "cause=other").code == 0


def test_faults_are_said(club):
    (logged,) = club("log", "failed", "TL-020", "--on", "2024-07-15", "--json").rows()
    for words, said in (
        (["no-such-id", "--set", "cause=other"], "no-such-id"),
        ([logged["record"], "--set", "colour=red"], "colour"),
        ([logged["record"], "--set", "cause=moonlight"], "moonlight"),
        ([logged["record"], "--set", "date=2024-13"], "2024-13"),
    ):
        done = club("amend", *words)
        assert done.code == 1
        assert said in done.err
        assert done.err.count("\n") == 1
