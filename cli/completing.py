"""What a shell is offered while a command is typed: jobs, parts and their labels. What cannot be looked up is not
offered; nothing of that is told, since it would land in the middle of the line."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import typer

from truethrow.balance.base.errors import TruethrowError
from truethrow.cli.in_folder import jobs_in

MOST = 50


def jobs(incomplete: str) -> list[str]:
    """Job files of the folder that is typed, or at hand, and ids of the book."""
    folder = incomplete[: incomplete.rfind("/") + 1]
    files = [f"{folder}{path.name}" for path in jobs_in(Path(folder or "."))]
    return [one for one in [*files, *([] if folder else _ids(incomplete))] if one.startswith(incomplete)]


def _ids(beginning: str) -> list[str]:
    from truethrow.balance.book import jobs as kept  # noqa: PLC0415 (SQLAlchemy)
    from truethrow.balance.book.open import open_book  # noqa: PLC0415

    try:
        return kept.ids(open_book(create=False), beginning, MOST)
    except (TruethrowError, OSError):
        return []


def parts(context: typer.Context, incomplete: str) -> list[str]:
    """Kinds of part, and the labels and cylinders of the job that is typed before."""
    from truethrow.balance.base.parts import KINDS, UNITS  # noqa: PLC0415

    words = [*dict.fromkeys([*UNITS, *(kind.name for kind in KINDS)])]
    offered = [word.replace("_", "-") for word in words] + _names(context.params.get("job"))
    return [one for one in dict.fromkeys(offered) if one.startswith(incomplete)]


def _names(job: Any) -> list[str]:
    from truethrow.balance.job.job import load  # noqa: PLC0415

    if job is None:
        return []
    try:
        made = load(job, partly=True, given=True)
    except (TruethrowError, OSError):
        return []
    labels = [label for own in made.labels.values() for label in own.values() if label]
    return [*labels, *map(str, made.layout.cylinders)]
