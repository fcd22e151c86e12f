"""Which truethrow this is."""

from __future__ import annotations

from typing import Any

NOT_INSTALLED = "unknown"
# Of every JSON document that leaves the program: what --json prints, and the figures beside the cards. It goes up
# whenever a name in one of them changes or means something else; a further name changes nothing.
JSON_FORMAT = 2


def made_by() -> dict[str, Any]:
    """What every JSON document begins with: its format, and the program that made it."""
    return {"truethrow": {"format": JSON_FORMAT, "program": version()}}


def version() -> str:
    """The program's version; of one that runs without having been installed, NOT_INSTALLED."""
    from importlib.metadata import PackageNotFoundError  # noqa: PLC0415 (slow to load, and few commands need it)
    from importlib.metadata import version as installed  # noqa: PLC0415

    try:
        return installed("truethrow")
    except PackageNotFoundError:
        return NOT_INSTALLED
