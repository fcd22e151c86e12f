"""What may have happened, where a spin is not what the work since the last one explains.

Each way of going wrong has a reading of its own: a bobweight that was forgotten leaves its mass at its radius and
angle, an index that was moved turns both planes by one angle, figures typed the wrong way round read right once
they are exchanged. Each is worked out from what was expected and held against what was read; those that fit
within what both are sure to are told, the one that supposes least first.

Vectors in g·mm, angle 0 at throw 1, as everywhere. All ± are expanded (k = 2).
"""

from __future__ import annotations

import cmath
import itertools
import math
from collections.abc import Iterator, Sequence
from typing import Literal, NamedTuple

from truethrow.balance.correction import TwoPlanes
from truethrow.balance.station.testmass import mixed_up

# missing: the bobweight of a throw, or of several; exchanged: those of two throws; left on: a known mass;
# turned: the index or the zero, by an angle; planes: one for the other; typed: amount and angle; mirrored: the
# sense of the angle; scale: the amounts, by a factor; not drilled: holes that are recorded; not recorded: holes
# of the plan that are not; half a turn, not on, still on: a damper or flexplate, mounted otherwise than said;
# fixture: it is still turned, at a spin that was typed as one as it stands; another crank: what is left where
# nothing else fits, and a crank may have it.
Kind = Literal[
    "missing",
    "exchanged",
    "left on",
    "turned",
    "planes",
    "typed",
    "mirrored",
    "scale",
    "not drilled",
    "not recorded",
    "half a turn",
    "not on",
    "still on",
    "fixture",
    "another crank",
]
# What a known mass cannot rule out: the crank is not as it was said, and the station reads it rightly.
OF_THE_CRANK: frozenset[Kind] = frozenset(("missing", "exchanged", "left on", "half a turn", "not on", "still on"))
MOST_TOLD = 3
# Of so many holes each set of them is tried; of more those that are one or two, or all but one or two.
EACH_SET = 10
# Sets of some of the holes may be alike in what they do: so many are told.
SETS_TOLD = 2
# A turn or a factor can be chosen to fit, so it has to be far from none: this many times what the reading's own ±
# would let pass. Common practice, no source.
FAR = 2.0
# Bobweights are hung as near as clamps and plates allow, and a crank answers to its holes not quite as it should:
# a mishap is one within so many times the ±. Common practice, no source.
NEAR = 1.5
# And it explains the reading better than no mishap at all does, by so much. Common practice, no source.
BETTER = 2.0

# A factor that two readings show is known to this part of it: displays round, and near nothing they round a lot.
# Common practice, no source.
NEAR_FACTOR = 0.05


SAID: dict[Kind, str] = {
    "missing": "{bobweights} missing",
    "exchanged": "the bobweights of throws {throws} hang on each other's throw",
    "left on": "{masses}",
    "turned": "the index or the zero has moved by {one.off:.0f} degrees",
    "planes": "the cables of the two planes are exchanged",
    "typed": "amount and angle of {planes} were typed the wrong way round",
    "mirrored": "the angle counts the other way",
    "scale": "every amount is {one.off:.3g} times what it was: another unit, or another radius{mixed}",
    "not drilled": "{holes} recorded but not drilled",
    "not recorded": "{holes} drilled but not recorded",
    "half a turn": "{one.plane} is mounted half a turn off its keyway or dowel",
    "not on": "{one.plane} was not on the crank",
    "still on": "{one.plane} was still on the crank",
    "fixture": "the fixture was still turned, and the spin was typed without --turned",
    "another crank": "another crank is on the station, or something was done to this one that is not recorded",
}


class Mishap(NamedTuple):
    """One way in which the reading could have come about. misses: how far the reading is from what it then would
    be, in times its ±; throws: the names of those whose bobweights; plane: where the mass was left on, or which
    was typed so, empty for both planes, or the name of a member; off: degrees of a turn, factor of a scale;
    which: of the holes that were asked about, by their place among them, from 0."""

    kind: Kind
    misses: float
    throws: tuple[str, ...] = ()
    plane: str = ""
    off: float = 0.0
    which: tuple[int, ...] = ()

    def __str__(self) -> str:
        throws = " and ".join(self.throws) if len(self.throws) < MOST_TOLD else "all"
        bobweights = f"the bobweight of throw {throws} is" if len(self.throws) == 1 else ""
        bobweights = bobweights or (
            f"the bobweights of throws {throws} are" if throws != "all" else "all bobweights are"
        )
        holes = "a hole is" if len(self.which) == 1 else f"{len(self.which)} holes are"
        planes = f"the {self.plane} plane" if self.plane else "both planes"
        mass = f"the known mass is still on the {self.plane} plane"
        masses = mass if self.plane else "both known masses are still on"
        units = mixed_up(self.off, NEAR_FACTOR) if self.kind == "scale" else ""
        mixed = f", as where {units} are mixed up" if units else ""
        return SAID[self.kind].format(
            one=self, throws=throws, bobweights=bobweights, holes=holes, planes=planes, masses=masses, mixed=mixed
        )


