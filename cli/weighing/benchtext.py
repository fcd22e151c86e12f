"""What the bench shows, as text: the same for the full screen, for lines, and with or without colour."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.base.naming import mark as mark_of
from truethrow.balance.base.parts import label
from truethrow.balance.log.records import ReferenceRead, ZeroRead
from truethrow.balance.weighing.flags import after_cut_g
from truethrow.balance.weighing.grinder import GrindSession
from truethrow.cli.weighing.benchfigures import ROWS, big, can_draw
from truethrow.worksheets.words.bench_words import (
    EVERYTHING_IS_WEIGHED,
    HELP,
    LEAVES,
    NOTHING_TO_GRIND,
    STOP,
    TARGET,
    TO_GO,
    TO_GO_A_TOUCH,
    alone,
    finer,
    is_a_touch,
    of_taken,
)
from truethrow.worksheets.words.cautions import GRIND_CAUTION
from truethrow.worksheets.words.result_words import pad_name

if TYPE_CHECKING:
    from truethrow.balance.weighing.session import Session, Taken
    from truethrow.balance.weighing.touches import ToGo
    from truethrow.cli.weighing.benchloop import BenchLoop

STATES = {
    "empty": "empty",
    "settling": "moving …",
    "stable": "steady",
    "taken": "taken, lift it off",
    "canceled": "canceled, lift it off",
    "held": "NOT TAKEN: not the part asked for?",
    "unsaved": "NOT SAVED: leave it on, Enter tries again",
    "early": "lift it off first",
    "off": "NOT AT ZERO: tare it",
}
# Screens lower than this have no room for large figures.
LOW_SCREEN = 20


def what(session: Session) -> str:
    """What to put on the scale."""
    step = session.step
    match step:
        case None if isinstance(session, GrindSession):
            return NOTHING_TO_GRIND
        case None:
            return EVERYTHING_IS_WEIGHED
        case _ if step.kind == "zero":
            return f"Empty the scale: zero, {step.when} of the session"
        case _ if step.kind == "reference":
            return f"Put on the reference mass, {step.when} of the session"
    said = session.now.names.said(step.kind, step.cylinder)
    return f"{said[:1].upper()}{said[1:]}"


def taken(found: Taken, session: Session) -> str:
    """A reading that is on the disk, and what looks wrong with it."""
    record = found.record
    name = record.action
    if not isinstance(record, ZeroRead | ReferenceRead):
        name = session.now.names.said(record.kind, record.cylinder)
    said = f"taken: {name}: {record.typed}"
    return "\n".join([said, *(f"! {flag}" for flag in of_taken(found, session.now))])


class Typing(NamedTuple):
    """What a person is about. typed: so far; asking: the question that it answers, empty for a reading; reasons:
    keys that answer it at once; helping: the keys are told in place of the part."""

    typed: str = ""
    asking: str = ""
    reasons: Mapping[str, str] = {}
    helping: bool = False


def screen(loop: BenchLoop, keys: Typing, width: int, height: int, mark: str = "█") -> list[tuple[str, str]]:
    """The whole screen as (style, line); styles: title, what, live, plain, good, flag, help. mark: what large
    letters are drawn with."""
    mark = mark if height >= LOW_SCREEN else ""
    foot = _foot(loop, keys, width, height)
    head = [("title", _title(loop.session, width))]
    if keys.helping:
        body = [("plain", text) for line in ("", *HELP) for text in textwrap.wrap(line, width) or [""]]
    else:
        body = [*_part(loop, width, mark), *_live(loop, width, mark), *_about_it(loop, width)]
        body += [*_about_the_last(loop, width), *_sisters(loop.session, width)]
    room = max(0, height - len(foot) - len(head))
    filled = body[:room] + [("plain", "")] * (room - len(body))
    return [*head, *filled, *foot][:height]


def _title(session: Session, width: int) -> str:
    counted = f"{session.done} of {session.total}"
    title = f"{session.job.id}  {session.job.title}"[: max(0, width - len(counted) - 2)]
    return f"{title}{counted:>{max(1, width - len(title))}}"


def _part(loop: BenchLoop, width: int, mark: str) -> list[tuple[str, str]]:
    """What to put on: in large letters where they have room and can tell it, and by its whole name."""
    session, large = loop.session, short(loop.session)
    said = "   ".join(filter(None, (what(session), target(loop))))
    lines = [("what", text) for text in textwrap.wrap(said, width)]
    rows = big(large, mark, gap=1) if mark and can_draw(large) else []
    if rows and len(rows[0]) <= width - 2:
        lines = [*(("what", f"  {row}") for row in rows), *lines]
    return lines


def short(session: Session) -> str:
    """A part as it is marked, or where it was weighed, for large letters."""
    step = session.step
    if step is None:
        return "done"
    if step.is_check:
        return step.kind
    part = session.now.names.part(step.kind, step.cylinder)
    return f"{label(step.kind)} {mark_of(part.label) if part.label else part.short}"


def target(loop: BenchLoop) -> str:
    """What the part at hand is to read, where metal came off it or is to."""
    session, step = loop.session, loop.session.step
    if step is None or step.is_check:
        return ""
    now = session.now
    if loop.grinding is not None and (visit := loop.grinding.visit) is not None:
        return TARGET.format(target=now.mass(visit.targets_g[step.kind]))
    expected_g = after_cut_g(now, step)
    return "" if expected_g is None else LEAVES.format(target=now.mass(expected_g))


def _live(loop: BenchLoop, width: int, mark: str) -> list[tuple[str, str]]:
    """What the scale shows, or at the grinder what is still to take; in large figures with a mark to draw them."""
    found = shown(loop)
    large, gap = found.large, " " if found.is_to_go else "  "
    said = f"{found.unit}{gap}{found.said}" if found.unit else found.said
    if mark and not large:  # the rows stay where they are
        return [*[("live", "")] * ROWS, ("live", f"  {said}"[:width])]
    if not mark or not can_draw(large):
        return [("live", text) for text in textwrap.wrap(f"  {large} {said}", width)]
    lines = [("live", f"  {row}"[:width]) for row in big(large, mark)]
    return [*lines, *(("live", f"  {text}") for text in textwrap.wrap(said, width - 2))]


class Shown(NamedTuple):
    """What the scale shows, or at the grinder what is still to take. large: the figure, empty for none; unit:
    behind it; said: what it is; is_to_go: whether it is what is still to take, which is_stop says is nothing."""

    large: str
    unit: str
    said: str
    is_to_go: bool = False
    is_stop: bool = False


def shown(loop: BenchLoop) -> Shown:
    now, live = loop.session.now, loop.live
    unit = now.job.shown_unit
    reads = "" if live is None else now.number(live.live_g)
    on_port = "no scale on a port: type the number, then Enter" if loop.port is None else "waiting for the scale …"
    state = on_port if live is None else STATES[loop.standing]
    if (left := to_go(loop)) is None:
        return Shown(reads, unit if live is not None else "", state)
    state = f"{reads} {unit}, {state}" if reads else state
    if left.pad:
        pad, told = pad_name(left.pad), TO_GO_A_TOUCH if is_a_touch(left, now) else TO_GO
        told = told.format(pad=pad, aim=finer(left.aim_g, now))
        return Shown(now.number(left.left_g), unit, f"{told}  ({state})", is_to_go=True)
    if left.left_g < -now.job.scale.resolution_g:
        state = f"{now.mass(-left.left_g)} below its target; {state}"
    return Shown(STOP, "", state, is_stop=True)


def to_go(loop: BenchLoop) -> ToGo | None:
    """At the grinder: of what lies on the scale and is not taken yet, else by the last reading. None where what
    lies there, or swings there, cannot be the part: what it reads stands in its place."""
    if loop.grinding is None or loop.standing in ("held", "unsaved", "early"):
        return None
    live = loop.live
    if live is None or loop.standing not in ("settling", "stable"):
        left = loop.grinding.at_hand
        # Lifted off: nothing is there to stop at, the other end is to be put on.
        return None if left is not None and not left.pad and loop.standing == "empty" else left
    return None if loop.grinding.is_another_part(live.live_g) else loop.grinding.to_go(live.live_g)


def _about_it(loop: BenchLoop, width: int) -> list[tuple[str, str]]:
    """What is wrong with the scale, or with what lies on it."""
    said = (loop.hold, *doubts(loop)) if loop.hold else doubts(loop)
    if warning := caution(loop):
        said = (warning, *said)
    return [("flag", text) for one in said for text in textwrap.wrap(f"! {one}", width)]


def doubts(loop: BenchLoop) -> tuple[str, ...]:
    """What is wrong with what lies on the scale, or with the part that is asked for."""
    step = loop.session.step
    lone = (alone(step, loop.session.now),) if step is not None and step in loop.session.alone else ()
    return (*lone, *loop.doubts)


def caution(loop: BenchLoop) -> str:
    """What is said before the first touch of each part at the grinder; else empty."""
    at_the_grinder = loop.grinding is not None and loop.grinding.visit is not None
    return GRIND_CAUTION if at_the_grinder and loop.grinding and loop.grinding.at_hand is None else ""


def _about_the_last(loop: BenchLoop, width: int) -> list[tuple[str, str]]:
    """What was taken last, and under it what is wrong with it and what it settled."""
    if loop.taken is None:
        return []
    lines = [("good", taken(loop.taken, loop.session).splitlines()[0][:width])]
    lines += [("flag", text) for one in loop.flags for text in textwrap.wrap(f"! {one}", width)]
    return [*lines, *(("good", text) for one in loop.settled for text in textwrap.wrap(one, width))]


def _foot(loop: BenchLoop, keys: Typing, width: int, height: int) -> list[tuple[str, str]]:
    lines = [("plain", text) for message in loop.messages for text in textwrap.wrap(message, width)]
    lines = lines[-max(2, height // 6) :]
    lines.append(("plain", f"{keys.asking or _number(loop.session)}> {keys.typed}_"[-width:]))
    lines += [("help", text) for text in _across([f"{key} {why}" for key, why in keys.reasons.items()], width)]
    return [*lines, ("help", _help(bool(keys.asking), width))]


def _number(session: Session) -> str:
    """What is asked for; in which unit, where that is not the job's own."""
    unit = session.job.shown_unit
    return "number" if unit == session.job.units.mass else f"number in {unit}"


