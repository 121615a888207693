"""Photos: made safe, kept once, taken back with their report, out and in again."""

import hashlib
import io
import struct
import zlib
from datetime import date

import pytest
from PIL import Image

from fleet import store as st
from fleet.errors import BadInput, NotKnown
from fleet.flow.copies import export_store
from fleet.flow.entering import add_record, amend_record, log_reports, take_back
from fleet.flow.importing import import_files, list_rejects, look_at_files
from fleet.flow.photos import image, keep_photo, photos_of
from fleet.flow.pictures import LONGEST_SIDE, MOST_PIXELS, read_picture

DAY = date(2026, 5, 1)


def picture(size=(60, 40), form="PNG", mode="RGB", **more):
    out = io.BytesIO()
    Image.new(mode, size, more.pop("colour", None) or "navy").save(out, form, **more)
    return out.getvalue()


@pytest.fixture
def club(tmp_path):
    path = tmp_path / "club.duckdb"
    st.create(path)
    add_record(path, "models", {"model": "BM-2"}, today=DAY, by=None)
    for unit in ("A", "B"):
        add_record(path, "units", {"unit": unit, "model": "BM-2"}, today=DAY, by=None)
    return path


@pytest.fixture
def report(club):
    return log_reports(club, "failed", ["A"], {"date": "2026-04-02"}, today=DAY, by="ann").records[
        0
    ]


def test_a_photo_is_kept_as_a_small_jpeg_without_metadata(club, report):
    exif = Image.Exif()
    exif[0x0112] = 6  # turned a quarter
    exif[0x010F] = "secret camera"
    given = picture((4000, 1000), "JPEG", exif=exif, comment=b"secret place")
    keep_photo(club, report, given, "C:/dir/my photo.JPG", DAY, "ann")
    (row,) = photos_of(club, unit="A").to_dicts()
    assert (row["report"], row["file_name"], row["by"], row["entered_on"]) == (
        report,
        "my photo.JPG",
        "ann",
        DAY,
    )
    assert (row["width"], row["height"]) == (500, LONGEST_SIDE)
    kept = image(club, row["image"])
    assert hashlib.sha256(kept).hexdigest() == row["image"]
    assert b"secret" in given
    assert b"secret" not in kept
    with Image.open(io.BytesIO(kept)) as read:
        assert (read.format, read.size) == ("JPEG", (500, LONGEST_SIDE))
        assert not read.getexif()


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP", "MPO"])
def test_the_forms_that_phones_and_browsers_write(form):
    read = read_picture(picture((30, 20), form), f"x.{form}")
    assert (read.width, read.height) == (30, 20)


def test_what_one_could_see_through_is_white(club, report):
    clear = picture((28, 28), "PNG", "RGBA", colour=(0, 0, 0, 0))
    keep_photo(club, report, clear, "x.png", DAY, None)
    kept = image(club, photos_of(club)["image"][0])
    assert min(Image.open(io.BytesIO(kept)).getpixel((4, 4))) > 250


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "cannot be read as a picture"),
        (b"<svg onload='x()'/>", "cannot be read as a picture"),
        (picture()[:60], "cannot be read as a picture"),
        (picture(form="JPEG")[:-200], "cannot be read as a picture"),
        (b"x" * 10_000_001, "at most 10 MB"),
    ],
)
def test_what_is_no_picture_is_refused_in_a_sentence(club, report, data, said):
    before = st.stamp(club)
    with pytest.raises(BadInput, match=said) as refused:
        keep_photo(club, report, data, "x.png", DAY, None)
    assert "x.png" in str(refused.value)
    assert "\n" not in str(refused.value)
    assert st.stamp(club) == before


def test_a_small_file_that_would_fill_the_memory_is_refused_undecoded(club, report):
    side = int(MOST_PIXELS**0.5) + 10
    bomb = picture((side, side), "PNG", "1", colour=1)
    assert len(bomb) < 100_000
    with pytest.raises(BadInput, match="60 million"):
        keep_photo(club, report, bomb, "bomb.png", DAY, None)


