"""Where the demo data and the dashboard pages are: inside an installed package, or beside it."""

from pathlib import Path

from fleet.errors import BadInput


def demo_folder() -> Path:
    """The folder of invented demo records. BadInput when it is not there."""
    return _folder("demo_data", "units.csv")


def dashboards_folder() -> Path:
    """The folder of the dashboard's app.py. BadInput when it is not there."""
    return _folder("dashboards", "app.py")


def _folder(name: str, holds: str) -> Path:
    package = Path(__file__).resolve().parent.parent
    for folder in (package / name, package.parent / name):
        if (folder / holds).is_file():
            return folder
    raise BadInput(
        f"the folder {name} with {holds} is not beside the fleet package; install it again"
    )
