"""The plan on the station's card: what to do at which counterweight, in which order, and the crank with it."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from truethrow.balance.base.amounts import DEGREES
from truethrow.balance.correction import apply
from truethrow.balance.crank.crank import Crank, Member
from truethrow.balance.crank.holes import Hole
from truethrow.balance.station import may_go
from truethrow.balance.station.balancing import Balancing
from truethrow.balance.station.next_steps import must_be_named, recording
from truethrow.balance.station.spin import Instrument
from truethrow.worksheets.cards.card import (
    Big,
    Bigs,
    Blank,
    Block,
    CardTable,
    Cell,
    Figure,
    Lines,
    Picture,
    Tick,
    Tile,
    Tiles,
    Word,
    without_empty,
)
from truethrow.worksheets.cards.figures import Figures
from truethrow.worksheets.cards.known import Known
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import card_words
from truethrow.worksheets.words import station_words as words

# What is left of a plan of which a hole is not as it was planned.
WAITS = Word("wait", "framed")


def planned(state: Balancing | None) -> list[words.Operation]:
    """What the card says of the plan: nothing where the spin that it comes from was of another job."""
    return [] if state is None else words.operations(state)


def _drawn(state: Balancing | None) -> list[words.Operation]:
    """What is drawn of it: what waits for a spin is not, else somebody drills it."""
    found = planned(state)
    return [one for one in found if one.is_done] if state and words.waits(state) else found


def tiles(known: Known, figures: Figures) -> Tiles:
    """Each counterweight at which something is to be done, or is done since the last spin."""
    state = known.balancing
    if state is None or known.job is None or known.job.crank is None:
        return Tiles(())
    crank = _with_earlier_holes(known)
    assert crank
    members = {member.name: member for member in crank.members}
    at_each: dict[str, list[tuple[int, words.Operation]]] = {}
    for at, one in enumerate(_drawn(state)):
        at_each.setdefault(one.hole.member, []).append((at, one))
    made = []
    # In the order in which they are done, not front to rear.
    for name, own in at_each.items():
        rows = () if words.waits(state) else tuple(row for _, one in own for row in _to_write(one, figures))
        made.append(
            Tile(name, _face(members[name], [one for _, one in own], figures.show, state.instrument), rows)
        )
    return Tiles(tuple(made))


def _to_write(one: words.Operation, figures: Figures) -> list[tuple[str, tuple[Cell, ...]]]:
    """A box for the depth that an operation really got; for what a slug, which is as long as it is, weighs."""
    if one.is_done:
        return []
    if one.hole.kind == "slug":
        return [(f"{one.number}. slug weighs", (Blank(figures.show.mass_unit),))]
    return [(f"{one.number}. really deep", (Blank(figures.show.length_unit),))]


def to_do(state: Balancing, figures: Figures) -> CardTable:
    """All operations in their order, readable at arm's length: where on the crank, and what the tool is set by."""
    found = figures.value("operations")
    rows: list[tuple[Cell, ...]] = []
    for at, one in enumerate(found):
        path = ("operations", at)
        radius = (
            figures.length(*path, "radius_mm", places=2)
            if one["kind"] in ("axial", "slug", "took", "added")
            else ""
        )
        is_other = round(one["planned_mm"] - one["depth_mm"], 3) != 0
        planned = figures.length(*path, "planned_mm", places=2) if is_other else ""
        rows.append(
            (
                figures.number(*path, "number", places=0),
                one["member"],
                "" if one["station_angle_deg"] is None else figures.degrees(*path, "station_angle_deg", places=1),
                figures.degrees(*path, "crank_angle_deg", places=1),
                "" if one["display_deg"] is None else figures.degrees(*path, "display_deg", places=1),
                _how(one),
                _wide(figures, path, one["kind"]),
                radius,
                _deep(figures, path, is_through=one["through"]),
                planned,
                Tick(one["done"]) if one["done"] or not words.waits(state) else WAITS,
            )
        )
    heads = (
        *("", "counterweight", "at (station)", "at (crank)", "up where it shows", "", "Ø"),
        *("radius", "deep", "planned", "done"),
    )
    caption = card_words.HEAVY_METAL_FIRST if state.plan and state.plan.then else card_words.IN_THIS_ORDER
    kept, cells = without_empty(heads, tuple(rows))
    return CardTable("operations", kept, cells, caption, wide=1, large=True, close=len(rows) > MOST_APART)


MOST_APART = 4  # more rows stand near each other, so that the first page has all that is to be done
MOST_BIG = 7  # so many angles fit on the first page as its largest figures


def drill_at(state: Balancing, figures: Figures) -> list[Block]:
    """The angles of what is still to be made, the largest figures of the card: as the station's display has them,
    below them as the crank has. None where they are too many for that, or wait for a spin."""
    found = figures.value("operations")
    left = [at for at, one in enumerate(found) if not one["done"]]
    if not 0 < len(left) <= MOST_BIG or words.waits(state):
        return []
    bigs = []
    for at in left:
        path = ("operations", at)
        number, crank = (
            figures.number(*path, "number", places=0).text,
            figures.degrees(*path, "crank_angle_deg", places=1).text,
        )
        if found[at]["station_angle_deg"] is None:
            crank_too = figures.degrees(*path, "crank_angle_deg", places=1)
            bigs.append(Big(f"{number}. {found[at]['member']}, crank", crank_too))
            continue
        own = figures.degrees(*path, "station_angle_deg", places=1)
        bigs.append(Big(f"{number}. {found[at]['member']}, station", own, f"crank {crank}"))
    return [Bigs(tuple(bigs))]


