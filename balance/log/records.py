"""The records of a job's log: one class a kind, each with its own fields.

Numbers stand in them as numbers and names as names: nothing is read out of a text again. What they say taken in
order is replaying.py's matter, how each stands in a line lines.py's, where the lines are kept log.py's.

Only light modules of the standard library are imported here: the bench starts with this.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from typing import ClassVar, Literal, NamedTuple, get_args

LARGEST_CYLINDER = 99
AGAIN = "-again"


@dataclass(slots=True, repr=False, eq=False)
class Record:
    """What all records have. id: no other record has it; at: UTC, from when it was written; by: initials, may be
    empty; why: in the words of the bench; raw: its line as it was written, without its end, empty
    of what is not written yet. action: what the kind is called in a line and on the screens. A kind of
    which one command may write several has its batch: the id of the first record that the command wrote, empty in
    that one. They are one step, and are canceled as one (job/undoing.py).

    None is ever changed. They are not frozen all the same: a frozen one takes nine times as long to make, and a
    log of 100,000 is read at once. Two with the same words are equal."""

    action: ClassVar[str] = ""

    id: str = field(default="", kw_only=True)
    at: str = field(default="", kw_only=True)
    bench: str = field(default="", kw_only=True)
    by: str = field(default="", kw_only=True)
    why: str = field(default="", kw_only=True)
    raw: bytes = field(default=b"", kw_only=True)

    def own(self) -> tuple[object, ...]:
        """What this kind alone has, in the order of its fields."""
        return tuple(getattr(self, name) for name in own_names(type(self)))

    def wrong(self) -> str:
        """Why this record makes no sense, empty where it does."""
        return ""

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        return all(getattr(self, one) == getattr(other, one) for one in (*HEAD, *own_names(type(self))))

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        said = (f"{one}={getattr(self, one)!r}" for one in (*HEAD, *own_names(type(self))))
        return f"{type(self).__name__}({', '.join(said)})"


HEAD = ("id", "at", "bench", "by", "why")


def own_names(kind: type[Record]) -> tuple[str, ...]:
    """The names of the fields that a kind of record alone has."""
    return tuple(one.name for one in fields(kind) if one.name not in HEAD and one.name != "raw")


@dataclass(slots=True, repr=False, eq=False)
class Begun(Record):
    """A log begins, in its first line: no reading, and no step of work. format: of the lines that follow; program:
    the version of truethrow that began it; job: whose log it is, by its id; kept: where it goes on, a file or one
    book: elsewhere another log begins; joins: the last seals of the logs that it goes on from."""

    action = "begin"

    format: int
    program: str
    job: str
    kept: str
    joins: tuple[str, ...] = ()

    def wrong(self) -> str:
        return "" if self.program and self.kept else "a log needs the program that begins it, and where it is kept"


@dataclass(slots=True, repr=False, eq=False)
class Weighed(Record):
    """A part was on the scale. cylinder: 0 where the reading stands for every cylinder; kind: of parts.KINDS;
    typed: as it came, with its decimals and its unit."""

    action = "read"

    cylinder: int
    kind: str
    grams: float
    typed: str = ""

    def wrong(self) -> str:
        return "" if self.kind else "a reading needs cylinder, kind and grams"


@dataclass(slots=True, repr=False, eq=False)
class Confirmed(Record):
    """A reading that looks like a slip is right. grams: the reading, and typed: as it came."""

    action = "confirm"

    cylinder: int
    kind: str
    grams: float
    typed: str = ""
    batch: str = ""

    def wrong(self) -> str:
        return "" if self.kind else "a confirmation needs cylinder, kind and grams"


@dataclass(slots=True, repr=False, eq=False)
class Struck(Record):
    """A record no longer counts. of: its id."""

    action = "strike"

    of: str

    def wrong(self) -> str:
        return "" if self.of else "a strike needs the id that it cancels"


@dataclass(slots=True, repr=False, eq=False)
class Skipped(Record):
    """A part, or a check of the scale, was left for later. cylinder: None for a check."""

    action = "skip"

    cylinder: int | None
    kind: str


@dataclass(slots=True, repr=False, eq=False)
class ZeroRead(Record):
    """What the empty scale showed. when: start or end of the session, or seen between two loads."""

    action = "zero"

    when: str
    grams: float
    typed: str = ""


@dataclass(slots=True, repr=False, eq=False)
class ReferenceRead(Record):
    """What the reference weight showed. when: at the start or the end of the session."""

    action = "reference"

    when: str
    grams: float
    typed: str = ""


# unit → {from cylinder: to cylinder}, as trades.Moves, which few logs have.
Moves = Mapping[str, Mapping[int, int]]


@dataclass(slots=True, repr=False, eq=False)
class Proposed(Record):
    """Parts are to trade places, once somebody accepts it; without moves it says that they sit as well as they can
    be made to, and waits for nobody. digest: of the job that it was found for."""

    action = "propose"

    moves: Moves
    digest: str

    def wrong(self) -> str:
        wrong = _wrong_moves(self.moves) if self.moves else ""
        return wrong or ("" if self.digest else "a proposal needs what it is of")


@dataclass(slots=True, repr=False, eq=False)
class Traded(Record):
    """Parts traded places. proposal: the id of the record that asked for it."""

    action = "trade"

    moves: Moves
    proposal: str

    def wrong(self) -> str:
        return _wrong_moves(self.moves) or ("" if self.proposal else "a trade needs what it is of")


def _wrong_moves(moves: Moves) -> str:
    from truethrow.balance.base.trades import checked  # noqa: PLC0415 (few logs have trades)

    try:
        checked(moves)
    except ValueError as error:
        return str(error)
    return ""


# No cut that a hand makes, typed or read, comes near it.
MOST_CUT_G = 10_000.0


@dataclass(slots=True, repr=False, eq=False)
class Cut(Record):
    """Metal was taken off a part. pad: where, by the kind that is weighed there; grams: as asked for; plan: its
    name, and step: of it, from 1, both empty for a cut that no plan asked for; told: nobody asked for the grams, a
    hand says that they came off."""

    action = "cut"

    cylinder: int
    pad: str
    grams: float
    plan: str = ""
    step: int = 0
    batch: str = ""
    told: bool = False

    @property
    def kind(self) -> str:
        """The pad, as a reading has its kind."""
        return self.pad

    def wrong(self) -> str:
        from truethrow.balance.base.parts import CUT_AT  # noqa: PLC0415 (few logs have cuts)

        makes_sense = self.cylinder and 0 < self.grams < MOST_CUT_G and self.pad in CUT_AT
        return "" if makes_sense else "a cut needs a cylinder, a pad and grams, else it is no cut"


class Run(NamedTuple):
    """One run at the station: amounts and angles of both planes as they were typed, with their decimals."""

    front_amount: str
    front_angle: str
    rear_amount: str
    rear_angle: str


class ReadBy(NamedTuple):
    """How runs were read when they were typed: the profile's instrument and the job's planes; basis: a name for
    all that a plan is made from; revision: the profile's, a name for its instrument alone. Runs are read by that
    for ever, unless somebody says that the profile had been wrong (ProfileEdited)."""

    unit: str
    radius_mm: float | None
    with_rotation: bool
    zero_deg: float
    amount_part: float
    angle_deg: float
    floor_gmm: float
    front_mm: float
    rear_mm: float
    basis: str
    revision: str


class Metal(NamedTuple):
    """One figure of the metal that was on the crank at a spin, as the job said it. name: of the counterweight, the
    damper and so on; key: of the job file; value: in mm, degrees or g·mm."""

    name: str
    key: str
    value: float


@dataclass(slots=True, repr=False, eq=False)
class Spun(Record):
    """The crank was spun. digest: of the job whose bobweights hung; turned: the id of the spin that these runs
    belong to, with the fixture turned; empty for runs as the crank stands; unit: the one that was typed with the
    figures, empty where none was; speed_rpm: 0 where nobody told it; hung_g: what each throw of the layout was
    asked to carry; limits_gmm: the tolerance of the front and the rear plane; members: the damper, the flexplate
    and so on that were on the crank, by their names; looked_over: what the profile asks for was, before it; metal:
    what the job said of the counterweights and of those members, nothing of a job without a [crank]."""

    action = "spin"

    digest: str
    runs: tuple[Run, ...]
    read_by: ReadBy
    turned: str = ""
    unit: str = ""
    speed_rpm: float = 0.0
    crank: str = ""
    hung_g: tuple[float, ...] = ()
    limits_gmm: tuple[float, ...] = ()
    members: tuple[str, ...] = ()
    looked_over: bool = False
    metal: tuple[Metal, ...] = ()

    def wrong(self) -> str:
        return "" if self.runs and self.digest else "a spin needs what was read, and what it is of"


@dataclass(slots=True, repr=False, eq=False)
class Drilled(Record):
    """A hole, a slug or a ground arc is in the crank, or grams came off it or went on: the fields of holes.Hole,
    as deep as it really is. spin: the id of the last one, which asked for it where it is of a plan; plan: the name
    of its plan, and step: of it, from 1, both empty where none asked for it; before: the id of a spin that it was
    in the crank at, where it was recorded late."""

    action = "hole"

    kind: str
    member: str
    angle_deg: float
    radius_mm: float
    z_mm: float
    diameter_mm: float
    depth_mm: float
    removes_gmm: float
    mass_g: float
    point_deg: float
    arc_deg: float
    spin: str
    plan: str = ""
    step: int = 0
    batch: str = ""
    before: str = ""
    crank: str = ""

    def wrong(self) -> str:
        return "" if self.kind and self.member else "a hole needs what was done, and to what"


@dataclass(slots=True, repr=False, eq=False)
class MassHung(Record):
    """Runs with a known mass on one plane, at an angle of the crank. spin: the id of the one before it; typed:
    mass and radius as they were typed; unit, speed_rpm: as of a spin; beside_g, beside_mm, beside_deg: a second
    mass in the same runs, on the other plane, its radius and its angle; 0 g where there was one alone; turned: the
    id of the last runs with the fixture turned, which these are held against, empty where it was not turned."""

    action = "test"

    plane: str
    mass_g: float
    radius_mm: float
    angle_deg: float
    runs: tuple[Run, ...]
    read_by: ReadBy
    spin: str
    typed: str = ""
    unit: str = ""
    speed_rpm: float = 0.0
    beside_g: float = 0.0
    beside_mm: float = 0.0
    beside_deg: float = 0.0
    turned: str = ""

    def wrong(self) -> str:
        return "" if self.runs and self.spin else "a test mass needs what was read, and what it is of"


@dataclass(slots=True, repr=False, eq=False)
class WentUnproved(Record):
    """Somebody goes on although no known mass agreed; who and why stand in the head. to: HOLES or SIGN; spin: the
    id of the last one."""

    action = "unproved"

    to: str
    spin: str
    read_by: ReadBy

    def wrong(self) -> str:
        return "" if self.to in (HOLES, SIGN) and self.spin else "is nothing to go on with"


# What is gone on with unproved.
HOLES, SIGN = "holes", "sign"


class Left(NamedTuple):
    """What is left in one plane of the engine, and what is allowed there; and what it is the sum of: what the spin
    read, what hanging leaves, and what the members bring that were off the crank then."""

    plane: str
    unbalance_gmm: float
    uncertainty_gmm: float
    angle_deg: float
    limit_gmm: float
    spin_gmm: float
    spin_uncertainty_gmm: float
    spin_deg: float
    hanging_gmm: float
    hanging_uncertainty_gmm: float
    hanging_deg: float
    members_gmm: float = 0.0
    members_uncertainty_gmm: float = 0.0
    members_deg: float = 0.0


@dataclass(slots=True, repr=False, eq=False)
class SignedOff(Record):
    """The crank may go. spins, holes: the ids of what it rests on, the last spin last; left: of both planes;
    read_by: the profile that it was given by; proof: the id of the known mass that had agreed, or of who went on
    unproved; built: the ids of the weighed bobweights that hung at the last spin; aim: the id of who said that the
    crank goes with these parts alone, empty where it is good for its bobweight."""

    action = "sign"

    spins: tuple[str, ...]
    holes: tuple[str, ...]
    left: tuple[Left, ...]
    read_by: ReadBy
    proof: str
    batch: str = ""
    crank: str = ""
    built: tuple[str, ...] = ()
    aim: str = ""

    def wrong(self) -> str:
        if not self.spins:
            return "a sign-off needs the spins that it rests on"
        return "" if self.proof else "a sign-off needs the known mass that proved the station, or who went without"


@dataclass(slots=True, repr=False, eq=False)
class Built(Record):
    """The bobweight that was built for a throw was weighed, clamp and all. throw: its name; grams: what the scale
    said, and typed: as it came; asked_g: what was asked for; before: the id of a spin that it hung at, where it
    was weighed after it."""

    action = "built"

    throw: str
    grams: float
    asked_g: float
    typed: str = ""
    batch: str = ""
    before: str = ""

    def wrong(self) -> str:
        return "" if self.throw and self.grams > 0 else "a built bobweight needs its throw and grams"


# What holes make true: the crank for its bobweight, as it spins; or what turns in the engine.
Aim = Literal["spin", "sum"]


@dataclass(slots=True, repr=False, eq=False)
class Aimed(Record):
    """What the holes of a crank make true from here on; who says so and why stand in the head. to: an Aim; digest:
    of the job, whose parts it is said of."""

    action = "aim"

    to: str
    digest: str

    def wrong(self) -> str:
        return "" if self.to in get_args(Aim) and self.digest else "needs what to aim at, and whose parts"


@dataclass(slots=True, repr=False, eq=False)
class ProfileEdited(Record):
    """What an edit of the station's profile was. was: how the job was read before it, read_by: how from then on;
    wrong_since: the id of the first spin that the profile had been wrong for, so that all from it on are read
    anew; empty where the station itself was changed, so that they stay as they are read, be the profile edited
    for it or not (its cables, its plane distances)."""

    action = "profile"

    was: ReadBy
    read_by: ReadBy
    wrong_since: str = ""

    def wrong(self) -> str:
        is_mend, is_edited = bool(self.wrong_since), self.was.revision != self.read_by.revision
        return "an edit needs what it changed" if is_mend and not is_edited else ""


@dataclass(slots=True, repr=False, eq=False)
class Acknowledged(Record):
    """Somebody said what became of a damaged line. line: the id of what stands for it; became: one of damage.Way;
    number: of the line, as it was told."""

    action = "acknowledge"

    line: str
    became: str
    number: int

    def wrong(self) -> str:
        needs = "an acknowledgement needs the damaged line, and what became of what it said"
        return "" if self.line and self.became else needs


# What is wrong with a place of a log: its line does not say any more what was written; was changed after it was
# written, and sealed again; was not written there; or is not there any more.
Harm = Literal["damaged", "changed", "misplaced", "missing"]


@dataclass(slots=True, repr=False, eq=False)
class Damaged(Record):
    """Stands for a line that does not say any more what was written, in its place (damage.py), or for lines that
    are missing. number: of the line, or of the row of a book; of what is missing, the one behind it."""

    action = "damaged"

    number: int
    harm: Harm = "damaged"


@dataclass(slots=True, repr=False, eq=False)
class LookedAt(Record):
    """Somebody qualified looked at a hole that breaks a limit, and lets it be; who and why stand in the head.
    hole: the id of its record."""

    action = "looked"

    hole: str

    def wrong(self) -> str:
        return "" if self.hole else "needs the hole that was looked at"


@dataclass(slots=True, repr=False, eq=False)
class CrankSaid(Record):
    """All that was recorded before was done to the crank with this mark; who says so and why stand in the head."""

    action = "crank"

    crank: str

    def wrong(self) -> str:
        return "" if self.crank else "needs the mark on the crank"


# How a job was closed.
How = Literal["closed", "given up"]
DONE: How = "closed"
GIVEN_UP: How = "given up"


@dataclass(slots=True, repr=False, eq=False)
class Closed(Record):
    """The job was closed, or given up: nothing is recorded in it until somebody opens it again."""

    action = "close"

    how: str

    def wrong(self) -> str:
        return "" if self.how in get_args(How) else f"is closed or given up, not {self.how}"


@dataclass(slots=True, repr=False, eq=False)
class Reopened(Record):
    """The job goes on."""

    action = "reopen"


# At the balancing station. They leave the readings as they are.
STATION = (Spun, Drilled, MassHung, WentUnproved, SignedOff, ProfileEdited, Built, Aimed)
# Whatever can be written, by what it is called.
KINDS: dict[str, type[Record]] = {
    kind.action: kind
    for kind in (
        *(Begun, Weighed, Struck, Skipped, ZeroRead, ReferenceRead, Proposed, Traded, Cut, Confirmed),
        *(*STATION, LookedAt, CrankSaid, Closed, Reopened, Acknowledged),
    )
}


def struck_ids(records: Iterable[Record]) -> set[str]:
    """The ids of what is struck out."""
    return {record.of for record in records if isinstance(record, Struck)}


def again_id(line: Damaged, times: int = 1) -> str:
    """The id of the record that is written again for a damaged line: it stands right behind it. times: above 1
    where what was written before was struck."""
    return line.id + AGAIN + (f"-{times}" if times > 1 else "")


def again_for(record_id: str) -> str:
    """The id of the damaged line for which a record was written again, by that record's id; empty where none."""
    line, mark, times = record_id.rpartition(AGAIN)
    return line if mark and (not times or times[1:].isdecimal()) else ""
