"""What the bench tells of a reading and of the scale."""

from __future__ import annotations

import math
import statistics
from typing import TYPE_CHECKING

from truethrow.balance.base.digits import digits
from truethrow.balance.base.parts import label
from truethrow.balance.base.units import MASS, factor
from truethrow.balance.weighing.remembering import KEYS, for_the_job
from truethrow.balance.weighing.session import SEEN

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from truethrow.balance.base.parts import Way
    from truethrow.balance.base.scatter import Scatter
    from truethrow.balance.job.boxes import Box
    from truethrow.balance.job.enter import Entered
    from truethrow.balance.weighing.belongs import Doubt
    from truethrow.balance.weighing.benchjob import WeighStep
    from truethrow.balance.weighing.flags import Flag
    from truethrow.balance.weighing.grinder import GrindSession
    from truethrow.balance.weighing.remembering import Found
    from truethrow.balance.weighing.session import Check, Session, Taken
    from truethrow.balance.weighing.standing import Standing
    from truethrow.balance.weighing.touches import ToGo

OUTLIER = "{off} {side} the median of the others"
OF_A_CUT = "{off} {side} the {against} that the cut was to leave; was it ground, and is it this part?"
REPEAT = "{off} apart from the reading before; weigh it again"
IN_FILE = "the job file has {against}, {off} apart; this reading counts from now on"
WEIGH_AGAIN = "; weigh it again"
OFF_BOX = (
    "{off} {side} what [estimate] says, about {about}, within {within}{scatter}: is it the part that was ordered?"
)
NOT_RECORDED = ", or was it ground and not recorded? (truethrow ground {job})"
CLOSURE = "the ends and the whole rod are {off} apart, allowed {against}"
READS = "{kind} {at} reads {grams}, {off} off"
DRIFTED = "{kind} drifted {off} since the start"
NOT_CHECKED = "not checked: {missed} of the session"
NOT_SEEN = "nobody saw what the empty scale showed before {whose} ± does not count it"

