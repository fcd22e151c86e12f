"""Where a job is, as the board shows it: by the same functions as `next`."""

from __future__ import annotations

from collections.abc import Callable

from truethrow.balance.base.errors import TruethrowError
from truethrow.balance.log.log import when
from truethrow.balance.log.place import Place, has_log, open_log
from truethrow.balance.weighing import benchjob
from truethrow.cli.floor.by_hand import first_of, marked_twice, to_do, told_of
from truethrow.cli.profiles import by_itself
from truethrow.worksheets.pages.floor.state import BoardRow


def look_at(find: Callable[[], Place], name: str, bench: str) -> BoardRow | None:
    """A job by now; None where it is closed. find: where it is; name: its name in addresses; bench: who is
    weighing. One that cannot be read has a row, too, blocked by that."""
    try:
        return _row(find(), name, bench)
    except TruethrowError as error:
        return BoardRow(name, blocked=first_of(told_of(error)), bench=bench)


def _row(place: Place, name: str, bench: str) -> BoardRow | None:
    log = open_log(place, damaged=True) if has_log(place) else None
    if log is not None and log.closed is not None:
        return None
    job = benchjob.load(place)
    step, blocked, no_longer = _stands_at(place)
    changed = f"{when(log.written[-1].at)} UTC" if log is not None and log.written else ""
    return BoardRow(
        job=name,
        title=job.title,
        engine=job.engine.layout_name,
        step=to_do(step),
        blocked=to_do(blocked),
        due=job.about.due,
        who=job.about.who,
        changed=changed,
        bench=bench,
        name=job.id,
        notes="; ".join([*filter(None, (no_longer,)), *marked_twice(place)]),
    )


def _stands_at(place: Place) -> tuple[str, str, str]:
    """What comes next, what blocks it, and that it was signed and is no more. A job whose parts can be weighed but
    that cannot be worked out, as with a slip in its text, is blocked by that."""
    try:
        now, _ = by_itself(place)
    except TruethrowError as error:
        return "", first_of(told_of(error)), ""
    first, *others = now.steps
    step, blocked = ((others[0] if others else ""), first) if now.blocked else (first, "")
    return step, blocked, now.no_longer
