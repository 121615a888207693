"""Files written whole or not at all, and never over something else unasked."""

import os
import tempfile
from collections.abc import Sequence
from pathlib import Path

from fleet.errors import BadInput

_STORE_MARK = slice(8, 12), b"DUCK"  # where a store's file says what it is


def refuse_taken(path: Path, *, force: bool, endings: Sequence[str]) -> None:
    """Raise BadInput where a file is there already, unless `force`, or its folder is not.

    With `force` too: for a name without one of `endings`, a store, and what is no plain file.
    Asked before long work, so that its result is not thrown away.
    """
    if path.suffix.lower() not in endings and not path.is_dir():
        raise BadInput(f"{path.name} should end in {' or '.join(endings)}; name the file so")
    if path.exists() and not path.is_dir():
        _refuse_other_things(path)
    if path.is_dir():
        raise BadInput(f"{path} is a folder; give the name of a file in it")
    if path.exists() and not force:
        raise BadInput(f"{path} is there already; --force writes over it, --out takes another name")
    if not path.parent.is_dir():
        raise BadInput(f"there is no folder {path.parent}; make it first")


def _refuse_other_things(path: Path) -> None:
    if not path.is_file():
        raise BadInput(f"{path} is no plain file; give another name")
    place, mark = _STORE_MARK
    with path.open("rb") as file:
        if file.read(place.stop)[place] == mark:
            raise BadInput(f"{path} is a store; nothing is written over it, give another name")


def keep(content: str | bytes, path: Path, *, endings: Sequence[str], force: bool = False) -> Path:
    """Write `content` (text as UTF-8) to `path`; the path.

    Raises BadInput as `refuse_taken` does.
    """
    refuse_taken(path, force=force, endings=endings)
    data = content.encode("utf-8") if isinstance(content, str) else content
    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        umask = os.umask(0)
        os.umask(umask)
        Path(beside).chmod(0o666 & ~umask)  # as a plain write would leave it
        Path(beside).replace(path)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise
    return path
