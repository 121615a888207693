"""fleet add: options follow the record kinds."""

import pytest

from fleet.cli.add import THINGS
from fleet.cli.app import load
from fleet.frames import KINDS


def test_every_column_has_an_option():
    group = load("add")
    for thing, kind in THINGS.items():
        options = {word for p in group.commands[thing].params for word in p.opts}
        for column in KINDS[kind].columns:
            assert f"--{column.name.replace('_', '-')}" in options


def test_things_are_those_of_the_contract():
    assert {"model", "position", "batch", "unit"} <= set(THINGS)


def test_adds_one_record_and_prints_its_id(fleet):
    fleet("new")
    (row,) = fleet("add", "model", "BM-2", "--first-made", "1998", "--json").rows()
    assert row["record"]
    assert row["already_known"] is False
    (again,) = fleet("add", "model", "--model", "BM-2", "--first-made", "1998", "--json").rows()
    assert again == {"record": row["record"], "already_known": True}


def test_whole_chain_by_hand(fleet):
    fleet("new")
    for words in (
        "add source club --collecting-since 2014-01 --keeps-roll-call yes",
        "add model BM-2 --planned-cost 30 --failure-cost 100",
        "add position C3 --model BM-2 --capacitance 470uF --voltage 25 --ground-referenced no",
        "add batch LX-0412 --date-code 0412",
        "add unit TL-1 --model BM-2 --batch LX-0412 --manufactured 2005 --ambient-c -5",
        "log failed TL-1 --on 2015-03-02 --cause capacitor --source club",
    ):
        done = fleet(*words.split())
        assert done.code == 0, done.err
    (life,) = fleet("lives", "--json").rows()
    assert (life["unit"], life["end"]) == ("TL-1", "failed")


def test_named_twice_is_wrong_usage(fleet):
    fleet("new")
    assert fleet("add", "model", "BM-2", "--model", "BM-3").code == 2


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["unit", "TL-1", "--model", "BM 2"], "BM 2"),
        (["model", "DH-5", "--first-made", "19x8"], "19x8"),
        (["model", "DH-5", "--planned-cost", "cheap"], "cheap"),
        (["model", "DH-5", "--planned-cost", "-5"], "-5"),
    ],
)
def test_bad_values_are_1_and_nothing_is_kept(fleet, words, said, tmp_path):
    fleet("new")
    fleet("add", "model", "BM-2")
    done = fleet("add", *words)
    assert done.code == 1
    assert said in done.err
    assert fleet("export", tmp_path / "out", "--json").rows() == [{"file": "models.csv", "rows": 1}]


@pytest.mark.parametrize(
    ("thing", "said"), [("offer", "an offer"), ("stock", "stock"), ("shop", "what the shop can do")]
)
def test_help_is_in_plain_english(fleet, thing, said):
    assert f"Add {said} (the kind" in " ".join(fleet("add", thing, "--help").out.split())


def test_choice_outside_the_list_is_wrong_usage(fleet):
    fleet("new")
    done = fleet("add", "position", "C3", "--model", "BM-2", "--lead-form", "glued")
    assert done.code == 2


def test_taken_name_says_how_to_amend(fleet):
    fleet("new")
    fleet("add", "model", "BM-2")
    done = fleet("add", "model", "BM-2", "--first-made", "1998")
    assert done.code == 1
    assert "fleet amend" in done.err
