"""Make the demo's record files: `python -m demo_data.make [--to FOLDER]` from the repository.

Everything is invented (see README.md); the same seed gives the same bytes.
"""

import argparse
import csv
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from demo_data.aftermath import Aftermath, tell_outcomes
from demo_data.bench_steps import step_rows
from demo_data.catalogue import (
    model_rows,
    offer_rows,
    position_rows,
    price_rows,
    shop_rows,
    stock_rows,
)
from demo_data.fates import (
    EARLIER_REFIT,
    Machine,
    draw_batch_factors,
    draw_failed,
    draw_failed_before,
    draw_working,
)
from demo_data.luck import Luck
from demo_data.mistakes import Mistakes, make_mistakes
from demo_data.scenario import (
    BAD_BATCH,
    CAME_IN_BROKEN,
    CUT,
    FAILED_BEFORE,
    MODELS,
    NO_WEAR_OUT,
    QUOTA,
    REFIT_BATCHES,
    SEED,
    SOURCES,
    Model,
    Source,
)
from demo_data.story import Story
from demo_data.told import Row, hour_rows, reading_rows, report_rows, unit_row

_COMMON = ("record", "entered_on", "supersedes", "source", "by")
_FACTS = (
    "capacitance", "tolerance", "voltage", "temperature", "diameter_mm", "length_mm", "lead_form",
    "lead_spacing_mm", "clearance_mm", "ground_referenced", "polarity_note", "technology",
    "safety_class", "ripple_ma", "esr_ohm", "rated_hours",
)  # fmt: skip
COLUMNS: dict[str, tuple[str, ...]] = {
    "sources": ("source", "collecting_since", "data_cutoff", "keeps_roll_call", "hemisphere"),
    "models": (
        "model", "revision", "kind", "aliases", "first_made", "last_made", "planned_cost",
        "failure_cost", "currency", "bench_hours", "notes",
    ),
    "positions": (
        "model", "position", *_FACTS, "role", "notes", "headroom_mm", "grounded_end", "current",
    ),
    "batches": (
        "batch", "series", "date_code", "made", "technology", "sleeve_colour", "temperature",
        "notes",
    ),
    "units": (
        "unit", "model", "batch", "serial", "manufactured", "enrolled_on", "enrolled_because",
        "site", "hours_per_year", "ambient_c", "notes", *_COMMON,
    ),
    "reports": (
        "unit", "date", "kind", "last_known_working", "cause", "positions", "batch", "because",
        "symptom", "found_dead", "notes", "cured", *_COMMON,
    ),
    "readings": (
        "unit", "date", "position", "stage", "esr_ohm", "capacitance", "limit_used", "in_circuit",
        "instrument", "entered_on", "source", "by",
    ),
    "offers": (
        "part", "series", *_FACTS, "supplier", "price", "currency", "price_from_quantity",
        "shipping", "date_code", "lead_days",
    ),
    "stock": ("part", "quantity", "date_code"),
    "shop": ("labour_rate", "bench_hours_per_month", "budget", "currency", "setup_hours"),
    "prices": (
        "model", "item", "price", "currency", "parts_age_years", "priced_on", "notes",
    ),
    "steps": ("model", "unit", "moment", "position", "place", "text", "cause"),
}  # fmt: skip
_SLEEVES = {"Tarn": "brown", "Fell": "green", "Moss": "black", "Brook": "blue", "Heron": "gold"}


@dataclass(frozen=True, slots=True)
class World:
    """The simulated truth and what was written down about it."""

    factors: dict[str, float]
    stories: list[Story]
    rows: dict[str, list[Row]]
    mistakes: Mistakes
    aftermath: Aftermath


def simulate(seed: int = SEED) -> World:
    """Draw the batches, the machines and their stories, and write them down as rows."""
    factors = draw_batch_factors(Luck(seed, 0))
    refits = {name: factor for name, _, factor in REFIT_BATCHES}
    stories: list[Story] = []
    written: list[list[Row]] = []
    rows: dict[str, list[Row]] = {"units": [], "reports": [], "readings": []}
    for number, (machine, luck) in enumerate(_machines(seed, factors)):
        story = Story(machine, luck, refits)
        story.tell()
        stories.append(story)
        writing = Luck(seed, 2, number)
        unit = unit_row(machine, writing)
        rows["units"].append(unit)
        written.append(report_rows(story, writing))
        rows["reports"] += written[-1]
        rows["readings"] += reading_rows(story) + hour_rows(story, unit, writing)
    mistakes = make_mistakes(stories, rows)
    aftermath = tell_outcomes(stories, written, rows["reports"], seed)
    return World(factors, stories, rows | _fixed_rows(), mistakes, aftermath)


