"""Which truethrow this is."""

from __future__ import annotations

NOT_INSTALLED = "unknown"


def version() -> str:
    """The program's version; of one that runs without having been installed, NOT_INSTALLED."""
    from importlib.metadata import PackageNotFoundError  # noqa: PLC0415 (slow to load, and few commands need it)
    from importlib.metadata import version as installed  # noqa: PLC0415

    try:
        return installed("truethrow")
    except PackageNotFoundError:
        return NOT_INSTALLED
