"""Places and parts entered on the parts page, each looked at while it is typed."""

import math
import re
from collections.abc import Mapping
from typing import Any

import access
import address
import kept
import polars as pl
import reads
import shared
import streamlit as st
import words

from fleet.errors import FleetError
from fleet.flow.entering import Entered, add_record, amend_record
from fleet.flow.typed_facts import look_at, read_line

_GROUND: Mapping[str, str] = {"": "not looked at", "yes": "yes, one end", "no": "no, neither end"}
_NAMES: Mapping[str, str] = {
    "voltage": "volts",
    "temperature": "°C",
    "diameter_mm": "diameter in mm",
    "length_mm": "length in mm",
    "lead_form": "leads",
    "lead_spacing_mm": "leads apart in mm",
    "safety_class": "safety class",
    "ripple_ma": "ripple in mA",
    "esr_ohm": "ESR in ohm",
    "rated_hours": "rated hours",
    "polarity_note": "polarity",
}


def draw(place: shared.Place) -> None:
    """Both forms, folded away; entering needs the role that logging needs."""
    if not access.person().may("log"):
        return
    st.header("Enter a place or a part", anchor=False)
    kept.said(place, "entry", undo="Take it back", undone="Taken back: it counts no more.")
    models = reads.records(place.key, "models")["model"].drop_nulls().unique().sort().to_list()
    board = st.expander(
        "A place on a board, new or corrected",
        icon=":material/memory:",
        **address.opened("enter_place"),
    )
    if board.open:
        with board:
            _enter_place(place, models)
    shop = st.expander(
        "A part that can be bought",
        icon=":material/shopping_cart:",
        **address.opened("enter_part"),
    )
    if shop.open:
        with shop:
            _part(place)


def _enter_place(place: shared.Place, models: list[str]) -> None:
    if models:
        _place(place, models)
    else:
        st.info("Places belong to a model, and there is none yet: Bring in data takes them.")


def _place(place: shared.Place, models: list[str]) -> None:
    one, two = st.columns(2)
    model = one.selectbox("Model", models, key="entry_model", persist_state="session")
    name = _typed(two, "Position", "entry_position", "C7, as on the board")
    before = reads.records(place.key, "positions").filter(
        (pl.col("model") == model) & (pl.col("position").str.to_uppercase() == name.upper())
    )
    if before.height:
        told = f"{model} {before['position'][-1]}"
        st.caption(
            f":material/edit: {words.escaped(told)} is on record: what is typed corrects it."
        )
    facts = _facts("What the old part says", "entry_place_facts")
    three, four = st.columns(2)
    more = {
        "headroom_mm": _size(three, "Height under the cover (mm)", "entry_headroom"),
        "clearance_mm": _size(four, "Room beside it (mm)", "entry_clearance"),
        "ground_referenced": three.selectbox(
            "Is one end tied to ground?",
            list(_GROUND),
            format_func=_GROUND.__getitem__,
            key="entry_ground",
            persist_state="session",
        ),
        "role": _typed(four, "What it does", "entry_role", "such as: behind the power supply"),
    }
    given = {**(facts or {}), **{name: value for name, value in more.items() if value}}
    ready = facts is not None and bool(name)
    if ready:
        row = before.to_dicts()[-1] if before.height else {}
        ready = _together({**row, **given}, place=True)
    fields = {"model": str(model), "position": name, **given}
    record = str(before["record"][-1]) if before.height else None
    st.button(
        "Keep the place",
        icon=":material/save:",
        key="entry_keep_place",
        disabled=not ready,
        on_click=_keep_place,
        args=(place, fields, record),
    )


def _keep_place(place: shared.Place, fields: Mapping[str, str], record: str | None) -> None:
    def save() -> Entered:
        by = access.signed_by()
        if record is None:
            return add_record(place.store, "positions", fields, today=place.today, by=by)
        changes = {k: v for k, v in fields.items() if k not in ("model", "position")}
        return amend_record(place.store, record, changes, today=place.today, by=by)

    if kept.keep(place, "entry", f"{fields['model']} {fields['position']}", save):
        _empty("entry_position", "entry_place_facts", "entry_role")


