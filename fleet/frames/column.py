"""What a record kind is made of: a column, and a kind of record file."""

from dataclasses import dataclass
from typing import Literal

Form = Literal["text", "number", "whole", "date", "choice", "yes_no"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a record file.

    `form` says how its text is read: text as it is; number (Float64) and whole (Int64), not
    negative unless `may_be_negative`; date (EDTF text plus earliest and latest day); choice (one
    of `choices`); yes_no (Boolean; `unknown` and blank are null).
    What is `private` is kept by the store and left out of everything it hands on: of known rows,
    of exports, of refused rows, and of what a row is recognised by.
    """

    name: str
    form: Form = "text"
    required: bool = False
    choices: tuple[str, ...] = ()
    unit: str = ""
    private: bool = False
    may_be_negative: bool = False
    about: str = ""


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of record file: `key` names the thing a row is about, `own_date` its date."""

    name: str
    columns: tuple[Column, ...]
    key: tuple[str, ...]
    about: str
    own_date: str | None = None

    def column(self, name: str) -> Column:
        """The column called `name`; KeyError when there is none."""
        for column in self.columns:
            if column.name == name:
                return column
        raise KeyError(name)
