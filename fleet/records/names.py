"""Names across records: aliases, spellings that differ by a hyphen, units nobody knows.

A name is never changed silently: an alias that was given is followed and counted, a near miss is
refused with the name it resembles.
"""

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches

import polars as pl

from fleet.frames import REJECTED, empty_frame
from fleet.records.identity import cleaned_text

_OF_UNITS = ("reports", "readings", "photos")
_HINTS = 200
_NEIGHBOURS = 60


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Resolved:
    """Tables by kind with the names in use (clean_schema), REJECTED rows, and notes."""

    tables: dict[str, pl.DataFrame]
    rejected: pl.DataFrame
    notes: tuple[str, ...]


@dataclass(slots=True)
class _Book:
    """Model names: those in use, their aliases, and what each looks like without punctuation."""

    names: set[str] = field(default_factory=set)
    aliases: dict[str, str] = field(default_factory=dict)
    alike: dict[str, str] = field(default_factory=dict)
    described: set[str] = field(default_factory=set)

    def add(self, name: str, aliases: Sequence[str] = ()) -> None:
        self.names.add(name)
        self.alike.setdefault(bare(name), name)
        for alias in aliases:
            if alias != name:
                self.aliases[alias] = name
                self.alike.setdefault(bare(alias), name)


def bare(name: str) -> str:
    """A name in lower case without anything but letters and digits; itself if nothing is left."""
    return "".join(c for c in name.lower() if c.isalnum()) or name


def split_aliases(text: str | None) -> list[str]:
    """Aliases joined by ; as a list."""
    return [alias.strip() for alias in (text or "").split(";") if alias.strip()]


def resolve_names(
    tables: Mapping[str, pl.DataFrame],
    *,
    known: Mapping[str, pl.DataFrame],
    aliases: Mapping[str, str] | None = None,
) -> Resolved:
    """Settle the names of one import: `tables` are its cleaned frames by kind (clean_schema),
    `known` the store's (units, models, batches where there are any; known_schema), `aliases`
    further spellings of models given by the caller.

    Models: a known name stays; an alias becomes the model's name, counted in the notes; a name
    that differs from a known one only by case or punctuation is refused, as is the rarer of two
    such spellings in one import; a new name is accepted with a note. A models row whose name or
    alias belongs to another model is refused. Reports and readings of a unit that neither `known`
    nor this import has are refused with the nearest names. Rows that another row of the import
    supersedes or withdraws claim no names.
    """
    out = dict(tables)
    notes: list[str] = []
    rejected: list[pl.DataFrame] = []
    book = _known_book(known)
    if "models" in out:
        reasons = _add_models(_current(out["models"], out), book)
        out["models"] = _refuse(out["models"], "models", "record_key", reasons, rejected)
    book.aliases |= dict(aliases or {})
    _add_used(out, book)
    for kind in [kind for kind, f in out.items() if kind != "models" and "model" in f.columns]:
        out[kind] = _settle_models(out[kind], kind, book, rejected, notes)
    _note_new(out, known, book, notes)
    units = _unit_names(out, known)
    for kind in [kind for kind in _OF_UNITS if kind in out]:
        unknown = out[kind].filter(~pl.col("unit").is_in(units.implode()))["unit"]
        reasons = _unknown_units(unknown.unique(maintain_order=True).to_list(), units)
        out[kind] = _refuse(out[kind], kind, "unit", reasons, rejected)
    return Resolved(
        tables=out,
        rejected=pl.concat(rejected) if rejected else empty_frame(REJECTED),
        notes=tuple(notes),
    )


def _known_book(known: Mapping[str, pl.DataFrame]) -> _Book:
    book = _Book()
    if "models" in known:
        for name, text in known["models"].select("model", "aliases").iter_rows():
            book.add(name, split_aliases(text))
            book.described.add(name)
    if "units" in known:
        for name in known["units"]["model"].unique(maintain_order=True).to_list():
            # A name in use that is an alias by now is no name of its own.
            if name not in book.aliases:
                book.add(name)
    return book


def _current(frame: pl.DataFrame, tables: Mapping[str, pl.DataFrame]) -> pl.DataFrame:
    """Rows that no row of the import supersedes or withdraws, with a key for each row."""
    gone = frame["supersedes"].drop_nulls()
    if "withdrawn" in tables:
        gone = pl.concat([gone, tables["withdrawn"]["withdraws"].drop_nulls()])
    return _keyed(frame).filter(~pl.col("record").is_in(gone.implode()).fill_null(value=False))


def _keyed(frame: pl.DataFrame) -> pl.DataFrame:
    return frame.with_columns(
        pl.concat_str("file", pl.col("line").cast(pl.String), separator="\x1f").alias("record_key")
    )


def _add_models(rows: pl.DataFrame, book: _Book) -> dict[str, str]:
    """Put the import's models into the book; reasons by row key for those that clash."""
    reasons: dict[str, str] = {}
    for key, name, text in rows.select("record_key", "model", "aliases").iter_rows():
        own = split_aliases(text)
        clash = _model_clash(name, own, book)
        if clash:
            reasons[key] = clash
        else:
            book.add(name, own)
            book.described.add(name)
    return reasons


def _model_clash(name: str, own: Sequence[str], book: _Book) -> str | None:
    if book.aliases.get(name, name) != name:
        return f"{name} is an alias of the model {book.aliases[name]}; take it out there or here"
    for alias in own:
        other = book.aliases.get(alias, name)
        if other != name:
            return f"the alias {alias} belongs to the model {other}; take it out there or here"
        if alias in book.described and alias != name:
            return f"the alias {alias} is the name of another model; take it out"
    alike = book.alike.get(bare(name), name)
    if name not in book.names and alike != name and alike not in own:
        return _near(name, alike)
    return None


