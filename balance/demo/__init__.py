"""The demo: invented parts of a pilot launch's V8 and of its fire pump's three, shipped with the package;
and its job carried to the end (story).
May import: base, log, job, result, weighing, station."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

from truethrow.balance.base import files
from truethrow.balance.base.errors import NotSaved, shown_path

NAMES = (
    "launch.toml",
    "launch-weigh.csv",
    "pump.toml",
    "shelf-rods.csv",
    "shelf-pistons.csv",
    "shelf-pins.csv",
    "station.toml",
    "choice.toml",
)
# Before anything was bought: what there is to choose from, and the job by the catalog, in a folder of its own.
PLANNING = ("choice.toml", "plan.toml", "station.toml")


def copy_into(folder: Path) -> tuple[Path, Path]:
    """Put the demo's files into a folder, made if it is not there; the launch's job file and weigh sheet.

    A file that is there already stays as it is, so that what somebody tried out is not lost.
    Raises NotSaved where the folder or a file cannot be made."""
    _made(folder)
    _copy(NAMES, folder)
    return folder / NAMES[0], folder / NAMES[1]


def planning_into(folder: Path) -> tuple[Path, Path, Path]:
    """Put what the planning stage needs into a folder, as copy_into does: the candidates, the job, the station."""
    _made(folder)
    _copy(PLANNING, folder)
    choice, plan, station = (folder / name for name in PLANNING)
    return choice, plan, station


def _copy(names: tuple[str, ...], folder: Path) -> None:
    for name in names:
        if not (folder / name).exists():
            files.write_text(folder / name, text(name))


def _made(folder: Path) -> None:
    try:
        files.private_folder(folder)
    except OSError as error:
        raise NotSaved(f"{(error.strerror or 'cannot be made').lower()}", shown_path(folder)) from None


def text(name: str) -> str:
    """One of the demo's files, by its name."""
    return resources.files(__name__).joinpath(name).read_text(encoding="utf-8")
