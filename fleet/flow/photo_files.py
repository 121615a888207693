"""Photos as files: pictures in a folder `photos` beside the record files, and back from there."""

import shutil
from collections.abc import Mapping, Sequence
from pathlib import Path

import polars as pl

from fleet.errors import BadInput

FOLDER = "photos"


def without_photos(tables: Mapping[str, pl.DataFrame]) -> tuple[dict[str, pl.DataFrame], str]:
    """Tables (by kind, every row ever entered) without photos and what took photos back, and a
    sentence on what was left out, or nothing.
    """
    out = {kind: frame for kind, frame in tables.items() if kind != "photos"}
    left = tables["photos"].height
    out["withdrawn"] = tables["withdrawn"].filter(pl.col("kind") != "photos")
    if not left:
        return out, ""
    what = "1 photo was" if left == 1 else f"{left:,} photos were"
    return out, f"{what} left out: pictures may show more than is meant; --photos writes them too"


def write_pictures(store: Path, photos: pl.DataFrame, folder: Path) -> int:
    """The pictures of the photos, each once, as photos/SHA256.jpg in `folder`; how many.

    Raises BadInput where the folder has such files already, or cannot be written.
    """
    from fleet.store import image

    wanted = photos["image"].unique(maintain_order=True).to_list()
    if not wanted:
        return 0
    place, passing = folder / FOLDER, folder / f".writing-{FOLDER}"
    if place.exists():
        raise BadInput(f"{folder} already holds {FOLDER}; name an empty or new folder")
    try:
        passing.mkdir(parents=True)
        try:
            for sha256 in wanted:
                (passing / f"{sha256}.jpg").write_bytes(image(store, sha256))
            passing.rename(place)
        finally:
            shutil.rmtree(passing, ignore_errors=True)
    except OSError as error:
        raise BadInput(f"{place} cannot be written: {error.strerror or error}") from None
    return len(wanted)


def pictures_beside(
    photos: pl.DataFrame, paths: Sequence[Path]
) -> tuple[pl.Series, dict[str, Path]]:
    """For each of the photos (clean_schema) why it cannot be taken, or null; and the files of the
    others by SHA-256. Pictures are looked for in folders `photos` of `paths` or beside them.

    One that is not what its row says (other bytes, another size, more than a picture in it) is
    not taken: its file may have been changed by anybody.
    """
    from fleet.flow.pictures import check_kept

    places = dict.fromkeys((path if path.is_dir() else path.parent) / FOLDER for path in paths)
    reasons: list[str | None] = []
    found: dict[str, Path] = {}
    said: dict[tuple[str, int, int], str | None] = {}
    for key in photos.select("image", "width", "height").iter_rows():
        if key not in said:
            sha256, width, height = key
            file = _file(sha256, list(places))
            if file is None:
                said[key] = f"its picture {FOLDER}/{sha256}.jpg is not there; put it there"
            else:
                data = _bytes(file)
                wrong = check_kept(data, sha256=sha256, width=width, height=height)
                said[key] = wrong and f"its picture {FOLDER}/{sha256}.jpg {wrong}"
                found[sha256] = file
        reasons.append(said[key])
    return pl.Series("reason", reasons, dtype=pl.String), found


def _file(sha256: str, places: Sequence[Path]) -> Path | None:
    if len(sha256) != 64 or not set(sha256) <= set("0123456789abcdef"):
        return None  # no name of a picture: never a way to another file
    for place in places:
        file = place / f"{sha256}.jpg"
        if file.is_file() and not file.is_symlink():
            return file
    return None


def _bytes(file: Path) -> bytes:
    from fleet.flow.pictures import MOST_BYTES

    with file.open("rb") as opened:
        return opened.read(MOST_BYTES + 1)
