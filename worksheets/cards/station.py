"""The station card: what hangs on the crank, what it reads, where to drill how deep, and what the next spin should
read."""

from __future__ import annotations

from typing import Any

from truethrow.balance.base.amounts import ToldIn
from truethrow.balance.base.readings import digits_for
from truethrow.balance.log.log import when
from truethrow.balance.station import may_go
from truethrow.balance.station.balancing import PLANES, Balancing
from truethrow.balance.station.next_steps import command, ways_out
from truethrow.balance.station.reasons import broken
from truethrow.balance.station.spin import DIVISIONS
from truethrow.worksheets.cards import bobweight, drilling
from truethrow.worksheets.cards.card import (
    Big,
    Bigs,
    Blank,
    Block,
    CardTable,
    Cell,
    Lines,
    Tick,
    Word,
    stop,
    without_empty,
)
from truethrow.worksheets.cards.figures import Figures, verdict
from truethrow.worksheets.cards.known import Known
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import card_words, division_words, result_words
from truethrow.worksheets.words import station_words as words
from truethrow.worksheets.words.cautions import (
    DRILL_CAUTION,
    LIMIT_CAUTION,
    MAKERS_FIRST,
    SIGN_CAUTION,
    SLUG_CAUTION,
)

HEAVY_AT = ("heavy: station", "crank")
# To what an operation takes away is told, as if it were so sure. [g·mm]
SURE_GMM = 10.0


def cautions(known: Known) -> tuple[str, ...]:
    state = known.balancing
    found = [bobweight.spin_caution(known)]
    planned = drilling.planned(state)
    if planned:
        found.append(DRILL_CAUTION)
    if any(one.hole.kind == "slug" for one in planned):
        found.append(SLUG_CAUTION)
    # What stands in one of them is not said again in another.
    is_signed = state is not None and state.signed is not None and may_go.holds(state)
    return (*found, SIGN_CAUTION if is_signed else MAKERS_FIRST)


def blocks(known: Known, data: dict[str, Any], display: Display) -> tuple[Block, ...]:
    """What stops the work, where to drill, what hangs: at one look. Then the drawings, what it reads, and what the
    figures come from."""
    assert known.result
    state, figures = known.balancing, Figures(data, display)
    is_signed = state is not None and state.signed is not None and may_go.holds(state)
    doubts = [] if is_signed else bobweight.in_doubt(known, display)
    made: list[Block] = [*_headline(state, display.told_in), *bobweight.not_seen(known), *doubts]
    if state is not None and data["operations"]:
        made += [*drilling.drill_at(state, figures), drilling.to_do(state, figures), _hangs(known, data, figures)]
        made += drilling.beyond(state, display)
        made += [*_drawn(known, figures), *_as_it_reads(state, figures)]
    else:
        made += bobweight.to_hang(known.result.bobweights, figures)
        made += [drilling.from_the_front(known, figures), *_framed(_as_weighed(known)), *_to_mind(data)]
        if state is None:
            made.append(Lines((_why_nothing_is_read(known),), weight="framed"))
        made += _as_it_reads(state, figures)
    if not is_signed:
        made.append(_to_write(known, figures))
    if state is not None and state.last is not None:
        made += _where_from(known, state, figures)
    if state is not None and not data["operations"]:
        made += drilling.beyond(state, display)
    if is_signed:  # there is nothing left to hang or to drill
        return tuple(made)
    if known.result.bobweights.hung_g is None:
        made.append(_every_throw(figures))
    return (*made, *([] if data["operations"] else drilling.from_the_side(known)))


def _to_mind(data: dict[str, Any]) -> list[Block]:
    return [Lines(notes, "Mind", "framed")] if (notes := _notes(data)) else []


def _notes(data: dict[str, Any]) -> tuple[str, ...]:
    return tuple(f"{note}." for note in data["job"]["notes"])


def _framed(said: tuple[str, ...]) -> list[Block]:
    return [Lines(said, weight="framed")] if said else []


def _as_weighed(known: Known) -> tuple[str, ...]:
    assert known.result
    return (result_words.AS_WEIGHED,) if known.result.trim is not None else ()