def _machines(seed: int, factors: Mapping[str, float]) -> list[tuple[Machine, Luck]]:
    """Every machine of every source, numbered in the order of enrolment."""
    out: list[tuple[Machine, Luck]] = []
    for source in SOURCES:
        drawn: list[tuple[Machine, Luck]] = []
        for place, model in enumerate(MODELS):
            for number in range(QUOTA[source.name][model.name]):
                luck = Luck(seed, 1, ord(source.letter), place, number)
                drawn.append((_draw(model, source, number, factors, luck), luck))
        drawn.sort(key=lambda pair: pair[0].enrolled)
        for number, (machine, _) in enumerate(drawn, start=1):
            machine.unit = f"{source.letter}-{number:03d}"
        out += drawn
    return out


def _draw(
    model: Model, source: Source, number: int, factors: Mapping[str, float], luck: Luck
) -> Machine:
    if source.keeps_roll_call:
        broken = source.letter == "U" and number < CAME_IN_BROKEN
        return (draw_failed if broken else draw_working)(model, source, factors, luck)
    if number == 0 and model.name in FAILED_BEFORE:
        return draw_failed_before(model, source, factors, luck)
    return draw_failed(model, source, factors, luck)


def _fixed_rows() -> dict[str, list[Row]]:
    """Record files that are written rather than drawn."""
    sources = [
        {
            "source": s.name,
            "collecting_since": s.collecting_since.isoformat(),
            "data_cutoff": CUT.isoformat(),
            "keeps_roll_call": "yes" if s.keeps_roll_call else "no",
            "hemisphere": "north",
        }
        for s in SOURCES
    ]
    factory = [(b.name, f"{b.made:%Y-%m}") for m in MODELS for b in m.batches]
    batches = [
        {
            "batch": name,
            "series": name.split("-")[0],
            "date_code": name.split("-")[1],
            "made": made,
            "technology": "aluminium",
            "sleeve_colour": _SLEEVES[name.split("-")[0]],
            "temperature": "105",
            "notes": "fitted by the menders" if name.startswith("Heron") else "factory parts",
        }
        for name, made in factory + [(name, made) for name, made, _ in REFIT_BATCHES]
    ]
    return {
        "sources": sources,
        "models": model_rows(),
        "positions": position_rows(),
        "batches": batches,
        "offers": offer_rows(),
        "stock": stock_rows(),
        "shop": shop_rows(),
        "prices": price_rows(),
        "steps": step_rows(),
    }


def truth(world: World, seed: int = SEED) -> dict[str, object]:
    """The true parameters, for `truth.json`. Scales in years of 365.25 days."""
    models = {
        m.name: {
            "kind": m.kind,
            "shape": m.shape,
            "scale_years": m.scale_years,
            "wears_out": m.name != NO_WEAR_OUT,
            "other_per_year": m.other_per_year,
            "position_weights": m.weights,
            "batches": {
                b.name: {"scale_years": round(m.scale_years * world.factors[b.name], 4)}
                for b in m.batches
            },
        }
        for m in MODELS
    }
    return {
        "invented": True,
        "seed": seed,
        "data_cut": CUT.isoformat(),
        "models": models,
        "bad_batch": BAD_BATCH,
        "no_wear_out_model": NO_WEAR_OUT,
        "refit_factors": {name: factor for name, _, factor in REFIT_BATCHES},
        "earlier_refit_factor": EARLIER_REFIT,
        "contradictory_unit": world.mistakes.contradictory_unit,
        "corrected_report": world.mistakes.corrected_report,
        "corrected_unit": world.mistakes.corrected_unit,
        "recaps_that_did_not_cure": world.aftermath.not_cured,
        "failed_early_by_the_job": world.aftermath.failed_early,
        "failed_before_collecting": [
            s.machine.unit
            for s in world.stories
            if s.machine.trouble and s.machine.trouble[0] < _since(s.machine)
        ],
        "failed_once_running": [s.machine.unit for s in world.stories if s.runs_once_failed],
        "recapped_before_enrolment": [
            s.machine.unit for s in world.stories if s.machine.recapped_before is not None
        ],
    }


def _since(machine: Machine) -> int:
    return machine.source.collecting_since.toordinal()


def write(folder: Path, world: World) -> None:
    """Write every record file and `truth.json` into `folder`."""
    for kind, columns in COLUMNS.items():
        _write_csv(folder / f"{kind}.csv", columns, world.rows[kind])
    text = json.dumps(truth(world), indent=2) + "\n"
    (folder / "truth.json").write_text(text, encoding="utf-8", newline="\n")


def _write_csv(path: Path, columns: Sequence[str], rows: Sequence[Row]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def main() -> None:
    """Write the demo beside this file, or into the folder given."""
    parser = argparse.ArgumentParser(description="Make the invented record files of the demo.")
    parser.add_argument("--to", type=Path, default=Path(__file__).parent, help="folder to fill")
    folder: Path = parser.parse_args().to
    world = simulate()
    write(folder, world)
    print(f"{len(world.stories)} units, {len(world.rows['reports'])} reports in {folder.name}/")


if __name__ == "__main__":
    main()
