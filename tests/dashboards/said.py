"""Everything a page says, word by word, as the tests of its words read it."""

import json
import math
import re

# Of a widget's or a chart's message: what people never see.
_UNSEEN = {
    "id", "key", "form_id", "key_suffix", "url", "data", "page_script_hash", "query_string",
    "deferred_file_id", "element_type", "allow_html", "columns", "stack_trace", "icon",
    "hide_anchor", "tag", "format", "page", "src", "srcdoc", "anchor", "theme", "spec", "datasets",
    "language", "component_name", "accept", "input_mode",
}  # fmt: skip
_SPEC_SAID = {"title", "text", "labelExpr", "description", "name"}
_CODE = re.compile(
    r"`[^`]*`|\]\([^)]*\)|:material/\w+:|</?[a-z]+\d?(?: [a-z-]+=[^>]*)?/?>|^fleet .*"
)

# What must never be read by a person, and what it is.
NEVER = {
    "no number": re.compile(r"(?<![\w-])-?\b(?:inf|nan|NaN|Inf|NaT)\b(?!-)"),
    # At the head of a sentence it is a word; elsewhere, or alone, it is Python's.
    "nothing, in Python": re.compile(
        r"^None$|(?<=[\w,;:=] )None\b|(?<=[(=\[])None\b|\bNone(?=[,;)\]])|\b(?:null|NULL)\b|<NA>"
    ),
    "a number for machines": re.compile(r"\b\d(?:\.\d+)?[eE][+-]?\d{2,}\b|\d\.\d{7,}"),
    "a value as Python writes it": re.compile(
        r"\['|\('|\{'|\w+\((?:\w+=|')|\b(?:Timestamp|datetime\.\w+|timedelta|Decimal|shape):?\s?\(|"
        r"<\w+(?:\.\w+)* object"
    ),
    # The folder of the demo's files is called so, and stands in the list of what was brought in.
    "a name of our code": re.compile(r"\b(?!demo_data\b)[a-z]+(?:_[a-z0-9]+)+\b"),
}


def wrong(text):
    """What in a text must not be there, each with the words around it."""
    plain = _CODE.sub(" ", text)
    return [
        f"{what}: ...{plain[max(0, hit.start() - 40) : hit.end() + 40]!r}"
        for what, pattern in NEVER.items()
        for hit in pattern.finditer(plain)
    ]


def texts(page):
    """(where, text) for everything an AppTest page says: words, labels, helps, options, cells."""
    for part in (page.main, page.sidebar):
        for node in part:
            message = getattr(node, "proto", None)
            if message is None or not hasattr(message, "ListFields"):
                continue
            yield from _of_message(node.type, message)
            if node.type in ("dataframe", "table"):
                yield from _of_table(node, message)
            if node.type == "vega_lite_chart":
                yield from _of_chart(json.loads(message.spec))


def _of_message(where, message):
    for field, value in message.ListFields():
        if field.name in _UNSEEN or field.name.endswith("_config"):
            continue
        repeated = (
            list(value) if hasattr(value, "__iter__") and not hasattr(value, "encode") else None
        )
        for one in repeated if repeated is not None else [value]:
            if isinstance(one, str):
                yield f"{where}.{field.name}", one
            elif hasattr(one, "ListFields"):
                yield from _of_message(where, one)


def _of_table(node, message):
    """Headings, cells and their helps; an empty cell must have been given words, or none."""
    configured = json.loads(getattr(message, "columns", "") or "{}")
    blank_is_said = not (hasattr(message, "placeholder") and message.HasField("placeholder"))
    table = node.value
    for name in table.columns:
        how = configured.get(str(name)) or {}
        if how.get("hidden"):
            continue
        where = f"{node.type} column {how.get('label') or name!r}"
        yield where, str(how.get("label") or name)
        yield where, str(how.get("help") or "")
        for value in table[name].unique() if table[name].map(_hashable).all() else table[name]:
            if _is_blank(value):
                if blank_is_said:
                    yield where, "None"
            elif isinstance(value, str):
                yield where, value
            elif isinstance(value, float) and math.isinf(value):
                yield where, str(value)


def _hashable(value):
    return value.__hash__ is not None


def _is_blank(value):
    return value is None or (not hasattr(value, "__len__") and value != value)


def _of_chart(spec, inside=""):
    if isinstance(spec, dict):
        for key, value in spec.items():
            yield from _of_chart(value, key)
    elif isinstance(spec, list):
        for value in spec:
            yield from _of_chart(value, inside)
    elif isinstance(spec, str) and inside in _SPEC_SAID - {"name", "labelExpr"}:
        yield "chart", spec
