"""What a date code on a part can mean, with a model's build years to narrow it.

METHODS: date-codes, shelf
"""

from datetime import date
from pathlib import Path

import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.errors import BadInput, NotKnown
from fleet.flow.known import known_records
from fleet.flow.table import Answer

# Parts lie in a factory for a while before they are fitted; our own rule.
PARTS_OLDER_YEARS = 2
_KNOWN_LETTERS = "IEC 60062 letters"

CODE = pl.Schema(
    {
        "code": pl.String(),
        "scheme": pl.String(),
        "usual": pl.Boolean(),
        "earliest": pl.Date(),
        "latest": pl.Date(),
        "age_low": pl.Float64(),
        "age_high": pl.Float64(),
        "fits": pl.String(),
    }
)


def part_code(
    store: Path | None,
    code: str,
    *,
    as_of: date,
    model: str | None = None,
    on_capacitor: bool = True,
    rated_volts: float | None = None,
) -> Answer:
    """Every reading of a date code up to `as_of`, earliest first, and the sentences with it.

    Columns: code, scheme, usual, earliest, latest, age_low and age_high (years on `as_of`), and
    fits: with a model "factory part", "later repair" or "too early", else null. `store` is read
    only for a model; without one the sentences say what to do with such a part from a shelf, of
    `rated_volts` where known. Raises BadInput for a code that cannot be a date, NotKnown for a
    model the store does not have.
    """
    from fleet.capacitors.date_codes import read_date_code

    read = read_date_code(code, not_after=as_of, on_capacitor=on_capacitor)
    if read.why_not:
        raise BadInput(
            f"date code {code!r} cannot be a date: {read.why_not}; read it off the part again, or "
            "leave the date unknown"
        )
    rows = [(code, c.scheme, c.usual, c.earliest, c.latest) for c in read.candidates]
    frame = pl.DataFrame(rows, schema=list(CODE)[:5], orient="row").with_columns(
        age_low=_years("latest", as_of), age_high=_years("earliest", as_of)
    )
    if model is None or store is None:
        fits, notes = pl.lit(None, dtype=pl.String), _shelf_words(code, as_of, rated_volts)
    else:
        first, last = _build_years(store, model, as_of=as_of)
        fits, notes = _fits(first, last), [_span_words(model, first, last)]
    frame = frame.with_columns(fits=fits).select(CODE.names()).cast(CODE)
    return Answer(frame=frame, notes=(*notes, *_doubts(frame)))


def code_readings(code: str, *, today: date) -> list[str]:
    """Every usual reading of a code as it is typed, each with its scheme; never one guessed. Where
    it cannot be a date, why.
    """
    from fleet.capacitors.date_codes import read_date_code

    read = read_date_code(code, not_after=today)
    if read.why_not:
        return [f"not read as a date code: {read.why_not}"]
    shown = [c for c in read.candidates if c.usual] or list(read.candidates)
    schemes: dict[str, list[str]] = {}
    for candidate in shown:
        schemes.setdefault(candidate.scheme, []).append(str(candidate.latest.year))
    said = []
    for scheme, told in schemes.items():
        years = list(dict.fromkeys(told))
        said.append(f"{' or '.join(years)} by {scheme}")
    return said


def _shelf_words(code: str, as_of: date, rated_volts: float | None) -> list[str]:
    """What to do with such a part that was never fitted."""
    from fleet.capacitors import shelf_advice
    from fleet.capacitors.reforming import reforming_steps

    shelf = shelf_advice(code, as_of)
    steps = reforming_steps(rated_volts) if shelf.verdict == "reform" else ()
    bought = shelf_advice(code, as_of, held="offer").sentence.partition(": ")[2]
    said = [f"If it has lain unused since then: {shelf.sentence}"]
    if shelf.oldest is not None:
        said.append(f"If a supplier offers it with this code: {bought}")
    return [*said, *steps]


def _years(column: str, as_of: date) -> pl.Expr:
    days = (pl.lit(as_of) - pl.col(column)).dt.total_days()
    return days.clip(lower_bound=0) / DAYS_PER_YEAR


def _build_years(store: Path, model: str, *, as_of: date) -> tuple[date | None, date | None]:
    models = known_records(store, ("models",), as_of=as_of)["models"]
    aliases = (
        pl.col("aliases").fill_null("").str.split(";").list.eval(pl.element().str.strip_chars())
    )
    found = models.filter((pl.col("model") == model) | aliases.list.contains(model))
    if found.is_empty():
        names = ", ".join(models["model"].unique().sort().head(8)) or "none yet"
        raise NotKnown(f"there is no model {model!r} in the store; it has {names}")
    first, last = found["first_made_earliest"].min(), found["last_made_latest"].max()
    return _day(first), _day(last)


def _day(value: object) -> date | None:
    return value if isinstance(value, date) else None


def _fits(first: date | None, last: date | None) -> pl.Expr:
    early = pl.lit(False) if first is None else pl.col("latest") < _years_before(first)
    late = pl.lit(False) if last is None else pl.col("earliest") > last
    return (
        pl.when(early)
        .then(pl.lit("too early"))
        .when(late)
        .then(pl.lit("later repair"))
        .otherwise(pl.lit("factory part"))
    )


def _years_before(day: date) -> date:
    return day.replace(year=day.year - PARTS_OLDER_YEARS, day=min(day.day, 28))


def _span_words(model: str, first: date | None, last: date | None) -> str:
    if first is None and last is None:
        return f"Nobody has entered when {model} was made, so no reading can be left out."
    span = " ".join(
        word
        for word in (f"from {first.year}" if first else "", f"to {last.year}" if last else "")
        if word
    )
    return (
        f"{model} was made {span}; a factory part may be up to {PARTS_OLDER_YEARS} years older, "
        "one made later can only have come with a repair."
    )


def _doubts(frame: pl.DataFrame) -> list[str]:
    notes = []
    usual = frame.filter("usual")
    if frame["fits"].null_count() == 0:
        usual = usual.filter(pl.col("fits") == "factory part")
        if usual.is_empty():
            notes.append(
                "No usual reading fits a factory part: it came with a repair, or it is no date."
            )
    if usual.height > 1:
        notes.append(f"{usual.height} readings remain; the code alone does not say which.")
    if _KNOWN_LETTERS in frame["scheme"].to_list():
        notes.append(
            "Some printed tables have these letters one year later: ask for a second sign of age."
        )
    return notes