# What happened at the bench, and why nothing is taken.
SILENT = "the scale is silent"
WAS_SILENT = "the scale was silent"
LOST = "the scale was lost"
NOT_WATCHED = "nobody watched the scale"
LIFTED_OFF = "lifted off"
NOT_TAKEN = "{why}, NOT taken: {part} is still to be weighed"
NOT_AT_ZERO = "the empty scale shows {shows}: tare it; nothing is taken until it shows zero"
NOT_SEEN_EMPTY = (
    "nothing is taken until the scale is seen empty and at zero: lift off what lies there; if nothing does, "
    "tare it"
)
OTHER_UNIT = "the scale shows {shows}, this bench weighs in {unit}: switch it back"
MAY_BE_OFF = "{part} may be off by that much: cancel it (x) and weigh it again"
NOT_THIS_PART = "this can't be {part}: put that one on; Enter takes this all the same"
MAY_NOT_BE = "is this {part}? {why}. If it is, put it on once more, or Enter takes it"
# Why it may be another part.
DOUBTS = {
    "another": "the others read {against}",
    "apart": "{other} read {against}: one of the two is another part",
    "kind": "{other} read {against}",
    "beside": "beside a {kind} of {against} that is unusual",
    "bore": "with a bore of {bore} that is unusual",
}
IS_ALONE = "{part} read {grams}, the others {against}: was that another part? It is asked for again at the end"
WEIGHED_ELSEWHERE = "{part} was weighed by {bench}; here it would be a repeat"
STRUCK_OUT = "canceled: {part}; it is asked for again"
REFUSED = "refused: {why}"
NOT_SAVED = "NOT SAVED: {why}"
NOT_READ = "NOT READ: {why}"
OF_THE_LOG = "the log: {note}{more}"
MORE_LIKE_IT = ", and {count} more like it"
EMPTY_FOR_ZERO = "empty the scale for the zero"
TYPE_IT = "type the number"
NOTHING_TO_TAKE = "nothing on the scale to take; type the number"
NOTHING_ON_IT = "nothing lies on the scale"
NOT_AT_REST = "it does not rest yet"
TAKEN_ALREADY = "this load is taken; lift it off, or r weighs it again"
CANCELED_LOAD = "the reading of this load is canceled; lift it off and put it on again, or r weighs it as it lies"
NOTHING_TO_CANCEL = "nothing was weighed yet in this session; g goes to an older reading"
STILL_NOT_SAVED = "NOT SAVED yet: {typed}; Enter tries again, Esc drops it, and nothing else is taken before"
REPLACES = "the next reading replaces {typed}; r keeps both"
KEEPS_BOTH = "the next reading is a repeat; {typed} stays"
IT_MOVES = "{typed} came while the scale moved"
NOT_AT_THE_GRINDER = "{off} {side} the {against} that it read last; is it this part?"
DONE = "{part} is done: {reads}, target {targets}"
GAVE_ALL = "{part} has given all that the plan takes off it: {reads}, target {targets}; the rest is planned anew"
WAS_GROUND = "{part} is {lost} lighter than when it was weighed last: recorded as ground"
TAKE = "{left} to go at the {pad}: aim for {aim}; let it cool and wipe it, then weigh it again"
TAKE_A_TOUCH = (
    "{left} to go at the {pad}, the least that the scale can show: one light touch; let it cool and wipe it, then "
    "weigh it again"
)
IS_BELOW = "{part} is {below} below its target"
SPREAD_COMES_TO = "{quantity} comes to a spread of {spread}, limit {limit}: {verdict}"
NEW_TARGET = "new target: {part} {now} (was {before})"
NOT_GROUND_ANY_MORE = "{part} is not to be ground any more"
TARGETS_STAY = "the other targets stay"
STOP = "stop"
TO_GO = "to go at the {pad}; aim for {aim} at the next touch"
TO_GO_A_TOUCH = "to go at the {pad}: one light touch, then weigh it"
LEAVES = "the cut was to leave {target}"
TARGET = "target {target}"
WEIGHED = "{done} of {total} weighed, in {log}"
GROUND = "{done} of {total} parts ground, in {log}"
HELD_BACK = "Nothing more is to be ground before this is settled:"
HELD_ABOVE = "Nothing more is to be ground before what is told above is settled."
NOTHING_TO_GRIND = "Nothing is left to grind."
EVERYTHING_IS_WEIGHED = "Everything is weighed."
HELP = (
    "Put on what is asked for. The scale takes it when it rests; or type the number, then Enter.",
    "",
    "Enter  take what is typed, or what lies on the scale and waits",
    "r      weigh the last part once more; after b: keep both readings",
    "b      back to the part weighed last; what is weighed there next replaces its reading",
    "x      cancel a reading, with a reason; it stays in the history",
    "s      leave this part for later",
    "g      go to a part, such as 3 pin, or pin P3",
    "Esc    drop what is typed",
    "q      leave; every reading is saved already",
    "?      this help, and back",
)
CANCEL_WHY = "cancel {typed} of {part}, why"
# Why a reading is canceled: on one key each.
REASONS = {
    "1": "another part was on the scale",
    "2": "typed wrong",
    "3": "touched, or not at rest",
    "4": "the zero was off",
    "5": "dirt or a tool on the scale",
}

REMEMBER = "this session's second weighings say how far this scale scatters: {found}"
REMEMBER_IT = "Remember that in {profile}, for other jobs?"
REMEMBER_LATER = "To remember that for other jobs: {command}"
REMEMBERED_NOW = "{profile} remembers: {found}"
LEFT_OUT = "not counted for that, too far apart: {parts}"
REMEMBERED = "{profile} knows how far this scale scatters{on}; to count on it, put this under [scale] in the job:"
WAY_NAMES: dict[Way, str] = {"pan": "on the pan", "support": "rod ends"}


def scatters(found: Mapping[Way, Scatter], unit: str) -> str:
    """Scatters in one line: on the pan 0.029 g (of 3 second weighings). unit: the scale's."""
    return "; ".join(
        f"{WAY_NAMES[way]} {digits(one.standard_g / float(factor(unit, MASS)), 2)} {unit}"
        + ("" if math.isinf(one.freedom) else f" (of {_counted(round(one.freedom), 'second weighing')})")
        for way, one in found.items()
    )


def remember_command(found: Found, profile: str) -> str:
    """What puts a session's finding into a profile, ready to paste."""
    said = [f"truethrow remember {profile} {found.session}"]
    for way, one in found.scatter.items():
        said.append(f"--{'pan' if way == 'pan' else 'rod-ends'} {one.standard_g:.4g}g {one.freedom:g}")
    return " ".join(said)


def known_before(session: Session) -> list[str]:
    """What the profile has that the job does not say, as lines ready to paste."""
    if not (known := for_the_job(session)):
        return []
    day = session.job.remembered_on
    on = f" (found by {day.isoformat()})" if day else ""
    return [REMEMBERED.format(profile=session.job.profile, on=on), *_scatter_lines(known)]


