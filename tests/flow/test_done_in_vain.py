"""A recap that did not cure, where failures are counted again and positions suspected."""

from datetime import date

import polars as pl
import pytest

from fleet.flow.answers import READ, lives
from fleet.flow.culprits import culprits
from fleet.flow.entering import create_store
from fleet.flow.importing import import_files
from fleet.flow.known import known_records
from fleet.flow.repeated import machine_histories

NOW = date(2015, 1, 1)


@pytest.fixture
def store(tmp_path):
    """A function that makes a store of one machine of M that failed; then a recap of C1 as told."""

    def made(cured, *later):
        tables = {
            "models": ["model", "M"],
            "units": ["unit,model,manufactured,enrolled_on,enrolled_because",
                      "u,M,2000-01-01,2000-01-01,working"],
            "reports": ["unit,date,kind,because,cured,positions,cause",
                        "u,2010-01-01,failed,,,,capacitor",
                        f"u,2010-02-01,recapped,failure,{cured},C1,", *later],
        }  # fmt: skip
        files = []
        for kind, lines in tables.items():
            files.append(tmp_path / f"{kind}.csv")
            files[-1].write_text("\n".join(lines) + "\n")
        path = tmp_path / "small.duckdb"
        create_store(path)
        assert import_files(path, files, today=NOW, by=None).rejected.is_empty()
        return path

    return made


@pytest.mark.parametrize(("cured", "failures"), [("", 2), ("no", 1)])
def test_failing_still_is_not_failing_again(store, cured, failures):
    path = store(cured, "u,2010-03-01,failed,,,,capacitor", "u,2010-04-01,working,,,,")
    rows = machine_histories(path, as_of=NOW).lives
    assert rows.filter(pl.col("high").is_not_null()).height == failures


@pytest.mark.parametrize(("cured", "told"), [("", (["C1"], "replaced")), ("no", (None, "nothing"))])
def test_positions_replaced_in_vain_are_no_suspects(store, cured, told):
    path = store(cured)
    table = lives(path, as_of=NOW)
    reports = known_records(path, READ, as_of=NOW)["reports"]
    assert culprits(table.lives, reports).select("candidates", "told").row(0) == told