def _part(place: shared.Place) -> None:
    one, two = st.columns(2)
    part = _typed(one, "Part", "entry_part", "as the supplier names it")
    supplier = _typed(two, "Supplier", "entry_supplier", "whose name the order carries")
    offers = reads.records(place.key, "offers")
    known = bool(part) and offers.filter(part=part).height > 0
    if known:
        st.caption(
            f":material/check: {words.escaped(part)} is on record with its facts; they are kept, "
            "and what is typed below must not differ."
        )
    facts = _facts("What its data sheet says", "entry_part_facts", needed=not known)
    three, four, five = st.columns(3)
    price = _size(three, "Price of one", "entry_price")
    currency = _typed(four, "Currency", "entry_currency", _usual(offers) or "three letters")
    currency = currency.upper() or (_usual(offers) or "")
    wrong = price != "" and not re.fullmatch(r"[A-Z]{3}", currency)
    if wrong:
        four.caption(":material/error: :red[A price needs its currency: three letters.]")
    lead = _size(five, "Days until it is there", "entry_lead")
    fields = {"part": part, "supplier": supplier, **(facts or {})}
    if price:
        fields |= {"price": price, "currency": currency}
    if lead:
        fields["lead_days"] = lead
    ready = bool(part) and facts is not None and not wrong
    if facts:
        ready &= _together(facts, place=False)
    st.button(
        "Keep the part",
        icon=":material/save:",
        key="entry_keep_part",
        disabled=not ready,
        on_click=_keep_part,
        args=(place, {name: value for name, value in fields.items() if value}),
    )


def _keep_part(place: shared.Place, fields: Mapping[str, str]) -> None:
    def save() -> Entered:
        by = access.signed_by()
        return add_record(place.store, "offers", fields, today=place.today, by=by)

    if kept.keep(place, "entry", f"{fields['part']}, a part that can be bought", save):
        _empty("entry_part", "entry_part_facts", "entry_price")


def _facts(label: str, key: str, *, needed: bool = True) -> dict[str, str] | None:
    """Facts typed in one line, as record columns; None: not to be read, or still to be typed."""
    typed = _typed(st, label, key, "1000uF 25V 105C 10x20 radial aluminium")
    if not typed:
        return None if needed else {}
    try:
        read = read_line(typed)
    except FleetError as error:
        _wrong(str(error))
        return None
    said = ", ".join(f"{_NAMES.get(name, name)} {value}" for name, value in read.items())
    st.caption(f":material/check: read as {words.escaped(said)}")
    return read


def _wrong(why: str) -> None:
    st.caption(f":material/error: :red[{words.escaped(why)}]")


def _together(facts: Mapping[str, Any], *, place: bool) -> bool:
    """Whether facts can all be true; and of a place what is still to be measured."""
    contradictory, missing = look_at(facts)
    for sentence in contradictory:
        _wrong(sentence)
    if place and missing:
        st.caption(
            ":material/straighten: Still to measure before anything is ordered for it: "
            f"{', '.join(missing)}. It can be kept as it is."
        )
    return not contradictory


def _typed(where: Any, label: str, key: str, placeholder: str) -> str:  # noqa: ANN401
    typed = where.text_input(
        label, key=key, persist_state="session", placeholder=placeholder, live="300ms"
    )
    return str(typed or "").strip()


def _size(where: Any, label: str, key: str) -> str:  # noqa: ANN401
    value = where.number_input(
        label,
        min_value=0.0,
        max_value=1e6,
        value=None,
        placeholder="not known",
        key=key,
        persist_state="session",
    )
    return "" if value is None or not math.isfinite(value) else f"{value:g}"


def _usual(offers: pl.DataFrame) -> str | None:
    """The currency of the offers, where they have one."""
    found = offers["currency"].drop_nulls().unique()
    return str(found[0]) if found.len() == 1 else None


def _empty(*keys: str) -> None:
    for key in keys:
        st.session_state.pop(key, None)
