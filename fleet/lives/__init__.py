"""From records as known on a date to the life table."""

from fleet.lives.build import build_lives
from fleet.lives.life_file import LifeFile, read_life_file
from fleet.lives.table import LifeTable

__all__ = ["LifeFile", "LifeTable", "build_lives", "read_life_file"]
