"""--dry-run of every command that records: what would be recorded, what would come next, and none of it done."""

from __future__ import annotations

import functools
import inspect
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer

from truethrow.balance.base import dry_run
from truethrow.balance.base.errors import printable
from truethrow.balance.log.place import Snapshot

FIRST = "DRY RUN: nothing is recorded. What follows is what would be recorded, and what would come next."
LAST = "DRY RUN: nothing was recorded."
MOST_FILES = 4
_OPTION = inspect.Parameter(
    "dry_run",
    inspect.Parameter.KEYWORD_ONLY,
    default=False,
    annotation=Annotated[
        bool, typer.Option("--dry-run", help="Show what would be recorded and come next; record nothing.")
    ],
)


def can_be_dry(command: Callable[..., Any]) -> Callable[..., Any]:
    """A command that records something or writes a document, with its option --dry-run."""

    @functools.wraps(command)
    def with_option(*, dry_run: bool, **said: Any) -> Any:
        return _dry(command, said) if dry_run else command(**said)

    own = inspect.signature(command, eval_str=True)
    shown: Any = with_option
    shown.__signature__ = own.replace(parameters=[*own.parameters.values(), _OPTION])
    return with_option


def _dry(command: Callable[..., Any], said: dict[str, Any]) -> Any:
    # Standard output is for what a machine reads, where it reads.
    to = sys.stderr if said.get("json") or str(said.get("out")) == "-" else sys.stdout
    with dry_run.running():
        to.write(f"{FIRST}\n")
        try:
            return command(**said)
        finally:
            to.write("".join(f"{line}\n" for line in [*_would_be(said.get("job")), LAST]))


def _would_be(job: object) -> list[str]:
    """The records and files that the command kept back."""
    from truethrow.balance.job.history import events  # noqa: PLC0415
    from truethrow.balance.job.jobfile import told_in_at  # noqa: PLC0415
    from truethrow.worksheets.words import undo_words  # noqa: PLC0415

    lines = []
    if isinstance(job, Snapshot) and (ids := dry_run.records()):
        told_in = told_in_at(job)
        found = {event.record.id: event for event in events(job)}
        lines += [
            f"Would be recorded: {undo_words.without_id(found[one], told_in)}" for one in ids if one in found
        ]
    files = dry_run.files()
    if len(files) > MOST_FILES:
        folders = dict.fromkeys(str(Path(one).parent) for one in files)
        lines.append(f"Would be written: {len(files)} files in {' and '.join(map(printable, folders))}")
    else:
        lines += [f"Would be written: {printable(one)}" for one in files]
    return lines
