"""The maker writes the same bytes again."""

import subprocess
import sys

from demo_data.make import COLUMNS, simulate, write


def test_running_it_again_gives_the_committed_files(folder, tmp_path):
    subprocess.run(
        [sys.executable, "-m", "demo_data.make", "--to", str(tmp_path)],
        cwd=folder.parent,
        check=True,
        capture_output=True,
    )
    names = sorted(path.name for path in tmp_path.iterdir())
    assert names == sorted([*(f"{kind}.csv" for kind in COLUMNS), "truth.json"])
    for name in names:
        assert (tmp_path / name).read_bytes() == (folder / name).read_bytes(), name


def test_another_seed_gives_other_records(folder, tmp_path):
    write(tmp_path, simulate(seed=7))
    assert (tmp_path / "units.csv").read_bytes() != (folder / "units.csv").read_bytes()