def left_out(found: Found, now: Standing) -> list[str]:
    parts = ", ".join(now.names.said(reading.kind, reading.cylinder or 0) for reading in found.left_out)
    return [LEFT_OUT.format(parts=parts)] if parts else []


def _scatter_lines(found: Mapping[Way, Scatter]) -> list[str]:
    lines = []
    for way, scatter in found.items():
        lines.append(f'{KEYS[way]} = "{scatter.standard_g:.4g} g"')
        if not math.isinf(scatter.freedom):
            lines.append(f"{KEYS[way]}_from = {scatter.freedom:g}")
    return lines


def flag(found: Flag, now: Standing) -> str:
    """What looks wrong with a reading."""
    off, against = now.mass(found.off_g), now.mass(found.against_g)
    side = "above" if found.is_above else "below"
    match found.what:
        case "outlier":
            said = OUTLIER.format(off=off, side=side)
            return f"{said}; {found.mistake}?" if found.mistake else said
        case "cut":
            return OF_A_CUT.format(off=off, side=side, against=against)
        case "grinder":
            return NOT_AT_THE_GRINDER.format(off=off, side=side, against=against)
        case "closure":
            return CLOSURE.format(off=off, against=now.allowed(found.against_g))
        case "file":
            said = IN_FILE.format(off=off, against=against) + ("" if found.agrees else WEIGH_AGAIN)
        case "doubt":
            return of_doubt(found.doubt, now) if found.doubt else ""
        case "box":
            said = OFF_BOX.format(off=off, side=side, **_box(found.box, now))
        case "repeat":
            said = REPEAT.format(off=off)
    return said + NOT_RECORDED.format(job=now.job.name) if found.may_be_ground else said


def _box(found: Box | None, now: Standing) -> dict[str, str]:
    assert found
    scatter = f", scatter {now.mass(found.scatter_g)}" if found.scatter_g else ""
    return {"about": now.mass(found.about_g), "within": now.mass(found.within_g), "scatter": scatter}


def of_doubt(found: Doubt, now: Standing) -> str:
    """Why a reading may be of another part."""
    other = now.names.said(found.kind or "part", found.cylinder) if found.kind and found.cylinder else ""
    if found.what == "bore":
        return DOUBTS["bore"].format(bore=now.job.units.told_in.size(found.against_g))
    return DOUBTS[found.what].format(against=now.mass(found.against_g), other=other, kind=label(found.kind))


def held(found: Doubt | None, part: str, now: Standing) -> str:
    """Why what lies on the scale is not taken, and what to do."""
    if found is None or not found.passes_twice:
        return NOT_THIS_PART.format(part=part)
    return MAY_NOT_BE.format(part=part, why=of_doubt(found, now))


def alone(step: WeighStep, now: Standing) -> str:
    """That a part is none of its set, and asked for again."""
    return IS_ALONE.format(
        part=now.names.said(step.kind, step.cylinder),
        grams=now.mass(now.of(step)[0].grams),
        against=now.mass(statistics.median(now.others(step))),
    )


def flags(found: tuple[Flag, ...], now: Standing) -> tuple[str, ...]:
    return tuple(flag(one, now) for one in found)


def of_taken(found: Taken, now: Standing) -> tuple[str, ...]:
    """What looks wrong with a reading that is on the disk, and with the scale."""
    lone = (alone(one, now) for one in found.alone if now.of(one))  # one may be canceled by now
    return (*flags(found.flags, now), *lone, *(check(one, now) for one in found.checks))


def of_grinding(session: GrindSession) -> tuple[str, ...]:
    """What a reading at the grinder settled, and what to take next."""
    from truethrow.worksheets.words.result_words import pad_name  # noqa: PLC0415 (few sessions are at the grinder)

    said = [*of_news(session)]
    to_go = session.at_hand
    if to_go is not None and to_go.pad:
        left, pad = session.now.mass(to_go.left_g), pad_name(to_go.pad)
        if is_a_touch(to_go, session.now):
            said.append(TAKE_A_TOUCH.format(left=left, pad=pad))
        else:
            said.append(TAKE.format(left=left, pad=pad, aim=finer(to_go.aim_g, session.now)))
    return tuple(said)


