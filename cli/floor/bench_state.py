"""What a bench is by now, for a screen: the same as the terminal shows, made of the same texts."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Literal

from truethrow.balance.base.parts import label
from truethrow.balance.log.records import Begun, Weighed
from truethrow.cli.floor.by_hand import to_do
from truethrow.cli.weighing import benchtext
from truethrow.worksheets.pages.floor.state import Answered, BenchState, Live, News, Row
from truethrow.worksheets.words import bench_words, floor_words

if TYPE_CHECKING:
    from truethrow.balance.log.log import Log
    from truethrow.balance.weighing.session import Session
    from truethrow.cli.weighing.benchloop import BenchLoop
    from truethrow.worksheets.pages.floor.state import Action


def head_of(log: Log) -> int:
    """The number of a log's last record."""
    return sum(not isinstance(record, Begun) for record in log.written)


def live_of(loop: BenchLoop) -> Live:
    """What the scale shows, or what is still to take."""
    shown = benchtext.shown(loop)
    asks_for_nothing = loop.session.step is None and loop.port is None
    return Live(
        text=shown.large,
        unit=shown.unit,
        said="" if asks_for_nothing else shown.said,
        standing=loop.standing,
        stable=loop.live is not None and loop.live.stable,
        to_go=shown.is_to_go,
        stop=shown.is_stop,
    )


def scale_of(loop: BenchLoop, *, is_watched: bool = True) -> Literal["", "live", "lost"]:
    """Whether there is a scale, and whether it is heard."""
    if loop.port is None:
        return ""
    is_heard = loop.port.connected and (loop.live is not None or loop.shows_other_unit or not is_watched)
    return "live" if is_heard else "lost"


def state_of(
    loop: BenchLoop,
    job: str,
    step_id: str,
    *,
    hold: str = "",
    scale: Literal["", "live", "lost"] = "",
    taker: str = "",
    taker_name: str = "",
    news: News | None = None,
    next_step: str = "",
    turn: bool = False,
    blocked: str = "",
    stands: str = "",
    notes: tuple[str, ...] = (),
    answered: tuple[Answered, ...] = (),
) -> BenchState:
    """A bench by now. job: its name in addresses; step_id: of the step that is asked for; hold: why nothing is
    taken, where the loop does not know; next_step: what comes after it; turn: whether
    that is done at this bench; blocked: why it cannot be told, where all is weighed; stands: why nothing is
    recorded in the job as it is now; notes: what else is to be known of it; answered: questions that were."""
    session, step = loop.session, loop.session.step
    is_part = step is not None and not step.is_check
    kinds = _kinds(session)
    column = kinds.index(step.kind) if step is not None and step.kind in kinds else -1
    at_grinder = loop.grinding is not None

    def by_hand(*told: str) -> tuple[str, ...]:
        return tuple(to_do(one, at_bench=True, at_grinder=at_grinder) for one in told)

    taken = "" if loop.taken is None else benchtext.taken(loop.taken, session).splitlines()[0]
    return BenchState(
        job=job,
        title=session.job.title,
        head=head_of(session.log),
        step_id=step_id,
        step=floor_words.BLOCKED if blocked else benchtext.short(session),
        step_note=blocked or benchtext.what(session),
        counted=f"{session.done} of {session.total}",
        live=live_of(loop),
        hold=hold or loop.hold,
        target=benchtext.target(loop),
        caution=benchtext.caution(loop),
        flags=by_hand(*loop.flags, *loop.settled),
        doubts=by_hand(*(one for one in benchtext.doubts(loop) if one not in loop.flags)),
        taken=taken,
        messages=by_hand(*(one for one in loop.messages if one != loop.hold)),
        kinds=tuple(label(kind) for kind in kinds),
        column=column,
        rows=tuple(replace(one, flag=by_hand(one.flag)[0]) for one in _rows(loop, kinds, column)),
        spread=benchtext.spread(session),
        may=()
        if stands
        else (
            *(one for one in _may(loop) if not (blocked and one == "grind")),
            *(("take-over",) if taker and not loop.ended else ()),
        ),
        scale=scale,
        taker=taker,
        taker_name=taker_name,
        saved=not loop.is_unsaved,
        unsaved=loop.unsaved,
        news=news or News(),
        unit=session.job.shown_unit,
        grinding=at_grinder,
        is_part=is_part,
        bell=session.job.table.bell,
        ended=stands or by_hand(str(loop.ended or ""))[0],
        next_step=next_step,
        turn=turn,
        name=session.job.id,
        notes=notes,
        answered=answered,
    )


def _kinds(session: Session) -> list[str]:
    """The kinds of part that are weighed, in the order in which they are."""
    return [*dict.fromkeys(step.kind for step in session.steps if not step.is_check)]


def _rows(loop: BenchLoop, kinds: list[str], column: int) -> tuple[Row, ...]:
    session, now, step = loop.session, loop.session.now, loop.session.step
    reads = {kind: {one.cylinder: one for one in session.sisters(kind)} for kind in kinds}
    last = loop.taken.record if loop.taken is not None else None
    flagged = (last.cylinder, last.kind) if isinstance(last, Weighed) and loop.flags else None
    rows = []
    for cylinder in session.job.engine.layout.cylinders:
        own = [reads[kind].get(cylinder) for kind in kinds]
        readings = tuple("" if one is None else now.number(one.mean_g) for one in own)
        more = tuple(f"{one.repeats}×" if one is not None and one.repeats > 1 else "" for one in own)
        names = tuple(now.names.part(kind, cylinder).short for kind in kinds)
        typed = tuple(now.names.typed(kind, cylinder) for kind in kinds)
        name = names[column] if column >= 0 else str(cylinder)
        is_now = column >= 0 and step is not None and step.cylinder == cylinder
        flag = loop.flags[0] if column >= 0 and flagged == (cylinder, kinds[column]) else ""
        rows.append(Row(name, readings, is_now, flag, cylinder, names, typed, more))
    return tuple(rows)


def _may(loop: BenchLoop) -> tuple[Action, ...]:
    """What a hand may do now."""
    session = loop.session
    found: list[Action] = []
    if loop.ended:
        return ()
    if session.step is not None:
        if loop.port is not None or loop.unsaved:
            found.append("take")
        found += ["type", "skip"]
    if session.last is not None or session.replaces is not None:
        found.append("again")
    if any(session.now.readings.values()):
        found += ["cancel", "readings"]
    found += ["back", "go"]
    if loop.grinding is not None:
        found.append("weigh")
    elif session.step is None or session.step.when == "end":
        found.append("grind")
    return tuple(found)


def nothing_more(loop: BenchLoop, job: str) -> str:
    """What is told once a bench has nothing left to ask for; job: as commands are told it."""
    if loop.grinding is not None and loop.session.step is None:
        return bench_words.after_grinding(loop.grinding, job)
    return ""
