"""fleet report."""

from pathlib import Path
from typing import Annotated

import typer

from fleet.cli.options import When, Where
from fleet.cli.output import write_out
from fleet.cli.words import busy, say


def command(
    *,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", metavar="FILE", help="Where to write it. Without it: group-report-DAY.html."
        ),
    ] = None,
    quick: Annotated[
        bool,
        typer.Option(
            "--quick", help="Leave out what takes longest: data health and the look back."
        ),
    ] = False,
    force: Annotated[
        bool, typer.Option("--force", help="Write over a file that is there already.")
    ] = False,
    when: When,
    where: Where,
) -> None:
    """Write the report of a group: due list, failures to expect, curves, batches, plan, order.

    Data health and how well past advice did are in it too. The file is HTML that needs nothing
    else: open it in a browser, print it, or send it. Sites, serial numbers and notes are not in it.

    Example:
        fleet report
        fleet report --out meeting.html --quick --force
        fleet report --as-of 2026-05-31 --out may.html
    """
    from fleet.charts.group_report import draw_report_pictures
    from fleet.flow.caution import CAUTION
    from fleet.flow.group_report import group_report
    from fleet.sheets.group_report import group_report_page
    from fleet.sheets.kept import keep, refuse_taken

    path = out or Path(f"group-report-{when.day.isoformat()}.html")
    refuse_taken(path, force=force, endings=(".html",))
    with busy("Gathering the report") as step:
        report = group_report(where.store, as_of=when.day, quick=quick, step=step)
        step("Drawing")
        pictures = draw_report_pictures(
            due=report.due, curves=report.curves, quarters=report.quarters, as_of=when.day
        )
        keep(group_report_page(report, pictures), path, force=force, endings=(".html",))
    write_out(iter((f"{path}\n",)))
    say(CAUTION)