def _header(width, height):
    """A PNG that says its size, and holds nothing yet."""

    def chunk(name, data):
        crc = struct.pack(">I", zlib.crc32(name + data))
        return struct.pack(">I", len(data)) + name + data + crc

    size = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", size) + chunk(b"IDAT", zlib.compress(b""))


@pytest.mark.parametrize(
    ("size", "said"),
    [
        ((30_000, 30_000), "30,000 x 30,000 pixels; at most 60 million"),
        ((10_000, 10_000), "10,000 x 10,000 pixels; at most 60 million"),
        ((15, 400), "15 x 400 pixels, too small .* at least 16 on each side"),
    ],
)
def test_a_picture_of_an_odd_size_is_refused_with_its_size_and_the_limit(size, said):
    with pytest.raises(BadInput, match=said):
        read_picture(_header(*size), "odd.png")


def test_a_photo_of_no_report_is_refused(club, report):
    with pytest.raises(NotKnown, match="no record's id begins with"):
        keep_photo(club, "r-none", picture(), "x.png", DAY, None)
    unit = st.known(club, ["units"])["units"]["record"][0]
    with pytest.raises(NotKnown, match="is no report"):
        keep_photo(club, unit, picture(), "x.png", DAY, None)
    take_back(club, [report], today=DAY, by=None)
    with pytest.raises(NotKnown, match="was taken back"):
        keep_photo(club, report, picture(), "x.png", DAY, None)


def test_one_picture_is_held_once_however_many_photos_show_it(club, report):
    other = log_reports(club, "working", ["B"], {"date": "2026-04-03"}, today=DAY, by=None)
    first = keep_photo(club, report, picture(), "x.png", DAY, None)
    assert keep_photo(club, report, picture(), "x.png", DAY, None) == first
    second = keep_photo(club, other.records[0], picture(), "y.png", DAY, None)
    assert second != first
    found = photos_of(club)
    assert found.height == 2
    assert found["image"].n_unique() == 1
    counts = st.backup(club, club.with_name("kept.duckdb"))
    assert dict(counts.rows())["photos"] == 2
    assert image(club.with_name("kept.duckdb"), found["image"][0]) == image(club, found["image"][0])


def test_a_photo_follows_corrections_and_goes_with_its_report(club, report):
    keep_photo(club, report, picture(), "1.png", DAY, None)
    second = amend_record(club, report, {"symptom": "hums"}, today=DAY, by=None).records[0]
    keep_photo(club, second, picture((29, 29)), "2.png", DAY, None)
    assert photos_of(club, unit="A")["report"].to_list() == [second, second]
    assert photos_of(club, reports=[report]).height == 2
    assert photos_of(club, reports=[second]).height == 2
    assert photos_of(club, unit="B").is_empty()
    take_back(club, [second], today=DAY, by=None)
    assert photos_of(club, unit="A")["report"].to_list() == [report, report]
    assert take_back(club, [report], today=DAY, by=None) == 3
    assert photos_of(club).is_empty()
    # nothing is deleted
    assert st.history(club, "photos")["withdrawn_by"].null_count() == 0


def test_an_undo_of_an_import_takes_photos_added_later_with_it(club, tmp_path):
    file = tmp_path / "reports.csv"
    file.write_text("unit,date,kind\nA,2026-03-01,failed\n")
    done = import_files(club, [file], today=DAY, by=None)
    (record,) = st.known(club, ["reports"])["reports"]["record"]
    keep_photo(club, record, picture(), "1.png", DAY, None)
    st.withdraw(club, import_id=done.import_id, today=DAY, by=None)
    assert photos_of(club).is_empty()


