"""A date code that is entered by hand and cannot be is refused, before anything is written.

METHODS: date-codes
"""

from collections.abc import Mapping
from datetime import date

from fleet.errors import BadInput


def refuse_date_code(fields: Mapping[str, str], *, today: date) -> None:
    """Raise BadInput for a date code among `fields` that has the form of one but cannot be.

    An import keeps such a row, and `fleet check` tells of it: makers have lot codes of many forms.
    """
    code = (fields.get("date_code") or "").strip()
    if not code:
        return
    from fleet.capacitors.date_codes import cannot_be

    if why := cannot_be(code, not_after=today):
        raise BadInput(
            f"date code {code} cannot be a date: {why}; read it off the part again, leave it out, "
            "or keep a lot number in the notes"
        )
