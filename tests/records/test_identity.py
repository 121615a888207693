"""Content hashes and ids. The text hashed is worked out by hand."""

import hashlib

from fleet.records import content_hash, identify

REPORT = {"unit": "A1", "date": "2020-05-04", "kind": "failed"}


def digest(text):
    return hashlib.blake2b(text.encode(), digest_size=16).hexdigest()


def test_content_by_hand(cleaned):
    kept = cleaned(
        "reports",
        {**REPORT, "found_dead": "Y", "source": "S", "supersedes": "r-1", "notes": "a\r\nb"},
        {"record": "x", "entered_on": "2021-01-01", "by": "me", **REPORT},
    ).kept
    parts = ["reports", "unit=A1", "date=2020-05-04", "kind=failed"]
    full = [*parts, "found_dead=yes", "notes=a\nb", "source=S", "supersedes=r-1"]
    assert content_hash(kept, "reports").to_list() == [
        digest("\x1f".join(full)),
        digest("\x1f".join(parts)),
    ]


def test_numbers_by_their_shortest_digits(cleaned):
    kept = cleaned(
        "units",
        {"unit": "A", "model": "M", "hours_per_year": "1000.0", "ambient_c": "0.1"},
        {"unit": "A", "model": "M", "hours_per_year": "1e3", "ambient_c": "0.10"},
    ).kept
    text = "units\x1funit=A\x1fmodel=M\x1fhours_per_year=1000\x1fambient_c=0.1"
    assert content_hash(kept, "units").to_list() == [digest(text)] * 2


def test_a_blank_sheet_of_shop_has_a_hash(cleaned):
    assert content_hash(cleaned("shop", {"by": "me"}).kept, "shop").to_list() == [digest("shop")]


def test_ids_are_made_from_the_content_or_kept(cleaned):
    kept = cleaned("reports", REPORT, {**REPORT, "record": "mine"}, REPORT).kept
    result = identify(kept, "reports")
    content = result.kept["content"][0]
    assert result.kept["record"].to_list() == [f"r-{content[:16]}", "mine", f"r-{content[:16]}"]
    assert result.rejected.height == 0


def test_an_id_for_two_contents_is_refused(cleaned):
    kept = cleaned(
        "reports",
        {**REPORT, "record": "mine"},
        {**REPORT, "record": "mine"},
        {**REPORT, "record": "mine", "notes": "other"},
    ).kept
    result = identify(kept, "reports")
    assert result.kept.height == 2
    assert "another row has the id mine and says something else" in result.rejected["reason"][0]
    assert result.rejected["line"].to_list() == [4]
