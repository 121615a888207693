"""A photo taken beside the machine, kept with the report, in real Chromium at a phone's width."""

import io
import re

import pytest
from PIL import Image

from fleet.flow.photos import image, photos_of

pytestmark = [pytest.mark.browser, pytest.mark.slow]

_PATIENCE = 60_000  # ms
_CAMERA, _WHEN = 0x010F, 0x0132  # tags of the Exif standard: maker, date and time


def photo():
    """A JPEG as a camera writes it: larger than what is kept, with words about the camera."""
    out = io.BytesIO()
    tags = Image.Exif()
    tags[_CAMERA], tags[_WHEN] = "a camera", "2026:11:01 10:00:00"
    Image.new("RGB", (2400, 1200), "navy").save(out, "JPEG", exif=tags)
    return out.getvalue()


@pytest.fixture
def page(browser, server):
    context = browser.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    page.set_default_timeout(_PATIENCE)
    page.faults = []
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    page.address = server
    yield page
    context.close()


def settle(page):
    page.wait_for_timeout(400)
    page.wait_for_selector("[data-testid='stApp'][data-test-script-state='notRunning']")


def give(page, name, kind, data):
    page.locator("input[type=file]").first.set_input_files(
        {"name": name, "mimeType": kind, "buffer": data}
    )
    settle(page)


def test_a_photo_is_refused_or_kept_small_and_shown_with_words(page, demo_store, working_unit):
    unit = working_unit[0]
    page.goto(f"{page.address}/log?unit={unit}&log_kind=working")
    page.wait_for_selector("h1")
    page.get_by_text("Photos (JPEG, PNG or WebP, 10 MB each at most)").first.wait_for()
    settle(page)
    give(page, "note.jpg", "image/jpeg", b"no picture at all")
    page.get_by_text(re.compile("note.jpg cannot be read as a picture")).first.wait_for()
    settle(page)
    assert page.get_by_role("button", name="Save the report").is_disabled()
    page.get_by_role("button", name="Remove note.jpg").first.click()
    page.get_by_text(re.compile("note.jpg cannot be read")).first.wait_for(state="detached")

    give(page, "board.jpg", "image/jpeg", photo())
    page.get_by_text("board.jpg").first.wait_for()
    settle(page)
    page.get_by_role("button", name="Save the report").click()
    page.get_by_text(re.compile(f"Recorded: {unit}.*With 1 photo")).first.wait_for()
    shown = page.get_by_role("img", name=re.compile(f"Photo of {unit}, seen working"))
    shown.first.wait_for()

    kept = photos_of(demo_store, unit=unit)
    assert kept.select("width", "height", "file_name").rows() == [(2000, 1000, "board.jpg")]
    with Image.open(io.BytesIO(image(demo_store, kept["image"][0]))) as found:
        assert found.format == "JPEG"
        assert not found.getexif()

    settle(page)
    page.get_by_role("button", name="Take them back").or_(
        page.get_by_role("button", name="Take it back")
    ).first.click()
    page.get_by_text(re.compile("Taken back")).first.wait_for()
    assert photos_of(demo_store, unit=unit).is_empty()
    assert page.faults == []
