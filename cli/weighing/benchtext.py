"""What the bench shows, as text: the same for the full screen, for lines, and with or without colour."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from truethrow.balance.base.parts import label
from truethrow.balance.base.readings import decimals
from truethrow.balance.log.records import ReferenceRead, ZeroRead
from truethrow.worksheets.words.bench_words import CANCEL, HELP, REASONS, of_taken

if TYPE_CHECKING:
    from truethrow.balance.weighing.session import Session, Taken
    from truethrow.cli.weighing.benchloop import BenchLoop

# Five rows a digit, drawn for this bench; readable from a step away.
_DIGITS = {
    "0": ("█████", "█   █", "█   █", "█   █", "█████"),
    "1": ("  █  ", " ██  ", "  █  ", "  █  ", "█████"),
    "2": ("█████", "    █", "█████", "█    ", "█████"),
    "3": ("█████", "    █", " ████", "    █", "█████"),
    "4": ("█   █", "█   █", "█████", "    █", "    █"),
    "5": ("█████", "█    ", "█████", "    █", "█████"),
    "6": ("█████", "█    ", "█████", "█   █", "█████"),
    "7": ("█████", "    █", "   █ ", "  █  ", "  █  "),
    "8": ("█████", "█   █", "█████", "█   █", "█████"),
    "9": ("█████", "█   █", "█████", "    █", "█████"),
    ".": ("  ", "  ", "  ", "  ", "██"),
    "-": ("    ", "    ", "████", "    ", "    "),
}
_STATES = {
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


def big(text: str, mark: str = "█") -> list[str]:
    """A number in figures of five rows. mark: what they are drawn with where █ cannot be shown."""
    rows = ["  ".join(_DIGITS[c][row] for c in text if c in _DIGITS) for row in range(5)]
    return [row.replace("█", mark) for row in rows]


def what(session: Session) -> str:
    """What to put on the scale."""
    step = session.step
    match step:
        case None:
            return "Everything is weighed."
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


def screen(
    loop: BenchLoop,
    typed: str,
    asking: str,
    width: int,
    height: int,
    mark: str = "█",
    *,
    helping: bool = False,
) -> list[tuple[str, str]]:
    """The whole screen as (style, line); styles: title, what, live, plain, good, flag, help. helping: the keys are
    told in place of the part."""
    session = loop.session
    places = decimals(session.job.scale.resolution_g)
    lines: list[tuple[str, str]] = []
    counted = f"{session.done} of {len(session.steps)}"
    title = f"{session.job.id}  {session.job.title}"[: max(0, width - len(counted) - 2)]
    lines.append(("title", f"{title}{counted:>{max(1, width - len(title))}}"))
    if height >= LOW_SCREEN:
        lines.append(("plain", ""))
    if helping:
        lines += [("plain", text[:width]) for text in HELP]
        return [*lines, *[("plain", "")] * height][:height]
    lines += [("what", text) for text in textwrap.wrap(what(session), width)]
    if height >= LOW_SCREEN:
        lines.append(("plain", ""))
    lines += _live(loop, places, mark if height >= LOW_SCREEN else "", width)
    flags = (loop.hold, *loop.flags) if loop.hold else loop.flags
    lines += [("flag", text) for flag in flags for text in textwrap.wrap(f"! {flag}", width)]
    if loop.taken is not None:
        lines.append(("good", taken(loop.taken, session).splitlines()[0][:width]))
    lines += _sisters(session, places, width)
    foot = [("plain", text) for message in loop.messages for text in textwrap.wrap(message, width)]
    foot = foot[-max(2, height // 4) :]
    foot.append(("plain", f"{asking or 'number'}> {typed}_"[-width:]))
    if asking.startswith(CANCEL):
        foot += [("help", text) for text in textwrap.wrap(_reasons(), width)]
        foot = [(style, text.replace("\u00a0", " ")) for style, text in foot]
    foot.append(("help", _help(bool(asking), width)))
    room = height - len(foot)
    body = lines[:room] + [("plain", "")] * max(0, room - len(lines))
    return (body + foot)[:height]


def _live(loop: BenchLoop, places: int, mark: str, width: int) -> list[tuple[str, str]]:
    """What the scale shows: in large figures with a mark to draw them, in plain ones without."""
    if loop.port is None:
        return [("plain", "No scale on a port: type the number, then Enter."[:width])]
    if loop.live is None:
        return [("plain", "Waiting for the scale …")]
    number = f"{loop.live.live_g:.{places}f}"
    said = _STATES[loop.standing]
    if not mark:
        return [("live", f"  {number} g  {said}"[:width])]
    return [*(("live", f"  {row}") for row in big(number, mark)), ("live", f"  g  {said}")]


def _sisters(session: Session, places: int, width: int) -> list[tuple[str, str]]:
    step = session.step
    if step is None or step.is_check:
        return []
    sisters = session.now.sisters(step.kind)
    if not sisters:
        return [("plain", f"No {label(step.kind)} weighed yet.")]
    told = [
        f"{session.now.names.part(step.kind, s.cylinder).short}: {s.mean_g:.{places}f}"
        + (f" ({s.repeats}×)" if s.repeats > 1 else "")
        for s in sisters
    ]
    wide = max(map(len, told)) + 3
    across = max(1, (width - 2) // wide)
    rows = [told[i : i + across] for i in range(0, len(told), across)]
    lines = [("plain", "  " + "".join(f"{text:<{wide}}" for text in row).rstrip()) for row in rows]
    spread_g, _, limit_g, said = session.now.spread(step.kind)
    limit = "" if limit_g is None else f", limit {limit_g:g} g: {said}"
    lines.append(("plain", f"  spread {spread_g:.{places}f} g{limit}"))
    return lines


def _reasons() -> str:
    """The usual reasons of a strike, each unbroken behind its key."""
    return "   ".join(f"{key}\u00a0{why}".replace(" ", "\u00a0") for key, why in REASONS.items())


def _help(asking: bool, width: int) -> str:
    if asking:
        return "Enter says so, Esc leaves it"
    long = "Enter takes  r again  x cancel  s skip  b back  g go to  ? help  q leave"
    return long if width >= len(long) else "Enter r x s b g ? q"
