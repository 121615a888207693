"""The simulation draws what it says: lives known in full give the true shapes back."""

import json
import re

import numpy as np
import pytest
from scipy.optimize import minimize, minimize_scalar

from demo_data.fates import Board
from demo_data.luck import DAYS_PER_YEAR, Luck
from demo_data.scenario import BAD_BATCH, MODELS, NO_WEAR_OUT

HALF_CHI_SQUARE_95 = 1.9207294  # of one degree of freedom; any table of it


def _log_likelihood(shape, log_scale, life, entry, known_by):
    """Weibull, alive at `entry`, and known only because it failed by `known_by` (or infinite)."""

    def hazard(age):
        return np.exp(shape * (np.log(np.maximum(age, 1e-300)) - log_scale))

    density = np.log(shape) + (shape - 1) * (np.log(life) - log_scale) - log_scale - hazard(life)
    within = np.log(-np.expm1(hazard(entry) - hazard(known_by)))
    return float(np.sum(density + hazard(entry) - within))


def _profile(shape, lives):
    found = minimize_scalar(lambda s: -_log_likelihood(shape, s, *lives), bounds=(-2, 2))
    return -found.fun


def _seen(world, model):
    """Lives as multiples of their true scale, and the window each was seen in."""
    fates = [
        s.machine.fate
        for s in world.stories
        if s.machine.model.name == model.name and not s.machine.fate.certain
    ]
    columns = [
        (f.life / f.scale, f.entry / f.scale, (f.known_by or np.inf) / f.scale) for f in fates
    ]
    return np.array(columns).T


@pytest.mark.parametrize("model", MODELS, ids=lambda m: m.name)
def test_maximum_likelihood_with_full_knowledge_covers_the_truth(model, world):
    """95 % profile limits from the demo's own machines, through enrolment and windows."""
    lives = _seen(world, model)
    assert lives.shape[1] > 30
    best = minimize(
        lambda p: -_log_likelihood(np.exp(p[0]), p[1], *lives), [0.5, 0.0], method="Nelder-Mead"
    )
    top = -best.fun
    assert top - _profile(model.shape, lives) < HALF_CHI_SQUARE_95
    # And the limits are of use: they leave out twice the true shape, and half of it for the
    # models that wear out (ten failures of one that does not leave that open).
    wrong = [model.shape * 2] + [model.shape / 2] * (model.name != NO_WEAR_OUT)
    for shape in wrong:
        assert top - _profile(shape, lives) > HALF_CHI_SQUARE_95


@pytest.mark.parametrize("model", MODELS, ids=lambda m: m.name)
def test_first_failure_on_a_board_is_weibull_with_the_models_parameters(model):
    """20,000 boards against S(t): the greatest difference stays below Kolmogorov's 1 % point,
    1.628 / sqrt(n) (the usual table of it).
    """
    luck, n = Luck(11, MODELS.index(model)), 20_000
    lives = np.empty(n)
    for number in range(n):
        board = Board(model)
        board.fit_all(1.0, 0, luck)
        lives[number] = board.next_failure()[0]
    lives.sort()
    failed = -np.expm1(-((lives / (model.scale_years * DAYS_PER_YEAR)) ** model.shape))
    steps = np.arange(n + 1) / n
    distance = max(np.max(steps[1:] - failed), np.max(failed - steps[:-1]))
    assert distance < 1.628 / np.sqrt(n)


def test_weights_of_positions_add_up_to_the_board():
    for model in MODELS:
        assert sum(model.weights.values()) == pytest.approx(1.0, abs=1e-12)


def test_truth_file_and_readme_table_agree(folder):
    truth = json.loads((folder / "truth.json").read_text())
    text = (folder / "README.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| (\w\w\d\d) \| ([^|]+) \| ([^|]+) \| ([^|]+) \| ([^|]+) \| ([^|]+) \|$",
                      text, re.MULTILINE)  # fmt: skip
    assert {row[0] for row in rows} == set(truth["models"])
    for name, kind, shape, scale, batches, other in rows:
        model = truth["models"][name]
        assert (kind, float(shape), float(scale), float(other)) == (
            model["kind"], model["shape"], model["scale_years"], model["other_per_year"]
        )  # fmt: skip
        told = dict(part.strip(" *").split(": ") for part in batches.split(";"))
        assert {batch: float(years) for batch, years in told.items()} == {
            batch: about["scale_years"] for batch, about in model["batches"].items()
        }


def test_one_batch_is_bad_and_one_model_does_not_wear_out(folder):
    truth = json.loads((folder / "truth.json").read_text())
    assert truth["bad_batch"] == BAD_BATCH
    assert truth["no_wear_out_model"] == NO_WEAR_OUT
    for name, model in truth["models"].items():
        assert model["wears_out"] == (model["shape"] > 2) == (name != NO_WEAR_OUT)
        for batch, about in model["batches"].items():
            ratio = about["scale_years"] / model["scale_years"]
            assert (ratio < 0.6) == (batch == BAD_BATCH)
            assert ratio == pytest.approx(0.45) or 0.8 < ratio < 1.25
        assert 2 <= len(model["batches"]) <= 5


def test_failures_of_the_bad_batch_are_as_many_as_promised(folder, world):
    """Units whose factory set was wholly of the bad batch and failed in sight."""
    failed = []
    for story in world.stories:
        machine = story.machine
        if set(machine.batches.values()) != {BAD_BATCH} or machine.recapped_before is not None:
            continue
        for event in story.events:
            if event.kind in ("recapped", "board_swapped"):
                break
            if event.cause == "capacitor":
                failed.append(machine.unit)
                break
    text = (folder / "README.md").read_text(encoding="utf-8")
    assert f"| failures of factory sets wholly of the bad batch | {len(failed)} |" in text
    assert 10 <= len(failed) <= 20
