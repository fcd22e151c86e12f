"""What the station's page shows: plain values, every text ready to be read, as in state.py. The screens compute
nothing."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from truethrow.worksheets.pages.floor.state import OfJob

# What the displays of stations are set to. From memory.
UNITS = ("g", "oz", "g·mm", "g·cm", "g·in", "oz·in")
# What a hand does next; stop: the job cannot be read as it is.
Stage: TypeAlias = Literal["bobweights", "spin", "prove", "hole", "sign", "signed", "look", "stop"]


@dataclass(frozen=True)
class Throw:
    """What hangs on a throw. asked: what its bobweight is to weigh; weighed: what it weighs, empty where nobody
    weighed it; off: by how much it is off."""

    name: str
    asked: str
    weighed: str = ""
    off: str = ""


@dataclass(frozen=True)
class PlateStack:
    """How a bobweight is built. title: of which throws, and its mass; lines: what goes on each half."""

    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class OnCrank:
    """A damper, a flexplate or such; on: whether it was on at the last spin."""

    name: str
    on: bool


@dataclass(frozen=True)
class Mass:
    """A known mass to hang: grams, at_deg, radius as a hand types them, the unit of mass being the scale's; own,
    crank: its angle by both its names; pulls: at its bolt."""

    plane: str
    grams: str
    at_deg: str
    own: str
    crank: str
    radius: str
    pulls: str = ""


@dataclass(frozen=True)
class PlaneRow:
    """One line of what was read: name: the spin, what hanging leaves, or the sum."""

    plane: str
    name: str
    amount: str
    sure: str
    own: str
    crank: str
    tolerance: str = ""
    verdict: str = ""


@dataclass(frozen=True)
class HoleNow:
    """The one operation that is to be done now. count: of how many; own, crank: its angle by both names, own empty
    where the station has none; up: what the display shows with this place up, empty where nobody
    knows; what: with which tool; deep: as a figure with its unit;
    tip: where the drill's tip is then; drawing: the counterweight as SVG, this place up; is_slug: whether its mass
    is typed, not its depth; unit: of what is typed."""

    number: int
    count: int
    member: str
    own: str
    crank: str
    up: str
    what: str
    deep: str
    tip: str
    drawing: str
    drawn: str
    is_slug: bool
    unit: str


@dataclass(frozen=True)
class HoleRow:
    """Another operation of the plan, in one line; done: who recorded it and when, empty while nobody did."""

    number: int
    said: str
    done: str = ""


@dataclass(frozen=True)
class Way:
    """A way on, where only a person can tell. view, form: what its button opens, empty for what is done elsewhere;
    record: the id of what it cancels."""

    said: str
    view: str = ""
    form: str = ""
    record: str = ""


@dataclass(frozen=True)
class Canceling:
    """A record that can be canceled."""

    id: str
    said: str
    by: str


@dataclass(frozen=True)
class DidForm:
    """What may be said to have been drilled: in which counterweights, with which drills, at which spins it can
    have been there; reads_own: whether the station has angles of its own."""

    members: tuple[str, ...]
    tools: tuple[str, ...]
    spins: tuple[int, ...]
    reads_own: bool


@dataclass(frozen=True)
class InCrank:
    """A hole of the plan that looks drilled and is not recorded. told: as the page tells it; said: as a hand says
    it, without how deep it is or what its slug weighs; deep: how deep it was planned; unit: of that."""

    told: str
    said: str
    deep: str
    unit: str
    is_slug: bool = False


@dataclass(frozen=True)
class StationState(OfJob):
    """A station's page of one job as it is now.

    head: the number of the log's last record, the event's id; stamp: names all that the page was made from;
    stage: what comes next; do_now, step, note: it in words; first: what waits at another bench; ways: what to
    do about what blocks; stops: why nothing is drilled or signed; minds: what to mind; cautions: a list for
    each stage; unit, unit_note: of what the display shows, and where, units: those that it may be set to;
    throws, stacks, stack_note: the bobweights; hung: whether those that hung at the last spin wait for the
    scale; over: what is to be looked over before this spin, asked: how often; on: what may be on the crank;
    masses: the known ones to hang next, mass_unit, length_unit: in which they are typed; test: what the last
    ones said; hole, holes, plan: what is to be done; waits: why the rest of it had better wait for a spin;
    planes: what the last spin read and the sum, with its said; drawings: the spins of both planes as SVG, and
    spin by spin; changed: what the last spin changed and what is expected; history: spin by spin; against: why
    it is not to be signed; signed: by whom and when, signature: in which record; may: whether whoever looks may
    record; waits_for_bench: whether parts are still to be weighed there; cancelings: what was recorded last;
    did: what may be said to be in the crank; in_crank, in_crank_at: the sets of holes that look drilled and are
    not recorded, and at which spin they were there; beyond: what breaks a limit; was_signed: by whom and when,
    where that counts no more, and why."""

    head: int
    stamp: str
    stage: Stage
    do_now: str
    step: str
    note: str = ""
    first: tuple[str, ...] = ()
    ways: tuple[Way, ...] = ()
    stops: tuple[str, ...] = ()
    minds: tuple[str, ...] = ()
    cautions: dict[str, tuple[str, ...]] = field(default_factory=dict)
    unit: str = ""
    unit_note: str = ""
    units: tuple[str, ...] = UNITS
    throws: tuple[Throw, ...] = ()
    stacks: tuple[PlateStack, ...] = ()
    stack_note: str = ""
    hung: bool = False
    over: tuple[str, ...] = ()
    asked: str = ""
    on: tuple[OnCrank, ...] = ()
    masses: tuple[Mass, ...] = ()
    mass_unit: str = "g"
    length_unit: str = "mm"
    test: tuple[str, ...] = ()
    hole: HoleNow | None = None
    holes: tuple[HoleRow, ...] = ()
    plan: str = ""
    waits: str = ""
    said: str = ""
    unbalance_unit: str = ""
    planes: tuple[PlaneRow, ...] = ()
    drawings: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()
    history: tuple[str, ...] = ()
    against: tuple[str, ...] = ()
    signed: str = ""
    signature: str = ""
    may: bool = True
    waits_for_bench: bool = False
    cancelings: tuple[Canceling, ...] = ()
    did: DidForm | None = None
    in_crank: tuple[tuple[InCrank, ...], ...] = ()
    in_crank_at: int = 0
    beyond: tuple[str, ...] = ()
    was_signed: str = ""
