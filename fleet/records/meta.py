"""`meta.json` beside record files: who collected them, since when, until when."""

import json
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from fleet.errors import BadInput
from fleet.records.headers import nearest
from fleet.records.raw import RawTable

KEYS = ("source", "collecting_since", "data_cutoff", "keeps_roll_call", "hemisphere")


@dataclass(frozen=True, slots=True, kw_only=True)
class Meta:
    """What `meta.json` says, as text: `source` is the default for rows with a blank source."""

    source: str | None = None
    collecting_since: str | None = None
    data_cutoff: str | None = None
    keeps_roll_call: str | None = None
    hemisphere: str | None = None
    file: str = "meta.json"


def read_meta(path: Path) -> Meta:
    """`meta.json` of a folder, or of the folder a file is in; an empty Meta when there is none.

    Raises BadInput for damaged JSON, a key that is not ours, a value that is not one value, or
    anything said without a source to say it of.
    """
    file = (path if path.is_dir() else path.parent) / "meta.json"
    if not file.is_file():
        return Meta()
    try:
        data = json.loads(file.read_bytes().decode("utf-8-sig"))
    except (ValueError, OSError):
        raise BadInput(f"{file.name} is not JSON in UTF-8; mend it or take it away") from None
    if not isinstance(data, dict):
        raise BadInput(f'{file.name} should be an object such as {{"source": "our group"}}')
    for key in data:
        if key not in KEYS:
            raise BadInput(
                f"{file.name}: {key!r} is not a key{nearest(key, KEYS)}; "
                f"the keys are {', '.join(KEYS)}"
            )
    values = {key: _text(file.name, key, value) for key, value in data.items()}
    if values.get("source") is None and any(values.values()):
        raise BadInput(f"{file.name} has no source; name who collected the records")
    return Meta(
        source=values.get("source"),
        collecting_since=values.get("collecting_since"),
        data_cutoff=values.get("data_cutoff"),
        keeps_roll_call=values.get("keeps_roll_call"),
        hemisphere=values.get("hemisphere"),
    )


def _text(file: str, key: str, value: object) -> str | None:
    if value is None:
        return None
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (str, int)):
        return str(value).strip() or None
    raise BadInput(f"{file}: {key} should be one text, not {json.dumps(value)[:60]}")


def meta_table(meta: Meta) -> RawTable | None:
    """The sources record that `meta.json` stands for; None when it says nothing but a name."""
    cells = {key: getattr(meta, key) for key in KEYS}
    if meta.source is None or not any(v for k, v in cells.items() if k != "source"):
        return None
    schema = {**dict.fromkeys(KEYS, pl.String()), "line": pl.Int64()}
    frame = pl.DataFrame([{**cells, "line": 1}], schema=schema)
    return RawTable(kind="sources", file=meta.file, frame=frame)
