"""Which position failed, from record files: suspects, readings and shares worked by hand."""

import random
from datetime import date

import polars as pl
import pytest

from fleet.flow.answers import READ, lives
from fleet.flow.caution import CAUTION
from fleet.flow.culprits import culprits, named_positions
from fleet.flow.entering import create_store
from fleet.flow.importing import import_files
from fleet.flow.known import known_records
from fleet.flow.position_lives import position_lives
from fleet.flow.position_readings import judged_before, weigh
from fleet.flow.table import Settings
from fleet.flow.which_position import (
    POSITIONS,
    lives_of_named,
    position_rows,
    which_position,
)

AS_OF = date(2025, 12, 31)
MODELS = "model,kind\nM,radio\nN,radio\n"
SPOTS = """model,position,capacitance,voltage,esr_ohm
M,C1,100uF,25,0.1
M,C2,100uF,25,0.1
M,C10,100uF,25,0.1
"""
BUILT = "manufactured,enrolled_on,enrolled_because"
READING = "unit,date,position,stage,esr_ohm,in_circuit\n"


@pytest.fixture
def make(tmp_path):
    def store_of(reports, *, readings="", units=None, positions=SPOTS):
        path = tmp_path / "s.duckdb"
        create_store(path)
        names = sorted({line.split(",")[0] for line in reports.strip().splitlines()})
        rows = units or [f"{u},M,2000-01-01,2005-01-01,working" for u in names]
        files = {
            "models": MODELS,
            "positions": positions,
            "units": f"unit,model,{BUILT}\n" + "\n".join(rows) + "\n",
            "reports": "unit,date,kind,cause,positions,because\n" + reports,
            "readings": READING + readings,
        }
        for kind, text in files.items():
            (tmp_path / f"{kind}.csv").write_text(text)
        paths = [tmp_path / f"{kind}.csv" for kind in files if files[kind].count("\n") > 1]
        assert import_files(path, paths, today=AS_OF, by=None).rejected.is_empty()
        return path

    return store_of


def suspects(store):
    table = lives(store, as_of=AS_OF, settings=Settings())
    found = culprits(table.lives, known_records(store, ("reports",), as_of=AS_OF)["reports"])
    units = table.lives.with_row_index("row").select(pl.col("row").cast(pl.Int64), "unit")
    return found.join(units, on="row")


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("C4; C1", ["C1", "C4"]),
        ("all", None),
        ("All", None),
        ("", None),
        (None, None),
        ("C7;", ["C7"]),
    ],
)
def test_positions_of_a_text(text, names):
    frame = pl.DataFrame({"t": [text]}, schema={"t": pl.String})
    assert frame.select(names=named_positions(pl.col("t")))["names"].to_list() == [names]


def test_suspects_come_from_the_failure_else_from_what_was_replaced(make):
    store = make(
        "A,2010-05-01,failed,capacitor,C1,\nA,2010-06-01,recapped,,all,failure\n"  # named
        "B,2010-05-01,failed,capacitor,,\nB,2010-06-01,recapped,,C1;C2,failure\n"  # replaced
        "C,2010-05-01,failed,capacitor,,\nC,2010-06-01,recapped,,all,failure\n"  # any
        "D,2010-05-01,failed,capacitor,C1;C2,\nD,2010-06-01,recapped,,C2,failure\n"  # both
        "E,2010-05-01,failed,capacitor,C1,\nE,2010-06-01,recapped,,C2,failure\n"  # against
        "F,2010-05-01,failed,capacitor,C2,\nF,2010-05-02,failed,capacitor,C1,\n"  # two tell
        "G,2010-06-01,recapped,,C10,failure\n"  # no failure reported
        "H,2010-05-01,failed,capacitor,,\n"  # nothing followed
        "I,2010-05-01,failed,capacitor,,\nI,2010-06-01,board_swapped,,,\n"
    )
    got = {
        unit: (names, told, against)
        for unit, names, told, against in suspects(store)
        .select("unit", "candidates", "told", "against")
        .rows()
    }
    assert got == {
        "A": (["C1"], "named", False),
        "B": (["C1", "C2"], "replaced", False),
        "C": (None, "nothing", False),
        "D": (["C2"], "named", False),
        "E": (["C2"], "replaced", True),
        "F": (["C1", "C2"], "named", False),
        "G": (["C10"], "replaced", False),
        "H": (None, "nothing", False),
        "I": (None, "nothing", False),
    }


