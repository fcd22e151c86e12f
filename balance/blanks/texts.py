"""The texts of the blanks. What has to be known is blank in them, and refused until it is filled in; the rest are
comments."""

from __future__ import annotations

from importlib import resources

NAMES = ("station", "bench", "crank", "candidates", "prices", "settings")
OF_A_JOB = "job"


def text(name: str) -> str:
    """One of the blanks, by its name."""
    return resources.files(__package__).joinpath(f"{name}.toml").read_text(encoding="utf-8")