def _across(told: list[str], width: int) -> list[str]:
    """Short texts side by side, as many as fit into a line."""
    wide = max(map(len, told), default=0) + 3
    across = max(1, (width - 2) // wide)
    rows = [told[i : i + across] for i in range(0, len(told), across)]
    return ["  " + "".join(f"{text:<{wide}}" for text in row).rstrip() for row in rows]


def _sisters(session: Session, width: int) -> list[tuple[str, str]]:
    """The others of the kind at hand, and their spread beside its limit."""
    step, now = session.step, session.now
    if step is None or step.is_check:
        return []
    sisters = session.sisters(step.kind)
    if not sisters:
        return [("plain", f"No {label(step.kind)} weighed yet.")]
    told = [
        f"{session.now.names.part(step.kind, s.cylinder).short}: {now.number(s.mean_g)}"
        + (f" ({s.repeats}×)" if s.repeats > 1 else "")
        for s in sisters
    ]
    lines = [("plain", f"  {text}"[:width]) for text in filter(None, [spread(session)])]
    if len(sisters) < 2:
        return [*lines, ("plain", f"  {told[0]}"[:width])]
    return [*lines, *(("plain", text[:width]) for text in _across(told, width))]


def spread(session: Session) -> str:
    """How far the parts of the kind at hand are apart, beside the limit; empty where that cannot be told."""
    if session.step is None or session.step.is_check or not (sisters := session.sisters(session.step.kind)):
        return ""
    spread_g, _, limit_g, said = session.now.spread(session.step.kind, sisters)
    if len(sisters) < 2:  # one alone has no spread
        return "" if limit_g is None else f"limit of the spread {session.now.allowed(limit_g)}"
    limit = "" if limit_g is None else f", limit {session.now.allowed(limit_g)}: {said}"
    return f"spread {session.now.mass(spread_g)}{limit}"


def _help(asking: bool, width: int) -> str:
    if asking:
        return "Enter says so, Esc leaves it"
    long = "Enter takes  r again  x cancel  s skip  b back  g go to  ? help  q leave"
    return long if width >= len(long) else "Enter r x s b g ? q"