def _drawn(known: Known, figures: Figures) -> list[Block]:
    """The crank from its front and its side, and each counterweight at which something is to be done."""
    tiles = drilling.tiles(known, figures)
    drawn = [drilling.from_the_front(known, figures), *drilling.from_the_side(known)]
    return [*drawn, tiles] if tiles.tiles else [*drawn]


def _where_from(known: Known, state: Balancing, figures: Figures) -> list[Block]:
    """What the last spin read, and with what it is ruled by; the spin alone where nothing is added to it."""
    assert state.last
    made: list[Block] = []
    if figures.value("balancing", "in_engine"):
        made.append(in_engine(figures, words.in_engine(state)))
        made += bobweight.rods(known, figures.show)
        made += members(figures)
        made += as_hung(state, figures)
    elif state.last.is_told:
        made.append(_measured(state, figures))
    if not state.last.is_told:
        made.append(Lines((division_words.UNTOLD,), weight="framed"))
    return [*made, *_minds(state, figures.show)]


def _hangs(known: Known, data: dict[str, Any], figures: Figures) -> Lines:
    """What hangs, in a line: once there is something to drill, nothing is larger than its angle. And what to mind
    of the job, without a frame: the cautions are to stand on the same page as the holes."""
    return Lines((_hang(figures), *_as_weighed(known), *_notes(data)))


def _hang(figures: Figures) -> str:
    if figures.value("bobweights", "rule") == "none":
        return "Nothing hangs on any throw."
    if figures.value("bobweights", "hang_g") is not None:
        return f"On every throw hangs {figures.mass('bobweights', 'hang_g').text}."
    throws = figures.value("bobweights", "throws")
    each = (
        f"throw {one['throw']}: {figures.mass('bobweights', 'throws', at, 'hang_g').text}"
        for at, one in enumerate(throws)
    )
    return f"Hangs: {', '.join(each)}."


def _headline(state: Balancing | None, told_in: ToldIn) -> list[Block]:
    """What must not be passed over."""
    if state is None:
        return []
    made: list[Block] = []
    alone = (
        [Lines((f"{said}.",), words.FOR_THESE_PARTS, "framed")] if (said := words.for_these_parts(state)) else []
    )
    if state.signed and may_go.holds(state):
        record = state.signed
        signed = Big("this crank is", Word("SIGNED"), f"by {record.by}, {when(record.at)} UTC")
        proof = stop("NOT PROVED", (said,)) if (said := words.not_proved(state)) else []
        edited = words.signed_by_its_day(state, told_in)
        return [Bigs((signed,)), *alone, *proof, *([Lines((edited,), weight="framed")] if edited else [])]
    made += alone
    if before := words.signed_before(state, told_in):
        made.append(Lines((before,), weight="framed"))
    if said := words.not_proved(state):
        made += stop("NOT PROVED", (said,))
    if reasons := may_go.withheld(state):
        said = (
            "SPIN AGAIN"
            if reasons[0].why in ("rehung", "mended", "changed", "moved", "recut", "apart")
            else "DRILL NOTHING"
        )
        told = [result_words.sentence(reason.said(told_in)) for reason in reasons]
        following = "profile" if any(reason.why == "edited" for reason in reasons) else "spins"
        made += stop(said, (*told, f"What comes next: {command(state, following)}"))
    elif state.beyond_limits:
        told = [result_words.sentence(broken(*one, told_in)) for one in state.beyond_limits]
        made += stop("LOOK AT IT FIRST", (*told, LIMIT_CAUTION))
    elif may_go.is_inside(state):
        which = "what turns in the engine is" if state.for_these_parts else "both planes are"
        made.append(Bigs((Big(which, Word("INSIDE"), "to be signed: truethrow sign"),)))
    elif state.halted:
        made += stop("SPIN BEFORE GOING ON", (result_words.sentence(state.halted.said(told_in)),))
    elif words.waits(state):
        made += stop("SPIN BEFORE THE REST", (words.OTHER_DEPTH,))
    elif state.since and state.plan and not state.to_do:
        done = "the heavy metal is in" if state.plan.then else "all of it is done"
        made.append(Bigs((Big(done, Word("SPIN AGAIN", "framed")),)))
    return made