@pytest.fixture
def out(club, report, tmp_path):
    keep_photo(club, report, picture(), "1.png", DAY, None, notes="the big one")
    gone = keep_photo(club, report, picture((27, 27)), "2.png", DAY, None)
    take_back(club, [gone], today=DAY, by=None)
    folder = tmp_path / "out"
    export_store(club, folder, photos=True, today=DAY)
    return folder


def test_an_export_leaves_photos_out_unless_asked_for(club, out, tmp_path):
    plain = export_store(club, tmp_path / "plain", today=DAY)
    assert not any("photo" in p.name for p in (tmp_path / "plain").rglob("*"))
    assert "2 photos were left out" in plain.notes[0]
    assert sorted(p.suffix for p in (out / "photos").iterdir()) == [".jpg", ".jpg"]
    fresh = tmp_path / "fresh.duckdb"
    st.create(fresh)
    done = import_files(fresh, [tmp_path / "plain"], today=DAY, by=None)
    assert done.rejected.is_empty()


@pytest.mark.parametrize("form", ["csv", "xlsx", "parquet"])
def test_photos_go_out_and_come_back(club, out, tmp_path, form):
    folder = tmp_path / form
    export_store(club, folder, photos=True, form=form, today=DAY)
    fresh = tmp_path / "fresh.duckdb"
    st.create(fresh)
    assert look_at_files(fresh, [folder], today=DAY, by=None).kept["photos"].height == 2
    done = import_files(fresh, [folder], today=DAY, by=None)
    assert done.rejected.is_empty()
    assert photos_of(fresh).equals(photos_of(club))
    for sha256 in st.history(club, "photos")["image"]:
        assert image(fresh, sha256) == image(club, sha256)
    again = import_files(fresh, [folder], today=DAY, by=None)
    assert again.import_id is None


def test_pictures_that_are_missing_or_changed_are_refused_row_by_row(club, out, tmp_path):
    one, two = sorted((out / "photos").iterdir())
    one.write_bytes(two.read_bytes())
    two.unlink()
    fresh = tmp_path / "fresh.duckdb"
    st.create(fresh)
    import_files(fresh, [out], today=DAY, by=None)
    reasons = " ".join(list_rejects(fresh, None)["reason"])
    assert "it was changed" in reasons
    assert "is not there; put it there" in reasons
    assert photos_of(fresh).is_empty()


def test_a_picture_with_more_in_it_is_refused(club, report, tmp_path):
    exif = Image.Exif()
    exif[0x010F] = "secret camera"
    data = picture((25, 25), "JPEG", exif=exif)
    sha256 = hashlib.sha256(data).hexdigest()
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / f"{sha256}.jpg").write_bytes(data)
    (tmp_path / "photos.csv").write_text(
        f"report,unit,image,width,height\n{report},A,{sha256},25,25\nr-none,A,{sha256},25,25\n"
        f"{report},A,../../x,5,5\n"
    )
    done = import_files(club, [tmp_path / "photos.csv"], today=DAY, by=None)
    assert done.counts["kept"].sum() == 0
    first, second, third = done.rejected.sort("line")["reason"]
    assert "carries more than the picture" in first
    assert "there is no report r-none" in second
    assert "is not there" in third


def test_a_report_and_its_photos_are_kept_together_or_not_at_all(club):
    told = {"date": "2026-04-02"}
    with pytest.raises(BadInput, match="cannot be read"):
        log_reports(
            club, "failed", ["A"], told, today=DAY, by=None,
            photos=[(picture(), "1.png"), (b"no", "2.png")],
        )  # fmt: skip
    assert st.known(club, ["reports"])["reports"].is_empty()
    done = log_reports(
        club, "failed", ["A"], told, today=DAY, by="ann",
        photos=[(picture(), "1.png"), (picture((25, 25)), "2.png")],
    )  # fmt: skip
    found = photos_of(club, reports=done.records)
    assert found["record"].to_list() == list(done.photos)
    assert found["file_name"].to_list() == ["1.png", "2.png"]
