"""Life table files."""

from pathlib import Path

import polars as pl
import pytest

from fleet.errors import BadInput
from fleet.frames import LIFE, check_frame
from fleet.lives import read_life_file

SHARED = Path(__file__).resolve().parents[3] / "shared" / "reference"


def write(path, text, **more):
    path.write_text(text, **more)
    return path


def test_missing_columns_are_taken_for_granted_and_said(tmp_path):
    file = read_life_file(write(tmp_path / "a.csv", "low,high,group\n5,5,1\n7,,2\n"))
    assert file.lives.rows() == [(0, 5, 5, None, 1, "1"), (0, 7, None, None, 1, "2")]
    assert [n.split(": ")[0] for n in file.notes] == [
        "a.csv has no column entry",
        "a.csv has no column known_by",
        "a.csv has no column count",
    ]


def test_semicolons_and_byte_order_mark(tmp_path):
    path = write(tmp_path / "a.csv", "low;high;count\n5;6;2\n", encoding="utf-8-sig")
    assert read_life_file(path).lives.rows() == [(0, 5, 6, None, 2)]


def test_parquet_keeps_whole_groups_whole(tmp_path):
    pl.DataFrame({"low": [1, 2], "high": [1, None], "year": [1998, 1999]}).write_parquet(
        tmp_path / "a.parquet"
    )
    lives = read_life_file(tmp_path / "a.parquet").lives
    assert lives["year"].to_list() == ["1998", "1999"]
    check_frame(lives, LIFE, name="life")


def test_row_without_exposure_is_kept_and_said(tmp_path):
    file = read_life_file(write(tmp_path / "a.csv", "entry,low,high\n5,5,\n0,0,3\n"))
    assert file.lives.height == 2
    assert "1 row ends where it begins, still good: kept, tells nothing" in file.notes


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ("3,3,3,,1", "entry, low and high are the same"),
        ("0,5,4,,1", "high is below low"),
        ("6,5,7,,1", "low is below entry"),
        ("-1,5,7,,1", "entry is below 0"),
        ("0,5,7,6,1", "known_by is below high"),
        ("0,5,,9,1", "known_by stands without high"),
        ("0,5,5,,0", "count is not above 0"),
        ("0,5,5,,-2", "count is not above 0"),
        ("0,,5,,1", "low is empty"),
        ("0,nan,5,,1", "low is nan, which is no finite number"),
        ("0,5,inf,,1", "high is inf, which is no finite number"),
        ("0,5,old,,1", "high is old, which is no finite number"),
    ],
)
def test_rows_that_are_no_lives_are_named(tmp_path, row, fault):
    path = write(tmp_path / "a.csv", f"entry,low,high,known_by,count\n0,9,9,,1\n{row}\n")
    with pytest.raises(BadInput, match=fault) as error:
        read_life_file(path)
    assert "a.csv, row 2 (line 3)" in str(error.value)


@pytest.mark.parametrize(
    ("name", "text", "fault"),
    [
        ("a.csv", "", "is empty"),
        ("a.csv", "age,failed\n1,2\n", "has no column low"),
        ("a.docx", "x", "is neither CSV nor Parquet"),
        ("a.parquet", "x", "cannot be read as Parquet"),
    ],
)
def test_files_that_are_no_life_tables(tmp_path, name, text, fault):
    with pytest.raises(BadInput, match=fault):
        read_life_file(write(tmp_path / name, text))


def test_no_such_file(tmp_path):
    with pytest.raises(BadInput, match="there is no file"):
        read_life_file(tmp_path / "none.csv")


@pytest.mark.shared
@pytest.mark.skipif(not SHARED.is_dir(), reason="the published data sets are not beside the repo")
def test_published_sets_read_whole():
    files = sorted(SHARED.glob("*.csv"))
    assert files
    for path in files:
        lives = read_life_file(path).lives
        check_frame(lives, LIFE, name=path.stem)
        assert lives.height == len(path.read_text().splitlines()) - 1