def _how(one: dict[str, Any]) -> str:
    """What is made, and for a bore along the crank from which face."""
    how = card_words.HOW[one["kind"]]
    return f"{how}, from {one['from']}" if one["from"] else how


def _wide(figures: Figures, path: tuple[str | int, ...], kind: str) -> Cell:
    if kind == "slug":
        return figures.length(*path, "diameter_mm")
    if kind != "grind":
        return figures.drill(*path, "diameter_mm")
    return figures.number(*path, "arc_deg", unit=DEGREES)._replace(before="over ")


def _deep(figures: Figures, path: tuple[str | int, ...], *, is_through: bool) -> Figure:
    depth = figures.length(*path, "depth_mm", places=2)
    return depth._replace(behind=" through") if is_through else depth


def beyond(state: Balancing, show: Display) -> list[Block]:
    """What goes with the plan: what it leaves, what pulls at a slug, its name."""
    plan = state.plan
    if plan is None or may_go.withheld(state):
        return []
    made: list[Block] = []
    staged = words.stage_of(state, show)
    minds = [*([staged] if staged else []), *(words.stays(left, show) for left in plan.stays)]
    minds += [words.misfit(one, show) for one in plan.misfits]
    minds += words.pulls(plan, show)
    if minds:
        made.append(Lines(tuple(f"{said}." for said in minds), "Mind", "framed"))
    if state.to_do and not state.halted and not words.waits(state):
        more = []
        if must_be_named(state):
            more.append(words.CHANGED)
        more.append(f"Plan {state.plan_name}. Once done: {recording(state)}")
        made.append(Lines(tuple(more)))
    return made


# Drawings


def _with_earlier_holes(known: Known) -> Crank | None:
    """The crank as it was at the last spin: what is done since is numbered, being of the plan."""
    assert known.job
    if known.job.crank is None or known.balancing is None:
        return known.job.crank
    state = known.balancing
    numbered = {one.record for one in _drawn(state)}
    return apply(known.job.crank, [one.hole for one in state.drilled if one.record.id not in numbered])


def _numbered(known: Known) -> tuple[dict[int, Hole], set[int]]:
    return _by_number(_drawn(known.balancing))


def _by_number(found: Collection[words.Operation]) -> tuple[dict[int, Hole], set[int]]:
    """The holes by their numbers, and the numbers of those that are done."""
    return {one.number: one.hole for one in found}, {one.number for one in found if one.is_done}


def _turning(figures: Figures) -> str:
    """How the crank is turned to bring a place of it up: by the display, where the profile tells what it shows."""
    if not figures.value("operations"):
        return ""
    shown = [
        card_words.SHOWS_UP.format(throw=one["throw"], shows=figures.degrees("turning", at, "display_deg").text)
        for at, one in enumerate(figures.value("turning"))
    ]
    return f" {card_words.TURN_TO.format(shown=', '.join(shown)) if shown else card_words.NO_UP}"


def from_the_front(known: Known, figures: Figures) -> Picture:
    from truethrow.worksheets.drawn.front import end_view  # noqa: PLC0415 (as all drawings, only where one is)

    assert known.job
    numbered, done = _numbered(known)
    crank, radius = _with_earlier_holes(known), known.job.engine.known_throw_radius_mm
    drawn = end_view(known.job.layout, crank, numbered, done, throw_radius_mm=radius)
    return Picture(
        "end-view",
        drawn,
        "The crank seen from its front, turning clockwise, throw 1 up.",
        f"{card_words.ZERO}{_turning(figures)}",
        0.91,
    )


def from_the_side(known: Known) -> list[Picture]:
    """None of a crank of which nobody says where its throws are."""
    from truethrow.worksheets.drawn.side import side_view  # noqa: PLC0415

    assert known.job
    if known.job.engine.not_placed:
        return []
    numbered, done = _numbered(known)
    station = known.job.station
    planes = station.front_plane_mm, station.rear_plane_mm
    crank, radius = _with_earlier_holes(known), known.job.engine.throw_radius_mm
    drawn = side_view(known.job.layout, crank, planes, numbered, done, throw_radius_mm=radius)
    said = card_words.SIDE.format(holes=card_words.NEAR_AND_FAR if numbered else "")
    alt = "The crank from its side, front to the left, with the station's two planes."
    return [Picture("side-view", drawn, alt, said, 0.86)]


def _face(member: Member, own: Collection[words.Operation], show: Display, instrument: Instrument) -> Picture:
    from truethrow.worksheets.drawn.face import face  # noqa: PLC0415

    numbered, done = _by_number(own)
    said = "; ".join(words.hole(hole, show, instrument) for hole in numbered.values())
    return Picture(f"counterweight-{min(numbered)}", face(member, numbered, done, show, instrument), said)