class Scene(NamedTuple):
    """What is known when a spin surprises. expected, foreseen_gmm: what should have been read, and how sure that
    is in each plane; read, read_gmm: what was, and how sure; exchanged: the same with amount and angle typed the
    other way round, in the front plane, the rear, or both (no name), where that makes a reading; hung: of each
    throw, its name and what its bobweight brings; masses: known masses that were on a plane before, or on both (no
    name); drilled: what
    each operation changed that is recorded since the spin before; to_do: the same of those that are planned and
    not recorded; members: how a member may be on otherwise than said, its name, and what that changes; fixture:
    its own part of what was expected, where turned runs told it; most_gmm: what a crank may have in a plane, 0
    where nothing was read of this one before, or it was drilled since."""

    expected: TwoPlanes
    foreseen_gmm: tuple[float, float]
    read: TwoPlanes
    read_gmm: tuple[float, float]
    exchanged: tuple[tuple[str, TwoPlanes], ...] = ()
    hung: tuple[tuple[str, TwoPlanes], ...] = ()
    masses: tuple[tuple[str, TwoPlanes], ...] = ()
    drilled: tuple[TwoPlanes, ...] = ()
    to_do: tuple[TwoPlanes, ...] = ()
    members: tuple[tuple[str, str, TwoPlanes], ...] = ()
    fixture: TwoPlanes | None = None
    most_gmm: float = 0.0

    def sure_gmm(self, factor: float = 1.0) -> tuple[float, float]:
        """How sure a difference of the reading and what was expected is, in each plane. factor: by which the
        latter was taken."""
        front, rear = (
            math.hypot(factor * foreseen, read)
            for foreseen, read in zip(self.foreseen_gmm, self.read_gmm, strict=True)
        )
        return front, rear

    def misses(self, vectors: TwoPlanes, factor: float = 1.0) -> float:
        """How far the reading is from vectors, in times its ±, in the worse plane."""
        return max(
            abs(one - other) / sure
            for one, other, sure in zip(self.read, vectors, self.sure_gmm(factor), strict=True)
        )

    @property
    def is_explained(self) -> bool:
        """Whether the reading is what was expected."""
        return self.misses(self.expected) <= 1.0


def mishaps(scene: Scene) -> tuple[Mishap, ...]:
    """The ways in which a reading that was not expected can have come about, the likeliest first, at most three;
    none where it was expected, or nothing fits."""
    if scene.is_explained:
        return ()
    near = min(NEAR, scene.misses(scene.expected) / BETTER)
    found = [one for one in _tried(scene) if one.misses <= near]
    if not found and max(map(abs, scene.read)) <= scene.most_gmm:
        return (Mishap("another crank", 0.0),)
    return tuple(sorted(found, key=lambda one: (_supposes(one), one.misses))[:MOST_TOLD])


def is_other_way(scene: Scene, fixture: TwoPlanes, *, is_turned: bool) -> bool:
    """Whether a reading is explained by a fixture that was turned since the one before it, or turned back.
    fixture: its own part; is_turned: whether it was turned there."""
    other = scene.misses(scene.expected.plus(_times(2 if is_turned else -2, [fixture])))
    return not scene.is_explained and other <= min(NEAR, scene.misses(scene.expected) / BETTER)


def _supposes(one: Mishap) -> int:
    """How much has to have gone wrong: one thing, one thing of a size that fits, several things."""
    if one.kind in ("turned", "scale"):
        return 1
    several = len(one.throws) > 1 and one.kind == "missing"
    return 2 if several or (one.kind in ("not drilled", "not recorded") and len(one.which) > 1) else 0


def _tried(scene: Scene) -> Iterator[Mishap]:
    yield from _hanging(scene)
    yield from _reading(scene)
    yield from _drilling(scene)