def test_each_failure_of_a_set_has_its_own_suspects(make):
    """An unknown cause ends a part of the life, a later failure the rest; other causes nothing."""
    store = make(
        "A,2008-01-01,failed,other,C10,\nA,2008-02-01,working,,,\n"
        "A,2010-05-01,failed,unknown,C1,\nA,2010-06-01,working,,,\n"
        "A,2014-05-01,failed,capacitor,,\nA,2014-06-01,recapped,,C2,failure\n"
        "A,2014-06-02,working,,,\nA,2018-01-01,recapped,,all,planned\n"
    )
    found = suspects(store).sort("first")
    assert found["candidates"].to_list() == [["C1"], ["C2"]]
    assert found.select("first", "last").rows() == [
        (date(2010, 5, 1), date(2010, 6, 1)),
        (date(2014, 5, 1), date(2014, 6, 1)),
    ]


def test_failed_once_and_running_is_not_blamed_on_a_later_recap(make):
    store = make(
        "A,2010-05-01,failed,capacitor,,\nA,2010-06-01,working,,,\n"
        "A,2014-06-01,recapped,,C2,planned\n"
    )
    assert suspects(store)["candidates"].to_list() == [None]


def judged(store):
    records = known_records(store, ("positions", "units", "readings"), as_of=AS_OF)
    return judged_before(records["readings"], records["positions"], records["units"])


BROKE = "A,2010-05-01,failed,capacitor,,\nA,2010-06-01,recapped,,all,failure\n"


@pytest.mark.parametrize(
    ("readings", "names", "weights"),
    [
        # out of circuit: good is no suspect, bad is five times likelier
        ("A,2010-06-01,C1,before,0.1,no\nA,2010-06-01,C2,before,0.9,no\n", ["C10", "C2"], [1, 5]),
        # in circuit a reading counts less, and so does one of which nothing is said
        ("A,2010-06-01,C1,before,0.1,yes\nA,2010-06-01,C2,before,0.9,\n",
         ["C1", "C10", "C2"], [0.5, 1, 2]),
        # the reading out of circuit counts, then the later
        ("A,2010-06-01,C1,before,0.9,yes\nA,2010-05-20,C1,before,0.1,no\n"
         "A,2010-05-20,C2,before,0.1,yes\nA,2010-05-25,C2,before,0.9,yes\n",
         ["C10", "C2"], [1, 2]),
        # after the recap, before the failure, or a check: no evidence
        ("A,2010-07-01,C1,before,0.9,no\nA,2010-04-01,C1,before,0.9,no\n"
         "A,2010-06-01,C2,after,0.9,no\nA,2010-06-01,C2,check,0.9,no\n",
         ["C1", "C10", "C2"], [1, 1, 1]),
    ],
)  # fmt: skip
def test_readings_narrow_and_weigh(make, readings, names, weights):
    store = make(BROKE, readings=readings)
    found = suspects(store).with_columns(candidates=pl.lit(["C1", "C2", "C10"]))
    row = weigh(found, judged(store)).row(0, named=True)
    assert row["candidates"] == names
    assert row["weights"] == weights
    assert row["weighed"] == (len(set(weights)) > 1 or len(names) < 3)


def test_all_measured_good_sets_readings_aside(make):
    good = "".join(f"A,2010-06-01,{c},before,0.1,no\n" for c in ("C1", "C2", "C10"))
    store = make(BROKE, readings=good)
    found = suspects(store).with_columns(candidates=pl.lit(["C1", "C2", "C10"]))
    row = weigh(found, judged(store)).row(0, named=True)
    assert row["cleared_all"]
    assert row["weights"] == [1.0, 1.0, 1.0]
    said = which_position(store, as_of=AS_OF).notes
    assert (
        "All suspects measured good out of the circuit in 1 failure: readings are set aside there"
    ) in said


def test_a_position_that_was_named_stays_whatever_it_measured(make):
    store = make(
        "A,2010-05-01,failed,capacitor,C1,\nA,2010-06-01,recapped,,all,failure\n",
        readings="A,2010-06-01,C1,before,0.1,no\n",
    )
    row = weigh(suspects(store), judged(store)).row(0, named=True)
    assert (row["candidates"], row["weights"]) == (["C1"], [1.0])


def both(store):
    table = lives(store, as_of=AS_OF, settings=Settings())
    each = lives(store, as_of=AS_OF, settings=Settings(by_position=True))
    kinds = ("positions", "units", "reports", "readings")
    records = known_records(store, kinds, as_of=AS_OF)
    whole = table.lives.filter(pl.col("parts") == "original")
    return position_lives(whole, each.lives, records)


