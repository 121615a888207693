"""fleet order."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fleet.cli.options import Form, When, Where, read_day, split_list
from fleet.cli.output import print_table
from fleet.cli.words import busy, say, say_all

if TYPE_CHECKING:
    import polars as pl

    from fleet.flow.order import Order

_SHARE = {"min": 0.0, "max": 0.9}


def command(
    *,
    until: Annotated[
        date | None,
        typer.Option(
            parser=read_day, metavar="DATE", help="Last day of the jobs that parts are ordered for."
        ),
    ] = None,
    months: Annotated[
        int | None,
        typer.Option(
            help="So many months of the plan instead; without either three.", min=1, max=120
        ),
    ] = None,
    units: Annotated[
        str | None,
        typer.Option(metavar="UNIT,UNIT", help="Order for these machines, outside any plan."),
    ] = None,
    service_level: Annotated[
        float,
        typer.Option(help="Chance of having enough of each part.", min=0.01, max=0.9999),
    ] = 0.95,
    dud: Annotated[float, typer.Option(help="Share of new pieces that are no good.", **_SHARE)] = (
        0.01
    ),
    slip: Annotated[float, typer.Option(help="Share of pieces spoilt at the bench.", **_SHARE)] = (
        0.02
    ),
    least_spares: Annotated[
        int, typer.Option(help="Spares of each part in any case.", min=0, max=1000)
    ] = 1,
    surprises: Annotated[
        bool | None,
        typer.Option(
            "--surprises/--no-surprises",
            help="Spares for machines that fail in the window without a job; with --units only "
            "where asked for.",
        ),
    ] = None,
    rate: Annotated[
        float,
        typer.Option(help="Cost of money tied up, a year: 0.05 means 5 %.", min=0.0, max=10.0),
    ] = 0.0,
    currency: Annotated[
        str | None, typer.Option(metavar="NAME", help="Order in this currency only.")
    ] = None,
    anyway: Annotated[
        bool,
        typer.Option(
            "--anyway",
            help="Order too what should be measured or asked first; not where facts are missing.",
        ),
    ] = False,
    keep_dates: Annotated[
        bool,
        typer.Option(
            "--keep-dates/--cheapest",
            help="Pay more where another supplier keeps the day of a job, or buy for least money.",
        ),
    ] = True,
    out: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Write the order for a purchaser: .csv or .xlsx."),
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Write over the file if it is there.")
    ] = False,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """List the parts to order for a window of the plan, net of the shelf, with spares.

    One row a place on a board; --out writes one row a part and supplier. Places of which facts are
    missing are listed to be measured before ordering, and nothing is ordered for them. Parts that
    are ordered before the old one is out are where ordering mistakes come from.

    Example:
        fleet order
        fleet order --until 2026-09-30 --service-level 0.99 --out order.xlsx
        fleet order --units DH-0001,DH-0002 --no-surprises --json
    """
    from fleet.flow.order import Losses, Wishes, order
    from fleet.sheets.kept import refuse_taken
    from fleet.sheets.order_file import form_of

    if out is not None:
        form_of(out)
        refuse_taken(out, force=force, endings=(".csv", ".xlsx"))
    if units is not None and not units.strip():
        raise typer.BadParameter("names no machine; write it like U1,U2", param_hint="--units")
    wishes = Wishes(
        losses=Losses(dud=dud, slip=slip, level=service_level, least=least_spares),
        anyway=anyway,
        currency=currency,
        rate=rate,
        surprises=surprises,
        keep_dates=keep_dates,
    )
    with busy("Planning and ordering"):
        found = order(
            where.store,
            as_of=when.day,
            until=until,
            months=months,
            units=split_list(units),
            wishes=wishes,
        )
    if out is not None:
        _write(out, found, force=force)
    print_table(found.frame, form, screen=_screen(found.brief), empty="No parts to order.")
    say_all(found.said)
    if not (form.json or form.csv) and found.frame.height:
        from fleet.flow.caution import CAUTION

        say(CAUTION)
        say_all(f"Mind at {places}: {text}" for text, places in found.care.iter_rows())
    say_all(found.notes)
    if out is not None:
        say(f"Written to {out}: {found.buy.height} lines to buy.")


def _write(out: Path, found: "Order", *, force: bool) -> None:
    from fleet.sheets.kept import keep
    from fleet.sheets.order_file import form_of, order_csv, order_xlsx

    if form_of(out) == "csv":
        # the mark at the beginning lets a spreadsheet read it as UTF-8
        text = "\ufeff" + order_csv(found.buy, found.shipping, found.currency)
        keep(text, out, force=force, endings=(".csv", ".xlsx"))
        return
    book = order_xlsx(
        found.buy, found.shipping, found.currency, measure=found.measure, why=found.why
    )
    keep(book, out, force=force, endings=(".csv", ".xlsx"))


def _screen(frame: "pl.DataFrame") -> "pl.DataFrame":
    import polars as pl

    def price(column: str) -> pl.Expr:
        return pl.col(column).map_elements(lambda v: f"{v:,.2f}", return_dtype=pl.String)

    bought = pl.col("to_buy") > 0
    return frame.select(
        "model",
        "position",
        "part",
        pl.col("needed").alias("places"),
        "spares",
        pl.col("from_stock").alias("from shelf"),
        pl.col("to_buy").alias("to buy"),
        "supplier",
        price("unit_price").alias("each"),
        pl.when(bought).then(price("cost")).alias("cost"),
        "currency",
        pl.col("verdict").str.replace_all("_", " "),
        pl.col("measure_first").alias("measure first"),
        "advice",
    )
