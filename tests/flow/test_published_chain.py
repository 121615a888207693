"""A published set through the whole chain: files, store, lives, fit."""

import json
from datetime import date, timedelta

import polars as pl
import pytest

from fleet.flow.answers import lives, survival, weibull
from fleet.flow.entering import create_store
from fleet.flow.importing import import_files

START = date(1980, 1, 1)


def _write_as_records(folder, rows):
    """Each row one machine new and seen from 1980-01-01, one hour of life read as one day."""
    units, reports = [], []
    for n, row in enumerate(rows.iter_rows(named=True)):
        name = f"F-{n:03}"
        units.append(f"{name},FAN,{START},{START},working")
        end = START + timedelta(days=row["low"])
        if row["high"] is None:
            reports.append(f"{name},{end},working,")
        else:
            reports.append(f"{name},{end},failed,capacitor")
    head = "unit,model,manufactured,enrolled_on,enrolled_because"
    (folder / "units.csv").write_text("\n".join([head, *units]) + "\n")
    (folder / "reports.csv").write_text("\n".join(["unit,date,kind,cause", *reports]) + "\n")


@pytest.mark.shared
def test_diesel_fans_come_back_with_their_published_fit(tmp_path, shared):
    # Meeker and Escobar, Statistical Methods for Reliability Data, 1998: 70 diesel-engine fans;
    # expected values as computed in the reference file (R survival 3.5.3).
    rows = pl.read_csv(shared / "reference" / "genfan.csv")
    expected = json.loads((shared / "reference" / "expected.json").read_text())
    want = expected["genfan"]["fits"]["all"]
    folder, store = tmp_path / "records", tmp_path / "fans.duckdb"
    folder.mkdir()
    _write_as_records(folder, rows)
    create_store(store)
    done = import_files(store, [folder], today=date(2026, 6, 30), by=None)
    assert done.counts["kept"].sum() == 140
    table = lives(store, as_of=date(2026, 6, 30))
    assert table.lives["count"].sum() == 70

    fit = weibull(table).frame.row(0, named=True)
    assert fit["model"] == "FAN"
    assert fit["failures"] == 12
    for ours, theirs in (("shape", "beta"), ("scale", "eta"), ("b10", "b10")):
        assert fit[ours] == pytest.approx(want["weibull"][theirs], rel=1e-6)
        low, high = want["weibull"]["ci95_profile"][theirs]
        assert fit[f"{ours}_low"] == pytest.approx(low, rel=1e-5)
        assert fit[f"{ours}_high"] == pytest.approx(high, rel=1e-5)
    assert fit["log_likelihood"] == pytest.approx(want["weibull"]["loglik"], abs=1e-6)

    points = survival(table).frame
    for point in want["km"]:
        reached = points.filter(pl.col("age") <= point["age"])
        got = reached["survival"][-1] if reached.height else 1.0
        assert got == pytest.approx(point["S"], abs=1e-10)


def test_a_small_published_table_comes_back(tmp_path):
    # NIST/SEMATECH e-Handbook 8.2.1.5: 20 units; failures at 10, 32, 56, 98, 122, 181 h; removed
    # unfailed at 50, 100, 125, 150 and ten at 200 h. Estimates are the products given there:
    # 19/20, 18/20, 18/20 x 16/17, ... An hour is read as a day.
    failed, removed = [10, 32, 56, 98, 122, 181], [50, 100, 125, 150] + 10 * [200]
    rows = pl.DataFrame(
        {"low": failed + removed, "high": [*failed, *(None for _ in removed)]},
        schema={"low": pl.Int64, "high": pl.Int64},
    )
    folder, store = tmp_path / "records", tmp_path / "nist.duckdb"
    folder.mkdir()
    _write_as_records(folder, rows)
    create_store(store)
    import_files(store, [folder], today=date(2026, 6, 30), by=None)
    points = survival(lives(store, as_of=date(2026, 6, 30))).frame.filter(pl.col("failures") > 0)
    assert points["age"].to_list() == failed
    steps = [19 / 20, 18 / 19, 16 / 17, 15 / 16, 13 / 14, 10 / 11]
    product = 1.0
    for step, got in zip(steps, points["survival"], strict=True):
        product *= step
        assert got == pytest.approx(product, abs=1e-12)
