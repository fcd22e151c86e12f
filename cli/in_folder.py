"""What lies in a folder: jobs, stations' profiles, price lists, as their tables tell, fit to be read or not."""

from __future__ import annotations

from pathlib import Path

from truethrow.balance.base.files import KeptText

LARGEST_BYTES = 1_000_000


def jobs_in(folder: Path) -> list[Path]:
    return [path for path in _documents(folder) if "[job]" in _tables(path)]


def profiles_in(folder: Path, but: Path | None = None) -> list[KeptText]:
    """By their [spin], which a job has not, each with its text, so that it is read once. but: the job at hand,
    which a command reads once, too."""
    kept = [KeptText(str(path), _text(path)) for path in _documents(folder) if path != but]
    return [one for one in kept if "[spin]" in (heads := _heads(one.text)) and "[job]" not in heads]


def price_lists_in(folder: Path) -> list[Path]:
    """By their [prices], which a job has not."""
    return [path for path in _documents(folder) if "[prices]" in (heads := _tables(path)) and "[job]" not in heads]


def _documents(folder: Path) -> list[Path]:
    try:
        return sorted(one for one in folder.iterdir() if one.suffix.lower() == ".toml" and one.is_file())
    except OSError:
        return []


def _tables(path: Path) -> set[str]:
    return _heads(_text(path))


def _heads(text: str) -> set[str]:
    """The lines that begin a table, without a comment."""
    return {line.split("#")[0].strip() for line in text.splitlines()}


def _text(path: Path) -> str:
    """Nothing of what cannot be read."""
    try:
        return "" if path.stat().st_size > LARGEST_BYTES else path.read_text(encoding="utf-8-sig")
    except (OSError, ValueError):
        return ""
