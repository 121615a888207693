"""How long 500 places x 500 parts take to be judged, beside one pass of comparisons over the pairs.

.venv/bin/python tests/benchmarks/stand_ins.py
"""

import argparse
import time

import numpy as np
import polars as pl

from fleet.capacitors.stand_in import judge_stand_ins

VALUES = ["1000uF", "470uF", "47µF", "4u7", "100n", "22 MFD", "220uF", "10uF", "1 mF", "2200uF"]
ROLES = ["12 V output", "mains reservoir", "reset delay", "fan driver", "behind a regulator"]


def invented(count: int, seed: int) -> pl.DataFrame:
    """Places or parts whose sizes, ripple and ESR are nearly all different: the hardest case."""
    luck = np.random.default_rng(seed)
    wide = luck.choice([4.0, 5, 6.3, 8, 10, 12.5, 16, 18], count)
    return pl.DataFrame(
        {
            "model": [f"M{n // 20}" for n in range(count)],
            "position": [f"C{n % 20}" for n in range(count)],
            "part": [f"P{n}" for n in range(count)],
            "capacitance": luck.choice(VALUES, count),
            "tolerance": luck.choice(["20%", "M", "-10/+50"], count),
            "voltage": luck.choice([6.3, 10, 16, 25, 35, 50, 63, 400], count),
            "temperature": luck.choice([85.0, 105, 125], count),
            "diameter_mm": wide + luck.random(count).round(1),
            "length_mm": (wide * luck.uniform(1.2, 3.0, count)).round(1),
            "lead_form": luck.choice(["axial", "radial", "snap-in", "smd"], count),
            "lead_spacing_mm": luck.choice([1.5, 2, 2.5, 3.5, 5, 7.5], count),
            "clearance_mm": luck.choice([0.5, 1, 2], count),
            "headroom_mm": luck.choice([20.0, 30, 38], count),
            "ground_referenced": luck.choice([True, False], count),
            "technology": luck.choice(["aluminium", "polymer", "tantalum"], count),
            "ripple_ma": luck.uniform(30, 2000, count).round(),
            "esr_ohm": luck.uniform(0.02, 5, count).round(2),
            "rated_hours": luck.choice([1000.0, 2000, 5000], count),
            "role": luck.choice(ROLES, count),
        }
    )


def floor(places: pl.DataFrame, parts: pl.DataFrame) -> float:
    """Seconds for ten comparisons of each pair, without a word said."""
    numbers = ["voltage", "temperature", "diameter_mm", "length_mm", "ripple_ma"]
    start = time.perf_counter()
    for name in numbers:
        asked, given = places[name].to_numpy()[:, None], parts[name].to_numpy()[None, :]
        np.count_nonzero(given < asked)
        np.count_nonzero(given > asked)
    return time.perf_counter() - start


def main() -> None:
    """Print the best of some runs, in seconds of the clock and of the processor."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--runs", type=int, default=5)
    asked = parser.parse_args()
    places, parts = invented(asked.count, 1), invented(asked.count, 2)
    clock, processor = [], []
    for _ in range(asked.runs):
        start, busy = time.perf_counter(), time.process_time()
        judged = judge_stand_ins(places, parts)
        clock.append(time.perf_counter() - start)
        processor.append(time.process_time() - busy)
    reasons = judged["reasons"].list.len().sum()
    print(f"{judged.height:,} pairs, {reasons:,} reasons, {judged.estimated_size('mb'):.0f} MB")
    print(f"{min(clock):.2f} s (processor {min(processor):.2f} s)")
    print(f"floor {min(floor(places, parts) for _ in range(asked.runs)):.4f} s")


if __name__ == "__main__":
    main()