def _why_nothing_is_read(known: Known) -> str:
    assert known.profile
    return card_words.NO_INSTRUMENT if known.profile.instrument is None else card_words.NO_LIMIT


def _unit(figures: Figures) -> str:
    unit, radius = (figures.value("instrument", name) for name in ("unit", "radius_mm"))
    return unit if radius is None else f"{unit} at {figures.set_at('instrument', 'radius_mm').text}"


def _as_it_reads(state: Balancing | None, figures: Figures) -> list[Block]:
    """The last spin, the next one and the tolerance in the station's own terms: its angles are not the crank's."""
    reads = figures.value("reads")
    columns: list[tuple[str, tuple[Cell, ...]]] = [("plane", PLANES)]
    if state is not None and state.last is not None and reads:
        columns += _read(figures, "last", f"spin {state.last.number}")
        columns += _read(figures, "next", "next, about") if "next" in reads else []
    columns += _tolerance(figures, has_spins=bool(reads))
    heads, cells = zip(*columns, strict=True)
    made: list[Block] = []
    if len(columns) > 1:
        unit = f" [{_unit(figures)}]" if figures.value("instrument") else ""
        made.append(CardTable("station", heads, tuple(zip(*cells, strict=True)), f"As the station shows it{unit}"))
    typed = (f"As typed: {state.last.typed.told(figures.show.told_in)}.",) if state and state.last else ()
    if state and state.last and (before := words.read_before(state, state.last, figures.show.told_in)):
        typed = (*typed, f"Spin {state.last.number} was {before}.")
    if said := (*typed, *_how_it_reads(figures)):
        made.append(Lines(said))
    return made


def _read(figures: Figures, which: str, said: str) -> list[tuple[str, tuple[Cell, ...]]]:
    """Columns of what the station shows. which: of the last spin, or of the next."""
    places = figures.value("reads", "digits")
    amounts = tuple(figures.number("reads", which, plane, "amount", places=places) for plane in PLANES)
    pointing = [figures.value("reads", which, plane, "station_angle_deg") is not None for plane in PLANES]
    angles = tuple(
        figures.degrees("reads", which, plane, "station_angle_deg") if points else ""
        for plane, points in zip(PLANES, pointing, strict=True)
    )
    return [(said, amounts), *([("station's angle", angles)] if any(pointing) else [])]


def _tolerance(figures: Figures, *, has_spins: bool) -> list[tuple[str, tuple[Cell, ...]]]:
    """Columns of the tolerance: as the station shows it, where it is known how that is; and as it is, which each
    spin is told against."""
    if figures.value("planes", "front", "tolerance_gmm") is None:
        return []
    columns: list[tuple[str, tuple[Cell, ...]]] = []
    if figures.value("planes", "front", "tolerance_reads") is not None:
        floor_gmm, gmm = (figures.value("instrument", name) for name in ("floor_gmm", "one_gmm"))
        places = digits_for(floor_gmm / gmm)
        reads = tuple(figures.number("planes", plane, "tolerance_reads", places=places) for plane in PLANES)
        columns.append(("tolerance", reads))
    if not has_spins:
        limits = tuple(figures.limit("planes", plane, "tolerance_gmm", bare=True) for plane in PLANES)
        columns.append((f"tolerance [{figures.show.unbalance_unit}]", limits))
    return columns


def _measured(state: Balancing, figures: Figures) -> CardTable:
    """The last spin against the tolerance."""
    assert state.last
    at = len(state.spins) - 1
    by_the_sum = state.for_these_parts is not None
    rows = tuple(
        spin_row(figures, ("balancing", "spins", at, "planes", plane), plane, is_past=by_the_sum)
        for plane in PLANES
    )
    unit = figures.show.unbalance_unit
    heads = ("plane", f"unbalance [{unit}]", "±", *HEAVY_AT, "±", "tolerance", "")
    return CardTable("last spin", *without_empty(heads, rows), f"Spin {state.last.number}")


