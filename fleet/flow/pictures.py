"""Pictures from outside, made safe to keep: decoded, turned upright, made small, written anew.

What is kept holds the picture and nothing else: no place, no date, no name of a camera.
"""

import hashlib
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fleet.errors import BadInput

if TYPE_CHECKING:
    from PIL import Image

MOST_BYTES = 10_000_000
MOST_PIXELS = 60_000_000  # a phone's picture has 12 to 50 million
LONGEST_SIDE = 2000  # pixels
_SHORTEST_SIDE = 16  # pixels
_QUALITY = 85
_FORMS = ("JPEG", "PNG", "WEBP")  # what some phones call MPO opens as JPEG


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A picture as kept: the bytes of a JPEG, their SHA-256, and its size in pixels."""

    data: bytes
    sha256: str
    width: int
    height: int


def read_picture(data: bytes, name: str) -> Picture:
    """A picture as it may be kept. The same bytes give the same picture.

    Raises BadInput with one sentence for what is no picture, too large, or damaged.
    """
    if len(data) > MOST_BYTES:
        raise BadInput(
            f"{name} is {len(data) / 10**6:.1f} MB; at most {MOST_BYTES // 10**6} MB are taken, "
            "make it smaller first"
        )
    try:
        return _written_anew(data, name)
    except BadInput:
        raise
    except Exception as fault:  # decoders meet strange bytes with nearly any error
        raise BadInput(
            f"{name} cannot be read as a picture; save it as JPEG, PNG or WebP and try again"
        ) from fault


def _written_anew(data: bytes, name: str) -> Picture:
    from PIL import Image, ImageOps

    Image.init()  # else forms that were not met yet are unknown
    try:
        opened = Image.open(io.BytesIO(data), formats=_FORMS)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        _refuse_size(name, *_size_said(data))
        raise
    with opened as found:
        _refuse_size(name, found.width, found.height)
        found.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
        upright = ImageOps.exif_transpose(found)
        out = io.BytesIO()
        plain = _on_white(upright)
        plain.save(out, "JPEG", quality=_QUALITY, optimize=True)
    kept = out.getvalue()
    return Picture(
        data=kept,
        sha256=hashlib.sha256(kept).hexdigest(),
        width=plain.width,
        height=plain.height,
    )


def _refuse_size(name: str, width: int, height: int) -> None:
    if width * height > MOST_PIXELS:  # known before anything is decoded
        raise BadInput(
            f"{name} is {width:,} x {height:,} pixels; at most {MOST_PIXELS // 10**6} million are "
            "taken, make it smaller first"
        )
    if min(width, height) < _SHORTEST_SIDE:
        raise BadInput(
            f"{name} is {width} x {height} pixels, too small to show anything; a picture has at "
            f"least {_SHORTEST_SIDE} on each side"
        )


def _size_said(data: bytes) -> tuple[int, int]:
    """Width and height of a picture that Pillow refuses to open for its size."""
    from PIL import Image

    for form in _FORMS:
        opens, accepts = Image.OPEN[form]
        if accepts is not None and accepts(data[:16]) is True:
            return opens(io.BytesIO(data), "").size
    return 0, 0


def _on_white(found: "Image.Image") -> "Image.Image":
    """The pixels alone, in red, green and blue; what one could see through is white."""
    from PIL import Image

    clear = found.convert("RGBA") if found.has_transparency_data else None
    plain = Image.new("RGB", found.size, "white")
    plain.paste(clear or found.convert("RGB"), mask=clear)
    return plain


def check_kept(data: bytes, *, sha256: str, width: int, height: int) -> str | None:
    """Why bytes from an export are not the picture they are said to be, or None where they are."""
    from PIL import Image

    if len(data) > MOST_BYTES:
        return "is larger than any picture kept here"
    if hashlib.sha256(data).hexdigest() != sha256:
        return "is not what its name says: it was changed"
    try:
        with Image.open(io.BytesIO(data), formats=("JPEG",)) as found:
            if found.size != (width, height) or max(found.size) > LONGEST_SIDE:
                return "has another size than its row says, or is larger than pictures kept here"
            if found.getexif() or "comment" in found.info or "xmp" in found.info:
                return "carries more than the picture; save it without its metadata"
            found.load()
    except Exception:  # as above
        return "cannot be read as a JPEG"
    return None
