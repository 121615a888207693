"""fleet add: one command for each kind of record, its options read off the kind's columns."""

import inspect
from collections.abc import Callable
from typing import Annotated, Any, Literal

import typer

from fleet.cli.app import HELP, Command
from fleet.cli.entered import print_entered
from fleet.cli.options import Form, Where, today
from fleet.cli.spread import spread
from fleet.frames import KINDS, Column

# The word after `fleet add`, and the record kind it makes.
THINGS = {
    "model": "models",
    "position": "positions",
    "batch": "batches",
    "unit": "units",
    "source": "sources",
    "offer": "offers",
    "stock": "stock",
    "shop": "shop",
    "price": "prices",
    "step": "steps",
}
# Kinds without one column that names what the record is about: nothing to give as NAME.
_NAMED_BY = {"offer": "part", "stock": "part", "price": "model", "step": "model"}
_EXAMPLES = {
    "model": "fleet add model BM-2 --kind 'bread maker' --first-made 2004 --planned-cost 35",
    "position": "fleet add position C3 --model BM-2 --capacitance 470uF --voltage 25",
    "batch": "fleet add batch LX-0412 --series LX --date-code 0412",
    "unit": "fleet add unit TL-014 --model BM-2 --manufactured 2005 --enrolled-on 2019-03",
    "source": "fleet add source club --collecting-since 2014-01 --keeps-roll-call yes",
    "offer": "fleet add offer KR-470 --capacitance 470uF --voltage 35 --price 0.40 --currency XTS",
    "stock": "fleet add stock KR-470 --quantity 6 --date-code 2418",
    "shop": "fleet add shop --labour-rate 20 --bench-hours-per-month 12 --currency XTS",
    "price": "fleet add price BM-2 --item used --price 60 --currency XTS --parts-age-years 12",
    "step": "fleet add step BM-2 --moment opening --text 'Mark both white plugs: they look alike'",
}
_A = {"offer": "an offer", "stock": "stock", "shop": "what the shop can do"}
_ALSO = (
    Column("entered_on", "date", about="the day it was entered, if not today"),
    Column("source", about="who collected it: a name in sources"),
    Column("by", about="who enters it"),
    Column("record", about="an id of your own for the record"),
)

command = typer.Typer(
    rich_markup_mode=None,
    add_completion=False,
    no_args_is_help=True,
    context_settings=HELP,
    help="Add one record: a machine, a part, a price, a step for the bench, and so on.\n\n"
    "A record that is there already is corrected with fleet amend.\n\n"
    "Example:\n\n    fleet add unit TL-014 --model BM-2 --manufactured 2005",
)


def _option(column: Column) -> inspect.Parameter:
    wanted: Any = str
    if column.form == "choice":
        wanted = Literal[column.choices]
    elif column.form == "yes_no":
        wanted = Literal["yes", "no", "unknown"]
    unit = f"In {column.unit}." if column.unit else ""
    about = f"{column.about[:1].upper()}{column.about[1:]}." if column.about else ""
    name = f"--{column.name.replace('_', '-')}"
    metavar = {"date": "DATE", "number": "NUMBER", "whole": "NUMBER"}.get(column.form)
    if column.form == "text":
        metavar = "TEXT"
    return inspect.Parameter(
        column.name,
        inspect.Parameter.KEYWORD_ONLY,
        default=None,
        annotation=Annotated[
            wanted | None, typer.Option(name, metavar=metavar, help=f"{about} {unit}".strip())
        ],
    )


def make_command(thing: str) -> Callable[..., None]:
    """The function behind `fleet add THING`; its signature lists the kind's columns."""
    kind = KINDS[THINGS[thing]]
    columns = [*kind.columns]
    columns += [column for column in _ALSO if column.name not in {c.name for c in columns}]

    named = _NAMED_BY.get(thing, thing)
    with_name = named in {column.name for column in kind.columns}  # a shop has none

    def run(where: Where, form: Form, name: str | None = None, **given: str | None) -> None:
        if name is not None:
            if given[named] not in (None, name):
                raise typer.BadParameter(
                    f"the {named} is named twice, {name} and {given[named]}", param_hint="NAME"
                )
            given[named] = name
        for column in kind.columns:
            if column.required and given[column.name] is None:
                raise typer.BadParameter(
                    "is needed" if column.name != named else f"is needed, or {named} as NAME",
                    param_hint=f"--{column.name.replace('_', '-')}",
                )

        from fleet.flow.entering import add_record

        fields = {key: value for key, value in given.items() if value is not None}
        by = fields.pop("by", None)
        entered = add_record(where.store, kind.name, fields, today=today(), by=by)
        print_entered(entered, form, what=f"{thing} record")

    keyword = inspect.Parameter.KEYWORD_ONLY
    parameters = [
        inspect.Parameter(
            "name",
            keyword,
            default=None,
            annotation=Annotated[
                str | None,
                typer.Argument(metavar="NAME", help=f"The {named}; the same as --{named}."),
            ],
        ),
    ]
    parameters = [
        *(parameters if with_name else []),
        *[_option(column) for column in columns],
        inspect.Parameter("where", keyword, annotation=Where),
        inspect.Parameter("form", keyword, annotation=Form),
    ]
    run.__dict__["__signature__"] = inspect.Signature(parameters)
    run.__annotations__ = {parameter.name: parameter.annotation for parameter in parameters}
    what = _A.get(thing, f"a {thing}")
    run.__doc__ = (
        f"Add {what} (the kind {kind.name}: {kind.about}).\n\nExample:\n    {_EXAMPLES[thing]}\n"
    )
    return spread(run)


for _thing in THINGS:
    command.command(_thing, cls=Command, context_settings=HELP)(make_command(_thing))
