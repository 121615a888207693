"""Pictures: their bytes under their SHA-256, each held once."""

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from fleet.errors import BadFrame, NotKnown
from fleet.store.session import reading
from fleet.store.statements import fetch, run, statement

if TYPE_CHECKING:
    import duckdb


def image(path: Path, sha256: str) -> bytes:
    """The bytes of one picture. NotKnown where the store holds none of that SHA-256."""
    found = reading(path, lambda con: fetch(con, statement("get_image"), {"image": sha256}))
    if found.is_empty():
        raise NotKnown(f"the store holds no picture {sha256[:16]}; take its name from the photos")
    return bytes(found["bytes"][0])


def put_images(
    con: "duckdb.DuckDBPyConnection", images: Mapping[str, bytes | Path], import_id: str
) -> None:
    """Hold the pictures that the photos of an import show, within a transaction that is open.

    Raises NotKnown where one is missing, BadFrame where its bytes are not those of its name.
    """
    for sha256 in fetch(con, statement("images_missing"), {"import_id": import_id})["image"]:
        held = images.get(sha256)
        if held is None:
            raise NotKnown(
                f"the picture {sha256[:16]} of a photo is missing; give it with the photo"
            )
        data = held if isinstance(held, bytes) else held.read_bytes()
        if hashlib.sha256(data).hexdigest() != sha256:
            raise BadFrame(f"the picture {sha256[:16]} is not what its name says")
        run(con, "insert_image", image=sha256, bytes=data, import_id=import_id)