def test_what_the_others_lived_after_a_part_renewal_counts(make):
    """C1 is renewed at ten years; C2 and C10 are seen five years older, and C2 fails then."""
    store = make(
        "A,2010-01-01,failed,capacitor,C1,\nA,2010-01-01,recapped,,C1,failure\n"
        "A,2015-01-01,failed,capacitor,C2,\nA,2015-01-01,recapped,,all,failure\n"
    )
    got = both(store).lives
    rows = got.select("entry", "low", "high", "candidates", "at_risk").rows()
    born, enrolled = date(2000, 1, 1), date(2005, 1, 1)
    start, first, second = (
        float((d - born).days) for d in (enrolled, date(2010, 1, 1), date(2015, 1, 1))
    )
    assert rows[0] == (start, first, first, ["C1"], None)
    assert sorted(rows[1:], key=lambda r: r[4]) == [
        (first, second, None, None, ["C10"]),
        (first, second, second, ["C2"], ["C2"]),
    ]


FEW = "".join(
    f"{u},20{y:02d}-05-01,failed,capacitor,{c},\n{u},20{y:02d}-06-01,recapped,,{r},failure\n"
    for u, y, c, r in (
        ("A", 10, "C2", "all"),
        ("B", 11, "C2", "all"),
        ("C", 12, "C1", "all"),
        ("D", 12, "", "C1;C2"),
        ("E", 13, "", "all"),
    )
) + "".join(f"G{i},2014-01-01,working,,,\n" for i in range(6))


@pytest.mark.parametrize("seed", range(6))
def test_machines_without_a_named_position_need_no_lives_by_position(make, seed):
    rng = random.Random(seed)
    told = [
        ("working", "", ""), ("working", "", ""), ("failed", "capacitor", ""),
        ("failed", "", ""), ("failed", "other", ""), ("repaired", "", ""),
        ("recapped", "", "planned"), ("recapped", "", "failure"), ("recapped", "", "reading"),
        ("board_swapped", "", ""),
    ]  # fmt: skip
    lines = []
    for unit in range(120):
        named = unit % 4 == 0
        days = sorted(rng.sample(range(2006 * 12, 2026 * 12), rng.randint(1, 6)))
        for day in days:
            kind, cause, because = rng.choice(told)
            able = kind in ("failed", "recapped") and cause != "other"
            places = rng.choice(["C1", "C2;C10", "C10"]) if named and able else ""
            places = "all" if able and not places and rng.random() < 0.3 else places
            date_told = f"{day // 12}-{day % 12 + 1:02}-03"
            lines.append(f"U{unit:03},{date_told},{kind},{cause},{places},{because}\n")
    units = [
        f"U{u:03},{rng.choice('MN')},{rng.choice(['2000-01-01', '1999', '2001-03'])},2005-06-01,"
        f"{rng.choice(['working', 'working', 'failed'])}"
        for u in range(120)
    ]
    store = make("".join(lines), units=units, positions=SPOTS + "N,C1,100uF,25,0.1\n")
    known = known_records(store, READ, as_of=AS_OF)
    records = known_records(store, ("positions", "units", "reports", "readings"), as_of=AS_OF)
    boards = lives(store, as_of=AS_OF, settings=Settings()).lives
    every = lives(store, as_of=AS_OF, settings=Settings(by_position=True)).lives
    some = lives_of_named(known, as_of=AS_OF, settings=Settings())
    assert 0 < some.height < every.height
    whole, quick = (position_lives(boards, each, records) for each in (every, some))
    assert whole.lives.height > boards.height
    assert quick.lives.equals(whole.lives)
    assert quick.positions.equals(whole.positions)


def test_shares_by_hand_and_what_is_said(make):
    """Sets {2} {2} {1} {1,2} and any: with one failure spread evenly the top solves
    p1 (1 + 1/3 + p1/(p1+p2)) ... and C10 keeps a third of one, of five and one.
    """
    answer = which_position(make(FEW), as_of=AS_OF)
    frame = answer.frame.sort("position")
    assert frame.schema == POSITIONS
    share = dict(frame.select("position", "share").rows())
    # the failure that any may have had is shared as the shares are, so it settles nothing:
    # of 4 and 1 pulled in, C10 has 1/3 of 5; {1,2} splits C1 and C2 as 4/3 to 7/3
    assert share["C10"] == pytest.approx(1 / 15, rel=1e-6)
    assert share["C1"] / share["C2"] == pytest.approx(4 / 7, rel=1e-6)
    failures = dict(frame.select("position", "failures").rows())
    assert failures["C1"] == pytest.approx(1 + 4 / 11 + share["C1"], rel=1e-6)
    assert sum(failures.values()) == pytest.approx(5.0)
    assert frame["candidates"].to_list() == [3.0, 1.0, 4.0]
    assert frame["certain"].to_list() == [1.0, 0.0, 2.0]
    assert answer.frame["position"][0] == "C2"
    words = " ".join(answer.notes)
    assert "Of 5 failures of the M about 3 were at C2 (between 2 and 4), about 2 at C1" in words
    assert "the faulty one is among those replaced" in words
    assert "whichever was at fault" in words
    assert "does not hang on how long the parts last" in words
    assert answer.notes.count(CAUTION) == 1