def members(figures: Figures) -> list[Block]:
    """What damper, flexplate and so on bring to both planes, and which of them were on."""
    rows: list[tuple[Cell, ...]] = []
    for at, one in enumerate(figures.value("balancing", "members")):
        row: list[Cell] = [one["name"], "on" if one["on"] else Word("off", "framed")]
        for plane in PLANES if one["brings"] else ():
            path = ("balancing", "members", at, "brings", plane)
            sure = figures.value(*path, "uncertainty_gmm")
            row.append(figures.unbalance(*path, "unbalance_gmm", sure_gmm=sure, bare=True))
            row.append(figures.unbalance(*path, "uncertainty_gmm", sure_gmm=sure, bare=True))
            row += both(figures, path, is_pointing=figures.value(*path, "unbalance_gmm") > sure)
        if one["brings"]:
            rows.append((*row, words.SOURCES[one["source"]]))
    unit = figures.show.unbalance_unit
    of_planes = (head for plane in PLANES for head in (f"{plane} [{unit}]", "±", *HEAVY_AT))
    heads = ("member", "last spin", *of_planes, "known")
    return [CardTable("members", heads, tuple(rows), words.MEMBERS)] if rows else []


def in_engine(figures: Figures, said: str) -> CardTable:
    """What is signed for: the last spin, what members bring that were off, what hanging leaves, and the sum. said:
    what it is made of."""
    rows: list[tuple[Cell, ...]] = []
    for plane in PLANES:
        rows_of = (("spin", "spin"), ("members", "members off"), ("hanging", "hanging"), ("whole", "sum"))
        for which, name in rows_of:
            if figures.value("balancing", "in_engine", plane, which) is None:
                continue
            path = ("balancing", "in_engine", plane, which)
            sure = figures.value(*path, "uncertainty_gmm")
            is_sum = which == "whole"
            rows.append(
                (
                    plane,
                    name,
                    figures.unbalance(*path, "unbalance_gmm", sure_gmm=sure, bare=True),
                    figures.unbalance(*path, "uncertainty_gmm", sure_gmm=sure, bare=True),
                    *both(figures, path, is_pointing=figures.value(*path, "unbalance_gmm") > sure),
                    figures.limit("balancing", "planes", plane, "tolerance_gmm", bare=True) if is_sum else "",
                    verdict(figures.value("balancing", "in_engine", plane, "verdict")) if is_sum else "",
                )
            )
    heads = ("plane", "", f"unbalance [{figures.show.unbalance_unit}]", "±", *HEAVY_AT, "tolerance", "")
    return CardTable("in engine", heads, tuple(rows), said, wide=1, close=True)


def as_hung(state: Balancing, figures: Figures) -> list[Block]:
    """What hung at the last spin, as it was weighed, where any was; and what to mind of it."""
    rows: list[tuple[Cell, ...]] = []
    for at, one in enumerate(figures.value("balancing", "hung")):
        path = ("balancing", "hung", at)
        is_weighed = one["weighed_g"] is not None
        rows.append(
            (
                one["throw"],
                figures.mass(*path, "asked_g"),
                figures.mass(*path, "weighed_g") if is_weighed else Word("not weighed", "framed"),
                figures.mass(*path, "off_g") if is_weighed else "",
                figures.mass(*path, "uncertainty_g", finer=1),
            )
        )
    if not rows:
        return []
    heads = ("throw", "asked for", "weighed, clamp and all", "off", "±")
    is_any_weighed = any(one["weighed_g"] is not None for one in figures.value("balancing", "hung"))
    made: list[Block] = [CardTable("bobweights hung", heads, tuple(rows), words.HUNG)] if is_any_weighed else []
    minds = tuple(f"{mind}." for mind in words.minds_of_the_bobweights(state, figures.show))
    return [*made, Lines(minds, weight="framed")] if minds else made