def after_grinding(session: GrindSession, job: str, told: Collection[str] = ()) -> str:
    """What is next once a session at the grinder ends. job: as commands are told it; told: what was printed
    already, and is not said twice."""
    if session.held is not None:
        untold = [f"! {line}" for line in session.held.lines() if line not in told]
        return "\n".join([HELD_BACK, *untold]) if untold else HELD_ABOVE
    if session.is_over or session.step is None:
        return NOTHING_TO_GRIND
    part = session.now.names.said(session.step.kind, session.step.cylinder)
    return f"Not done: {part} is next. Go on: truethrow weigh {job} --grind"


def of_news(session: GrindSession) -> tuple[str, ...]:
    """What a reading at the grinder settled."""
    from truethrow.balance.weighing.grinder import Below  # noqa: PLC0415 (few sessions are at the grinder)

    news, now = session.news, session.now
    at, said = news or session.visit, []
    part = now.names.said(at.part, at.cylinder) if at is not None else ""
    if session.ground_g:
        said.append(WAS_GROUND.format(part=part, lost=now.mass(session.ground_g)))
    held = session.held.lines() if session.held is not None and session.is_newly_held else []
    if news is None:
        return (*said, *held)
    if not isinstance(news, Below):
        reads, targets = (" / ".join(map(now.mass, grams.values())) for grams in (news.reads_g, news.targets_g))
        done = GAVE_ALL if news.is_above else DONE
        return (*said, done.format(part=part, reads=reads, targets=targets), *held)
    said.append(IS_BELOW.format(part=part, below=now.mass(news.below_g)))
    if session.held is not None:
        return (*said, *held)
    for spread in news.spreads:
        said.append(
            SPREAD_COMES_TO.format(
                quantity=label(spread.quantity),
                spread=now.mass(spread.spread_g),
                limit=now.allowed(spread.limit_g or 0.0),
                verdict="OUTSIDE" if spread.verdict == "outside" else spread.verdict,
            )
        )
    for one in news.changed:
        who = now.names.said(one.kind, one.cylinder)
        if one.now_g is None:
            said.append(NOT_GROUND_ANY_MORE.format(part=who))
        else:
            before = "as it is" if one.before_g is None else now.mass(one.before_g)
            said.append(NEW_TARGET.format(part=who, now=now.mass(one.now_g), before=before))
    return tuple(said if news.changed else [*said, TARGETS_STAY])


def is_a_touch(to_go: ToGo, now: Standing) -> bool:
    """Whether what is to go is but a step of the scale: no part of it can be aimed at."""
    return to_go.left_g < 1.5 * now.job.scale.resolution_g


def finer(grams: float, now: Standing) -> str:
    """A mass with one digit more than the scale has: what a hand aims at."""
    return now.mass(grams, finer=1)


def check(found: Check, now: Standing) -> str:
    off = now.mass(found.off_g)
    if found.reads_g is None:
        return DRIFTED.format(kind=found.kind, off=off)
    at = "between loads" if found.when == SEEN else f"at the {found.when}"
    return READS.format(kind=found.kind, at=at, grams=now.mass(found.reads_g), off=off)


def drift(session: Session) -> list[str]:
    """What the checks of the scale say beyond the limit."""
    allowed = session.now.allowed(session.drift_limit_g)
    return [f"{check(one, session.now)}; allowed {allowed}" for one in session.drift()]


def missed_checks(session: Session) -> list[str]:
    """What was not seen of the scale, for a session that ends now."""
    missed, count = [f"{step.kind} at the {step.when}" for step in session.missed_checks()], session.unzeroed
    told = [NOT_CHECKED.format(missed=", ".join(missed))] if missed else []
    if count:
        whose = "1 reading, and its" if count == 1 else f"{count} readings, and their"
        told.append(NOT_SEEN.format(whose=whose))
    return told


def entered(done: Entered, into: str, job: str) -> list[str]:
    """What came of a sheet that was entered; where nothing did, why. into: the job as it is said; job: as commands
    are told it."""
    said = f"{_counted(done.new, 'new reading')} entered into {into}"
    if done.labels:
        said += f", {_counted(done.labels, 'new label')}"
    if done.known:
        which = "all of the sheet's" if not done.new else "the others of the sheet"
        said += f"; {which}, {done.known}, are in the job file already"
    elif not done.new:
        said += "; the sheet has none"
    lines = [said]
    if done.cut:
        parts = ", ".join(part.said for part in done.cut)
        lines.append(f"Cut since, so that what the sheet reads is history: {parts}")
        lines.append(f"If one of these is not weighed since, weigh it again: truethrow weigh {job}")
    if done.moved:
        parts = ", ".join(part.said for part in done.moved)
        lines.append(f"Traded places since, and took their readings along: {parts}")
    return lines


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
