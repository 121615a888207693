"""Charts: contract frames in, Altair charts out. No statistics here."""

from fleet.charts.actions import ACTION_WORDS
from fleet.charts.calibration import draw_calibration
from fleet.charts.choices import draw_choices
from fleet.charts.due_dates import count_by_quarter, draw_due_dates
from fleet.charts.expected_failures import draw_expected_failures
from fleet.charts.hazard import draw_hazard
from fleet.charts.one_machine import draw_machine
from fleet.charts.outcomes import draw_success
from fleet.charts.overdue import count_overdue, draw_overdue
from fleet.charts.part_life import draw_part_life
from fleet.charts.picture import Drawn, as_picture
from fleet.charts.plan_hours import draw_plan_hours
from fleet.charts.ratios import draw_ratios
from fleet.charts.readings import draw_readings
from fleet.charts.repeated import draw_repeated
from fleet.charts.survival import draw_survival
from fleet.charts.suspects import draw_shares, draw_suspects
from fleet.charts.theme import MOST_GROUPS, name_groups
from fleet.charts.weibull_paper import draw_weibull_paper

__all__ = [
    "ACTION_WORDS",
    "MOST_GROUPS",
    "Drawn",
    "as_picture",
    "count_by_quarter",
    "count_overdue",
    "draw_calibration",
    "draw_choices",
    "draw_due_dates",
    "draw_expected_failures",
    "draw_hazard",
    "draw_machine",
    "draw_overdue",
    "draw_part_life",
    "draw_plan_hours",
    "draw_ratios",
    "draw_readings",
    "draw_repeated",
    "draw_shares",
    "draw_success",
    "draw_survival",
    "draw_suspects",
    "draw_weibull_paper",
    "name_groups",
]
