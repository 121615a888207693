"""A recap that names every place on record renews the whole set, as `all` does."""

from datetime import date

import pytest

AS_OF = date(2025, 1, 1)


def parts_after(new_book, positions, places=("C1", "C2", "C3"), safety=()):
    """Kinds of parts of the sets of a machine recapped at these positions."""
    book = new_book()
    for place in places:
        book.add("positions", model="M", position=place)
    for place in safety:
        book.add("positions", model="M", position=place, safety_class="X2")
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2010-01-01", "recapped", positions=positions, because="planned")
    book.report("2020-01-01", "working")
    return book.build(AS_OF).lives["parts"].to_list()


@pytest.mark.parametrize("text", ["all", None, "C1;C2;C3", "c3; C1 ;C2", "C1;C2;C3;C9"])
def test_every_place_named_is_the_whole_set(new_book, text):
    assert parts_after(new_book, text) == ["original", "replaced_unknown"]


@pytest.mark.parametrize("text", ["C1", "C1;C2", "C1;C9"])
def test_fewer_are_not(new_book, text):
    assert parts_after(new_book, text)[-1] == "partial"


def test_safety_capacitors_need_not_be_named(new_book):
    assert parts_after(new_book, "C1;C2;C3", safety=["C90"]) == ["original", "replaced_unknown"]


@pytest.mark.parametrize("places", [(), ("C7",)])
def test_a_board_that_nobody_described_is_not_taken_for_whole(new_book, places):
    """One place on record is the culprit somebody looked at, not a list of the board."""
    assert parts_after(new_book, "C7;C8", places=places)[-1] == "partial"


def test_places_entered_later_were_not_known_before(new_book):
    book = new_book()
    for place in ("C1", "C2"):
        book.add("positions", model="M", position=place, entered_on="2015-01-01")
    book.unit(manufactured="2000-01-01", enrolled_on="2000-01-01")
    book.report("2010-01-01", "recapped", positions="C1;C2", because="planned")
    assert book.build(date(2012, 1, 1)).lives["parts"].to_list()[-1] == "partial"
    assert book.build(AS_OF).lives["parts"].to_list()[-1] == "replaced_unknown"
