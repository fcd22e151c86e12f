"""What lies in a folder: jobs, stations' profiles, price lists, as their tables tell, fit to be read or not."""

from __future__ import annotations

from pathlib import Path

LARGEST_BYTES = 1_000_000


def jobs_in(folder: Path) -> list[Path]:
    return [path for path in _documents(folder) if "[job]" in _tables(path)]


def profiles_in(folder: Path) -> list[Path]:
    """By their [spin], which a job has not."""
    return [path for path in _documents(folder) if "[spin]" in (heads := _tables(path)) and "[job]" not in heads]


def price_lists_in(folder: Path) -> list[Path]:
    """By their [prices], which a job has not."""
    return [path for path in _documents(folder) if "[prices]" in (heads := _tables(path)) and "[job]" not in heads]


def _documents(folder: Path) -> list[Path]:
    try:
        return sorted(one for one in folder.iterdir() if one.suffix.lower() == ".toml" and one.is_file())
    except OSError:
        return []


def _tables(path: Path) -> set[str]:
    """The lines that begin a table, without a comment; none of what cannot be read."""
    try:
        if path.stat().st_size > LARGEST_BYTES:
            return set()
        return {line.split("#")[0].strip() for line in path.read_text(encoding="utf-8-sig").splitlines()}
    except (OSError, ValueError):
        return set()
