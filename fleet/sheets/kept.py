"""Files written whole or not at all, and never over something else unasked."""

import os
import tempfile
from pathlib import Path

from fleet.errors import BadInput


def refuse_taken(path: Path, *, force: bool) -> None:
    """Raise BadInput where a file is there already, unless `force`, or its folder is not.

    Asked before long work, so that its result is not thrown away.
    """
    if path.is_dir():
        raise BadInput(f"{path} is a folder; give the name of a file in it")
    if path.exists() and not force:
        raise BadInput(f"{path} is there already; --force writes over it, --out takes another name")
    if not path.parent.is_dir():
        raise BadInput(f"there is no folder {path.parent}; make it first")


def keep(content: str | bytes, path: Path, *, force: bool = False) -> Path:
    """Write `content` (text as UTF-8) to `path`; the path.

    Raises BadInput as `refuse_taken` does.
    """
    refuse_taken(path, force=force)
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