def test_one_failure_of_one_never_tops_the_list(make):
    units = [f"{u},M,2000-01-01,2005-01-01,working" for u in "ABCDEG"]
    more = "".join(
        f"{u},20{y}-05-01,failed,capacitor,{c},\n{u},20{y}-06-01,recapped,,all,failure\n"
        for u, y, c in (
            ("A", 10, "C2"), ("B", 11, "C2"), ("C", 12, "C1"), ("D", 12, "C2"), ("E", 13, "C10"),
        )
    )  # fmt: skip
    lone = "Z,2011-05-01,failed,capacitor,K1,\nZ,2011-06-01,recapped,,all,failure\n"
    store = make(
        more + lone + "G,2014-01-01,working,,,\nY,2014-01-01,working,,,\n",
        units=[*units, *(f"{u},N,2000-01-01,2005-01-01,working" for u in "YZ")],
        positions=SPOTS + "N,K1,,,\nN,K2,,,\n",
    )
    answer = which_position(store, as_of=AS_OF)
    assert answer.frame["position"][0] == "C2"
    row = answer.frame.filter(position="K1").row(0, named=True)
    assert row["share"] == pytest.approx(0.75)
    assert row["verdict"] == "too few failures"
    assert any("Of 1 failure of the N, 1 at K1: too few to rank" in note for note in answer.notes)


def test_always_replaced_together_is_said(make):
    everything = "".join(
        f"{u},201{i}-05-01,failed,capacitor,,\n{u},201{i}-06-01,recapped,,all,failure\n"
        for i, u in enumerate("ABCD")
    )
    answer = which_position(make(everything + "G,2015-01-01,working,,,\n"), as_of=AS_OF)
    assert answer.frame["position"].to_list() == ["C1;C2;C10"]
    assert answer.frame["verdict"].to_list() == ["not told apart"]
    assert any("nobody can say at which of C1, C2 and C10" in note for note in answer.notes)


def test_models_without_known_positions_are_named(make):
    store = make(
        "A,2010-05-01,failed,capacitor,,\nA,2010-06-01,recapped,,all,failure\n",
        units=["A,N,2000-01-01,2005-01-01,working"],
    )
    answer = which_position(store, as_of=AS_OF)
    assert answer.frame.is_empty()
    assert any("No position of N is known" in note for note in answer.notes)


def test_a_store_without_failures_answers_nothing(make):
    answer = which_position(make("A,2010-05-01,working,,,\n"), as_of=AS_OF)
    assert answer.frame["failures"].to_list() == [0.0] * 3
    assert answer.frame["share"].to_list() == [None] * 3


def test_rows_for_the_list_of_suspects(make):
    frame = which_position(make(FEW), as_of=AS_OF).frame
    rows = position_rows(frame)
    assert rows["level"].unique().to_list() == ["position"]
    assert rows["name"].to_list() == frame["position"].to_list()
    row, shape = rows.row(0, named=True), frame["shape"][0]
    # C2 takes 42 % where a third would be even: it lasts (0.333 / 0.42)^(1 / shape) as long
    assert row["effect"] == pytest.approx((1 / 3 / frame["share"][0]) ** (1 / shape))
    assert row["effect_low"] < row["effect"] < row["effect_high"]
    assert "4 of 5 failures suspect it, 2 of it alone" in row["reason"]


def test_one_known_position_is_not_ranked(make):
    reports = "A,2010-05-01,failed,capacitor,C7,\nB,2011-05-01,failed,capacitor,C7,\n"
    answer = which_position(make(reports, positions="model,position\n"), as_of=AS_OF)
    assert position_rows(answer.frame).is_empty()
    assert (
        "Of 2 failures of the M nothing can be ranked: C7 is the only position known; list its "
        "capacitors in positions"
    ) in answer.notes


def test_demo_positions_come_out_as_they_were_made(demo_store):
    """The demo's makers weighed positions (truth.json): the heaviest leads in three models."""
    answer = which_position(demo_store, as_of=date(2026, 6, 30))
    for model, weight in (("DQ31", 0.35), ("BZ62", 0.4), ("WQ18", 0.3)):
        row = answer.frame.filter(model=model, position="C1").row(0, named=True)
        assert row["share"] == answer.frame.filter(model=model)["share"].max()
        assert row["share_low"] < weight < row["share_high"]
        assert row["verdict"] == "shorter life"