def _near(name: str, alike: str) -> str:
    return (
        f"model {name} differs from {alike} only by case or punctuation: did you mean {alike}? "
        f"if so write {alike} or add {name} to its aliases, else give it a name that differs more"
    )


def _add_used(tables: Mapping[str, pl.DataFrame], book: _Book) -> None:
    """Names that only units and positions of this import use, the commonest spelling first."""
    used = [f["model"] for kind, f in tables.items() if kind != "models" and "model" in f.columns]
    if not used:
        return
    counts = (
        pl.concat(used).to_frame("model").group_by("model", maintain_order=True).len()
        .sort("len", descending=True, maintain_order=True)
    )  # fmt: skip
    for name in counts["model"].to_list():
        if name not in book.aliases and bare(name) not in book.alike:
            book.add(name)


def _settle_models(
    frame: pl.DataFrame,
    kind: str,
    book: _Book,
    rejected: list[pl.DataFrame],
    notes: list[str],
) -> pl.DataFrame:
    unique = frame["model"].unique(maintain_order=True).to_list()
    follow = {n: book.aliases[n] for n in unique if n not in book.described and n in book.aliases}
    reasons = {
        name: _near(name, book.alike[bare(name)])
        for name in unique
        if name not in book.names and name not in follow and bare(name) in book.alike
    }
    frame = _refuse(frame, kind, "model", reasons, rejected)
    if not follow:
        return frame
    counts = dict(frame["model"].value_counts().iter_rows())
    notes += [
        f"{old} read as {new} (an alias) in {counts[old]:,} rows of {kind}"
        for old, new in follow.items()
        if old in counts
    ]
    return frame.with_columns(pl.col("model").replace(follow))


def _refuse(
    frame: pl.DataFrame,
    kind: str,
    by: str,
    reasons: Mapping[str, str],
    rejected: list[pl.DataFrame],
) -> pl.DataFrame:
    """The frame without the rows that have a reason under their `by`; those go to `rejected`."""
    if not reasons:
        return frame
    keyed = _keyed(frame)
    reason = keyed[by].replace_strict(reasons, default=None, return_dtype=pl.String)
    bad = reason.is_not_null()
    refused = frame.filter(bad)
    rejected.append(
        refused.select(
            "file",
            pl.lit(kind).alias("kind"),
            "line",
            reason.filter(bad).alias("reason"),
            cleaned_text(refused, kind).alias("row"),
        )
    )
    return frame.filter(~bad)


def _note_new(
    tables: Mapping[str, pl.DataFrame],
    known: Mapping[str, pl.DataFrame],
    book: _Book,
    notes: list[str],
) -> None:
    used = [f["model"] for kind, f in tables.items() if kind != "models" and "model" in f.columns]
    models = pl.concat(used).unique(maintain_order=True).to_list() if used else []
    _say_new("model", [name for name in models if name not in book.described], notes)
    described = {
        name
        for frame in (known.get("batches"), tables.get("batches"))
        if frame is not None
        for name in frame["batch"].to_list()
    }
    fitted = [tables[kind]["batch"] for kind in ("units", "reports") if kind in tables]
    names = pl.concat(fitted).drop_nulls().unique(maintain_order=True).to_list() if fitted else []
    single = dict.fromkeys(part for name in names for part in batch_names(name))
    _say_new("batch", [name for name in single if name not in described], notes)


def batch_names(text: str) -> list[str]:
    """Batch names in a batch cell: `B7`, or a list over positions, `C1:B7;C4:B9`."""
    return [part.split(":", 1)[-1].strip() for part in text.split(";") if part.strip()]


def _say_new(what: str, names: Sequence[str], notes: list[str]) -> None:
    if not names:
        return
    listed = ", ".join(names[:5]) + (f" and {len(names) - 5:,} more" if len(names) > 5 else "")
    plural = {"model": "models", "batch": "batches"}[what]
    notes.append(f"no {plural} record describes {listed}; accepted as new, add one when you can")


def _unit_names(tables: Mapping[str, pl.DataFrame], known: Mapping[str, pl.DataFrame]) -> pl.Series:
    names = [f["units"]["unit"] for f in (known, tables) if "units" in f]
    return pl.concat(names).unique() if names else pl.Series("unit", [], dtype=pl.String)


def _unknown_units(unknown: Sequence[str], units: pl.Series) -> dict[str, str]:
    """Reasons for units nobody knows, the first few with the nearest names."""
    names = sorted(units.to_list()) if unknown else []
    alike: dict[str, list[str]] = {}
    for name in names:
        alike.setdefault(bare(name), []).append(name)
    out = {}
    for place, unit in enumerate(unknown):
        near = nearest_names(unit, names, alike) if place < _HINTS else []
        hint = f"did you mean {' or '.join(near)}? " if near else ""
        out[unit] = f"no unit is called {unit}; {hint}add the unit first, or correct the name"
    return out


def nearest_names(
    name: str, names: Sequence[str], alike: Mapping[str, Sequence[str]], *, most: int = 3
) -> list[str]:
    """Names near to one: those alike but for punctuation, then the closest of its neighbours in
    the sorted `names`, so that it stays quick among many.
    """
    same = list(alike.get(bare(name), ()))[:most]
    place = bisect_left(names, name)
    around = names[max(0, place - _NEIGHBOURS) : place + _NEIGHBOURS]
    close = get_close_matches(name[:80], around, n=most, cutoff=0.7)
    return list(dict.fromkeys([*same, *close]))[:most]
