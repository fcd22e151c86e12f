"""What the builder's page of a job shows by now: made of the same values, by the same functions, as match, accept,
trim and the trim card."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.base.errors import BadInput, TruethrowError
from truethrow.balance.base.parts import label
from truethrow.balance.log.log import when
from truethrow.balance.log.place import Snapshot, open_log
from truethrow.balance.log.records import Cut as CutRecord
from truethrow.balance.log.records import Proposed, Traded, struck_ids
from truethrow.balance.log.replaying import waiting_last
from truethrow.balance.matching.proposing import against
from truethrow.balance.result.match_first import is_to_match
from truethrow.balance.result.plans import step_id
from truethrow.balance.result.trim import name_of
from truethrow.cli import trading
from truethrow.cli.floor.ahead import files_of
from truethrow.cli.floor.bench_state import head_of
from truethrow.cli.floor.by_hand import lines_of, to_do
from truethrow.cli.floor.look_again import doubts_of, to_settle
from truethrow.cli.profiles import by_itself
from truethrow.worksheets.pages.floor.build_state import BuildState, Cut, Match, Move, Part, Search, Stage, Trim
from truethrow.worksheets.words import build_words as words
from truethrow.worksheets.words import card_words, matching_words, result_words, server_words
from truethrow.worksheets.words.cautions import MARK_SHORT, TRIM_ON_A_PAGE, TRIM_SHORT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from truethrow.balance.base.naming import Names
    from truethrow.balance.base.trades import Moves
    from truethrow.balance.log.log import Log
    from truethrow.balance.log.records import Record
    from truethrow.balance.result.trim import PartTrim
    from truethrow.balance.result.work import Result
    from truethrow.worksheets.cards.known import Known
    from truethrow.worksheets.shown.display import Display


class Made(NamedTuple):
    """The page, and its drawings: by the plan's name and the part's key."""

    state: BuildState
    drawings: dict[tuple[str, str], str]


def made(place: Snapshot, name: str, search: Search | None, said: tuple[str, ...]) -> Made:
    """The page by now. name: of the job in addresses; search: how far one is; said: how the last one ended."""
    try:
        return _made(place, name, search, said)
    except TruethrowError as error:
        lines = tuple(lines_of(error))
        return Made(BuildState(name, "", stage="fault", lines=lines, search=search, said=said), {})


def _made(place: Snapshot, name: str, search: Search | None, said: tuple[str, ...]) -> Made:
    from truethrow.worksheets.cards.known import load  # noqa: PLC0415 (numpy, by way of the station)

    known, log, files = load(place), open_log(place), files_of(place.of)
    display = known.display()
    # Once cuts are begun it is too late for a match until what was cut is weighed again.
    proposal = None if known.standing else _proposal(place, known, log, display)
    trim, drawings = _trim(known, log, display)
    stage, lines = _stage(place, known, proposal, trim)
    is_held = stage == "look" and known.result is not None
    if search is not None:
        stage = "search"
    if stage in ("search", "accept"):  # nobody grinds the set as it sits while it may be matched
        trim, drawings = None, {}
    return Made(
        BuildState(
            job=name,
            name=known.bench.id,
            title=known.bench.title,
            head=head_of(log),
            stage=stage,
            lines=lines,
            doubts=doubts_of(known.result, display) if is_held and known.result else (),
            again=to_settle(known.result) if stage == "done" and known.result else (),
            candidates=files.candidates,
            shelves=len(files.shelves),
            is_in_book=files.is_in_book,
            search=search,
            said=said,
            proposal=proposal,
            accepted=_accepted(known, log),
            trim=trim,
            next_step=tuple(to_do(one, at_desk=True) for one in by_itself(place)[0].steps),
            may_match=known.result is not None and known.standing is None and stage != "look",
        ),
        drawings,
    )


def _stage(
    place: Snapshot, known: Known, proposal: Match | None, trim: Trim | None
) -> tuple[Stage, tuple[str, ...]]:
    """What is to be done now, and what stands against going on."""
    result, standing = known.result, known.standing
    if standing is not None and trim is not None:
        again = ", ".join(known.names.said(part, cylinder) for part, cylinder in standing.waiting)
        return ("again", (again,)) if standing.is_all_done else ("grind", ())
    if result is None:
        return "weigh", (known.still_to_weigh,)
    if result.is_held or result.of_no_cut:
        return "look", ()
    if proposal is not None and not proposal.against:
        return "accept", ()
    if is_to_match(result.job, open_log(place).records):
        return "match", words.MATCH_FIRST
    nothing = (_nothing_to_trim(result),) if result.trim is None else ()
    return "done" if trim is None else "grind", nothing


def _nothing_to_trim(result: Result) -> str:
    """Why no plan was made; what would settle what is too close to call is at the bench, and linked there."""
    if not result.to_settle:
        return result_words.nothing_to_trim(result)
    close = [one for one in result.spreads if one.limit_g is not None and one.verdict == "too close to call"]
    return words.SETTLE.format(spreads=", ".join(label(one.quantity) for one in close))


# The match


def _proposal(place: Snapshot, known: Known, log: Log, display: Display) -> Match | None:
    """The match that is to be accepted or left now."""
    last = waiting_last(log.records)
    if last is None:
        return None
    moved, in_the_way = trading.parts_of(known.names, last.moves), _in_the_way(place, known, last)
    why, compared = [result_words.sentence(last.why)] if last.why else [], []
    if known.result is not None and not in_the_way:
        after = _after(known.result, last.moves)
        if brought := matching_words.brings(known.result, after, last.moves, display):
            why.append(f"{brought}.")
        compared = matching_words.side_by_side((known.result, after), display)
    return Match(
        id=last.id,
        who=words.PROPOSED_BY.format(by=last.by or last.bench, at=when(last.at)),
        moves=_moves(moved),
        why=tuple(why),
        compared=tuple((row[0], row[1], row[2]) for row in compared),
        against=in_the_way,
        short=MARK_SHORT,
    )


def _in_the_way(place: Snapshot, known: Known, proposal: Proposed) -> tuple[str, ...]:
    """What stands against accepting a match, a sentence each."""
    result = known.result
    if result is not None and (result.doubts or result.of_no_cut) and result.job.digest == proposal.digest:
        return (words.RESTS_ON_A_SLIP,)  # which ones, and what to do about them, is told on the page already
    try:
        faults = against(place, proposal)
    except BadInput as error:
        faults = list(error.faults)
    here = f" {server_words.ON_BUILD}"
    return tuple(line.removesuffix(here) for line in lines_of(BadInput(faults))) if faults else ()


def _after(result: Result, moves: Moves) -> Result:
    from truethrow.balance.matching.match import rearranged  # noqa: PLC0415
    from truethrow.balance.result.work import work  # noqa: PLC0415

    return work(rearranged(result.job, moves))


def _accepted(known: Known, log: Log) -> Match | None:
    """The last trade that counts: what is marked on which part, and where it goes."""
    struck = struck_ids(log.records)
    trades = [one for one in log.records if isinstance(one, Traded) and one.id not in struck]
    if not trades:
        return None
    last = trades[-1]
    who = words.ACCEPTED_BY.format(by=last.by or last.bench, at=when(last.at))
    return Match(last.id, who, _moves(trading.parts_of(known.names, last.moves, are_made=True)))


def _moves(parts: Sequence[object]) -> tuple[Move, ...]:
    from truethrow.balance.base.naming import Part as Named  # noqa: PLC0415

    found = []
    for part in parts:
        assert isinstance(part, Named)
        mark = f"{part.weighed_in}>{part.goes_in}"
        found.append(Move(trading.taken(part), mark, str(part.cylinder), str(part.goes_in)))
    return tuple(found)


# The trim


def _trim(known: Known, log: Log, display: Display) -> tuple[Trim | None, dict[tuple[str, str], str]]:
    """The plan that is begun, else the one that trim tells now; None while there is none to grind by."""
    result = known.planned
    if result is None or known.why_not("trim") or result.trim is None or not result.trim.parts:
        return None, {}
    if result.of_no_cut and known.standing is None:
        return None, {}
    from truethrow.worksheets.cards.trim import drawn  # noqa: PLC0415 (the drawings)

    plan, names = result.trim, result.job.names
    name = name_of(result.job, plan)
    done = known.standing.done if known.standing else frozenset()
    ticks = _ticks(log, name)
    parts, drawings = [], {}
    # As on the trim card: sort by sort, as they are set up to be ground.
    sorts = list(dict.fromkeys(part.part for part in plan.parts))
    for part in sorted(plan.parts, key=lambda one: sorts.index(one.part)):
        key = f"{part.part}-{part.cylinder}"
        drawings[name, key] = drawn(part, result.job, display)
        parts.append(_part(part, key, name, done, ticks, display, names))
    notes = [f"{result_words.shortfall(one, display, names)}." for one in plan.shortfalls]
    if plan.swap is not None and known.standing is None:
        notes.append(f"{result_words.swap(plan.swap, display, names)}.")
    notes += [f"{told}." for told in result_words.learned_for(plan, result.job.ground)]
    if result.job.pads_assumed:
        notes.append(result_words.assumed_pads(result.job.pads_assumed))
    caption = card_words.PLANNED.format(
        grams=display.masses(plan.grams),
        count=len(plan.parts),
        parts="part" if len(plan.parts) == 1 else "parts",
        plan=name,
    )
    return Trim(name, caption, tuple(parts), tuple(notes), TRIM_ON_A_PAGE, TRIM_SHORT), drawings


def _ticks(log: Log, plan: str) -> dict[tuple[int, str], CutRecord]:
    """The cuts of a plan that are recorded and count, by cylinder and pad."""
    struck = struck_ids(log.records)
    own = (one for one in log.records if isinstance(one, CutRecord) and one.plan == plan and one.id not in struck)
    return {(one.cylinder, one.pad): one for one in own}


def _part(
    part: PartTrim,
    key: str,
    plan: str,
    done: frozenset[tuple[int, str]],
    ticks: dict[tuple[int, str], CutRecord],
    display: Display,
    names: Names,
) -> Part:
    cuts = []
    for cut in part.cuts:
        place = cut.cylinder, cut.pad.kind
        record: Record | None = ticks.get(place)
        said = names.said(part.part, part.cylinder)
        where = "" if cut.pad.at_mm is None else result_words.pad_name(cut.pad.kind)
        ticked = ""
        if place in done:
            by = record.by or record.bench if record else ""
            ticked = words.TICKED_BY.format(by=by) if by else words.TICKED
        cuts.append(
            Cut(
                id=step_id(plan, *place),
                part=f"{said}, {where}" if where else said,
                where=where,
                grams=str(display.in_both(cut.grams)),
                done=ticked,
                record=record.id if record else "",
            )
        )
    reads = tuple(
        f"{_end(kind)}{display.mass(grams)} {display.mass_unit}" for kind, grams in part.expected_g.items()
    )
    return Part(
        key, names.said(part.part, part.cylinder), result_words.cut(part, display, names), tuple(cuts), reads
    )


def _end(kind: str) -> str:
    from truethrow.balance.base.parts import ENDS, label  # noqa: PLC0415

    return f"{label(kind)} " if kind in ENDS else ""
