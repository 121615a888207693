"""The README's pictures, made anew from the demo: some pages as they are now.

    python tests/dashboards/readme_pictures.py

Each is cut where its page has shown what it is for, and written with few colours, so that it stays
small.
"""

import sys
import tempfile
from pathlib import Path

import conftest
import serving
import watching
from PIL import Image
from playwright.sync_api import sync_playwright

from fleet.flow.demo import build_demo

FOLDER = serving.REPOSITORY / ".pictures"
# File, look, address, and how far down the page is shown, in pixels.
PICTURES = (
    ("today", "light", "", 1440),
    ("curves", "light", "curves", 1530),
    ("suspects", "light", "suspects", 1450),
    ("log", "phone", "log?unit=S-075&log_kind=failed", 1215),
)
_COLOURS = 128


def main():
    """Serve a demo, open each page and keep its picture."""
    with tempfile.TemporaryDirectory() as folder:
        store = Path(folder) / "demo.duckdb"
        build_demo(store)
        with serving.served("--store", store) as address, sync_playwright() as playwright:
            browser = playwright.chromium.launch(
                executable_path=conftest.chromium_path(), args=conftest.BROWSER_ARGUMENTS
            )
            for name, look, path, height in PICTURES:
                watched = watching.Watched(watching.new_context(browser, look).new_page(), address)
                watched.open(path)
                whole = watching.take_picture(watched.page, Path(folder), name)
                sys.stdout.write(f"{name}: {_cut(whole, height):,} bytes\n")
            browser.close()


def _cut(whole, height):
    """The upper part of a picture with few colours, in the folder of the README's; its bytes."""
    with Image.open(whole) as picture:
        part = picture.convert("RGB").crop((0, 0, picture.width, min(height, picture.height)))
    file = FOLDER / whole.name
    part.quantize(_COLOURS, dither=Image.Dither.NONE).save(file, optimize=True)
    return file.stat().st_size


if __name__ == "__main__":
    main()