def spin_row(
    figures: Figures, path: tuple[str | int, ...], plane: str, *, is_past: bool = False
) -> tuple[Cell, ...]:
    """One plane of one spin, with its limit and verdict, no more than its name where nobody knows yet what it
    read. is_past: another came after it, or the sum alone decides, so that its verdict stops nobody."""
    if not figures.value(*path[:-1]):
        return plane, "", "", *("" for _ in HEAVY_AT), "", "", ""
    ruled = verdict(figures.value(*path, "verdict"))
    sure = figures.value(*path, "uncertainty_gmm")
    is_pointing = figures.value(*path, "angle_uncertainty_deg") is not None
    return (
        plane,
        figures.unbalance(*path, "unbalance_gmm", sure_gmm=sure, bare=True),
        figures.unbalance(*path, "uncertainty_gmm", sure_gmm=sure, bare=True),
        *both(figures, path, is_pointing=is_pointing),
        figures.degrees(*path, "angle_uncertainty_deg") if is_pointing else "",
        figures.limit("balancing", "planes", plane, "tolerance_gmm", bare=True),
        Word(ruled.text) if is_past and isinstance(ruled, Word) else ruled,
    )


def both(
    figures: Figures, path: tuple[str | int, ...], *, is_pointing: bool = True, places: int = 0
) -> tuple[Cell, Cell]:
    """An angle as this station shows it, and as the crank has it; nothing of what has none."""
    if not is_pointing:
        return "", ""
    own, crank = ((*path, name) for name in ("station_angle_deg", "crank_angle_deg"))
    has_own = figures.value(*own) is not None  # a station that reads divisions tells no place by its angle
    return figures.degrees(*own, places=places) if has_own else "", figures.degrees(*crank, places=places)


def _minds(state: Balancing, show: Display) -> list[Block]:
    """What to know about the readings, and about a plan that is not there."""
    said = [f"{unsure}." for unsure in words.never_inside(state, show)]
    if learned := words.learned(state):
        said.append(f"{learned}.")
    said += [f"{mind}." for mind in words.of_the_proof(state, show.told_in)]
    if proved := words.proved_by(state, show.told_in):
        said.append(f"{proved}.")
    is_open = not may_go.holds(state) and not may_go.withheld(state)
    inside = state.last is not None and state.ruled == ("inside", "inside")
    if is_open and inside:
        said += [f"Not to be signed: {reason.said(show.told_in)}." for reason in may_go.against(state)]
        said += [f"Next: {step}" for step in ways_out(state)]
    elif is_open and state.job.crank is None:
        said.append(card_words.NO_CRANK)
    elif is_open and not state.has_tools:
        said.append(words.NO_TOOLS)
    if is_open and state.plan is not None and words.sum_is_inside(state) and not state.since:
        said.append(words.SUM_IS_INSIDE)
    if is_open and state.plan is not None and not state.plan.operations:
        said.append(words.NO_HELP)
    return [Lines(tuple(said), weight="framed")] if said else []


def _to_write(known: Known, figures: Figures) -> CardTable:
    """Boxes for the next spin, one run a row."""
    instrument = known.profile and known.profile.instrument
    unit = instrument.unit if instrument else ""
    amount, degrees = Blank(unit, wide=6), Blank("°", wide=4)
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (name, amount, degrees, amount, degrees) for name in ("run", "once more", "fixture turned")
    )
    heads = ("the next spin reads", "front", "at", "rear", "at")
    return CardTable("to write", heads, rows, "Write down what the station shows, at its own angle")


def _every_throw(figures: Figures) -> CardTable:
    rows: list[tuple[Cell, ...]] = []
    for at, throw in enumerate(figures.value("bobweights", "throws")):
        path = ("bobweights", "throws", at)
        rows.append(
            (
                throw["throw"],
                figures.throw_at(*path, "crank_angle_deg"),
                "" if throw["position_mm"] is None else figures.length(*path, "position_mm"),
                ", ".join(map(str, throw["cylinders"])),
                figures.mass(*path, "hang_g"),
                Tick(),
            )
        )
    heads = ("throw", "at", "z", "cylinders", "hang", "hung")
    return CardTable("throws", *without_empty(heads, tuple(rows)), "Throws, z from throw 1 rearwards", close=True)


def _how_it_reads(figures: Figures) -> tuple[str, ...]:
    if figures.value("instrument") is None:
        return ()
    if figures.value("instrument", "unit") == DIVISIONS:
        return (division_words.HOW_IT_READS,)
    zero = figures.number("instrument", "zero_deg").text
    return (
        f"The station reads {_unit(figures)}, angles {figures.value('instrument', 'sense')} the rotation, {zero}° "
        "where throw 1 is.",
    )