def _hanging(scene: Scene) -> Iterator[Mishap]:
    """Bobweights and masses that are not where they should be."""
    for count in sorted({1, 2, len(scene.hung)} if scene.hung else ()):
        for several in itertools.combinations(scene.hung, count):
            without = _less(scene.expected, [own for _, own in several])
            yield Mishap("missing", scene.misses(without), tuple(name for name, _ in several))
    for (one, its), (other, others) in itertools.combinations(scene.hung, 2):
        if (changed := _exchanged(its, others)) is not None:
            yield Mishap("exchanged", scene.misses(scene.expected.plus(changed)), (one, other))
    for kind, name, changed in scene.members:
        yield Mishap(kind, scene.misses(scene.expected.plus(changed)), plane=name)  # type: ignore[arg-type]
    for plane, mass in scene.masses:
        yield Mishap("left on", scene.misses(scene.expected.plus(mass)), plane=plane)
    if scene.fixture:
        yield Mishap("fixture", scene.misses(scene.expected.plus(_times(-2, [scene.fixture]))))


def _exchanged(its: TwoPlanes, others: TwoPlanes) -> TwoPlanes | None:
    """What two bobweights change that hang on each other's throw; None for equal ones."""
    own, other = (max(map(abs, one)) for one in (its, others))
    if not own or not other or math.isclose(own_mass := _size(its), other_mass := _size(others), rel_tol=1e-9):
        return None
    part = other_mass / own_mass
    return TwoPlanes(*(a * (part - 1) + b * (1 / part - 1) for a, b in zip(its, others, strict=True)))


def _size(one: TwoPlanes) -> float:
    """The static unbalance of a bobweight: its mass, but for the radius that all have."""
    return abs(one.front + one.rear)


def _reading(scene: Scene) -> Iterator[Mishap]:
    """An instrument that shows otherwise, and figures typed otherwise."""
    expected = scene.expected
    yield Mishap("planes", scene.misses(TwoPlanes(expected.rear, expected.front)))
    yield Mishap("mirrored", scene.misses(TwoPlanes(*(one.conjugate() for one in expected))))
    typed = [
        Mishap("typed", scene._replace(read=read, read_gmm=scene.foreseen_gmm).misses(expected), plane=plane)
        for plane, read in scene.exchanged
    ]
    yield from sorted(typed, key=lambda one: one.misses)[:1]
    weights = [sure**-2 for sure in scene.foreseen_gmm]
    both = sum(w * r * e.conjugate() for w, r, e in zip(weights, scene.read, expected, strict=True))
    size = sum(w * abs(e) ** 2 for w, e in zip(weights, expected, strict=True))
    if not both or math.sqrt(size) < FAR:
        return  # too small to have an angle or a size of its own
    turned = both / abs(both)
    if math.sqrt(size) * abs(turned - 1) > FAR:
        off = math.degrees(cmath.phase(turned))
        yield Mishap("turned", scene.misses(TwoPlanes(*(one * turned for one in expected))), off=off)
    factor = both.real / size
    if factor > 0 and math.sqrt(size) * abs(factor - 1) > FAR:
        scaled = TwoPlanes(*(one * factor for one in expected))
        yield Mishap("scale", scene.misses(scaled, factor), off=factor)


def _drilling(scene: Scene) -> Iterator[Mishap]:
    """Holes that are recorded and not there, and the other way round: one of them, or all; where neither fits
    well, the sets of some that fit best."""
    ways: tuple[tuple[Kind, tuple[TwoPlanes, ...], int], ...] = (
        ("not drilled", scene.drilled, -1),
        ("not recorded", scene.to_do, 1),
    )
    for kind, operations, sign in ways:
        tried = [
            Mishap(
                kind,
                scene.misses(scene.expected.plus(_times(sign, [operations[at] for at in which]))),
                which=which,
            )
            for which in _sets(len(operations))
        ]
        plain = [one for one in tried if len(one.which) in (1, len(operations))]
        yield from plain
        if tried and min(one.misses for one in plain) > 1.0:
            rest = (one for one in tried if one not in plain)
            yield from sorted(rest, key=lambda one: one.misses)[:SETS_TOLD]


def _sets(number: int) -> Iterator[tuple[int, ...]]:
    """Sets of so many holes, by their places."""
    for count in range(1, number + 1):
        if number <= EACH_SET or count <= 2 or count >= number - 2:
            yield from itertools.combinations(range(number), count)


def _times(sign: int, several: Sequence[TwoPlanes]) -> TwoPlanes:
    return TwoPlanes(sign * sum(one.front for one in several), sign * sum(one.rear for one in several))


def _less(start: TwoPlanes, several: Sequence[TwoPlanes]) -> TwoPlanes:
    return start.plus(_times(-1, several))
