"""The plan: the fewest holes that bring both planes inside what is allowed, in the depths that the shop drills.

Heavy metal goes in alone, as a stage of its own: no slug weighs just what its table says, and its bore is never
just where it was meant. The crank is spun with it, and the holes that are to meet what is left are planned then.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal, NamedTuple

from truethrow.balance.base.formulas import centrifugal_n
from truethrow.balance.correction.learning import NEUTRAL, CrankResponse
from truethrow.balance.correction.planes import TwoPlanes, changed_by
from truethrow.balance.crank.crank import Crank
from truethrow.balance.crank.holes import Hole, Slug, Tools, disc_mm2

if TYPE_CHECKING:
    from truethrow.balance.correction.room import Site
    from truethrow.balance.correction.settle import Settled, Settling
    from truethrow.balance.correction.slug_sizes import Misfit
    from truethrow.balance.correction.split import Split

# A plan aims at this part of what is allowed, so that drilling by hand and the station's error stay inside.
AIM = 0.5
# Removal that reaches this part of what is allowed does; heavy metal is not set for less.
ENOUGH = 0.8
# A plan must bring the worse plane nearer by this part of what is allowed, and heavy metal by as much again, not
# at the other plane's cost.
GAIN = 0.05
# Depths of this step are as good as any depth.
FINE_MM = 0.1
# Where removal would take more holes than this in one go, heavy metal is for. Common practice, no source.
MOST_HOLES = 8
# Holes are settled with so many looks at pairs, half of them for other choices of as few holes, to find those that
# take the least metal; and where the steps keep the fewest outside the aim, with one number of holes more.
MOST_LOOKS = 1400
MOST_NUMBERS = 2
# Holes that take so many times as much, drilled less deep, take less: where the search is cut short before removal
# does, or removal leaves no more than so much of what is allowed, it is begun anew from these.
NEARLY = 2.0
FARTHER = (1.01, 1.02, 1.04, 1.07)
# What would be with finer steps is looked at so much less.
LESS = 4

# no reach: no counterweight has metal where the angle asks for it; no room: they have not enough of it for this
# shop's tools; the steps: drills and depths are too coarse for so small a rest.
Why = Literal["reach", "room", "steps"]
Frees = Literal["heavy metal", "room", "finer steps", "metal at the angle"]
Plane = Literal["front", "rear"]


class Stays(NamedTuple):
    """Unbalance of one plane that the plan leaves over what is allowed: what is left, by how much it is too
    much, why, and what would free it: heavy metal that may be used, room (larger drills, deeper holes, more of
    them), finer steps, or metal at an angle where there is none."""

    plane: Plane
    left_gmm: complex
    over_gmm: float
    why: Why
    frees: tuple[Frees, ...]


class Caution(NamedTuple):
    """What to mind at one operation: the least wall that it leaves, and what, on a slug, pulls at that wall at
    the speed (None for a hole or where no speed is known)."""

    operation: Hole
    wall_mm: float
    force_n: float | None


class Asked(NamedTuple):
    """What a plan answers: the crank and the tools, what is to come off both planes as holes are reckoned, what
    may stay in them [g·mm], and where they are. fewest: how many holes it takes at the least to come inside the
    aim, None where that is not proved."""

    crank: Crank
    tools: Tools
    target: TwoPlanes
    allowed_gmm: tuple[float, float]
    planes_mm: tuple[float, float]
    fewest: int | None


class HolePlan(NamedTuple):
    """Operations to make before the next spin, in their order, the unbalance that the station should read
    afterwards, what stays in the end and why, and what to mind. then: the holes that are foreseen once heavy metal
    is in, to be planned anew from the spin with it; at_last: what is left after these, too; asked: what it
    answers; misfits: where something stays, slugs of the shop that fit nowhere, and what would."""

    operations: tuple[Hole, ...]
    residual: TwoPlanes
    stays: tuple[Stays, ...]
    cautions: tuple[Caution, ...]
    then: tuple[Hole, ...]
    at_last: TwoPlanes
    asked: Asked
    misfits: tuple[Misfit, ...] = ()

    @property
    def mass_g(self) -> float:
        """Metal that the operations take off less metal that they put in. [g]"""
        return sum(hole.mass_g for hole in self.operations)

    @property
    def heavy_metal(self) -> bool:
        """Whether taking metal off does not do: heavy metal goes in, or would be needed and is not to be had."""
        return bool(self.stays) or any(hole.kind == "slug" for hole in self.operations)


def plan(
    crank: Crank,
    tools: Tools,
    measured: TwoPlanes,
    planes_mm: tuple[float, float],
    *,
    allowed_gmm: tuple[float, float],
    response: CrankResponse | None = None,
    slugs: bool = True,
    speed_rpm: float | None = None,
) -> HolePlan:
    """What to do to a crank that measures this.

    measured: what is too much, at its angle; allowed_gmm: for the front and the rear plane; response: what
    earlier steps taught; slugs: whether heavy metal may be used, which it is only where removal alone does not
    do; speed_rpm: for the pull on a slug. Angles are of the degree wheel, whole degrees from the start of an
    arc. Raises ValueError for planes at one place or an allowed amount that is not above zero."""
    if planes_mm[0] == planes_mm[1] or min(allowed_gmm) <= 0:
        raise ValueError(f"planes at {planes_mm} mm, allowed {allowed_gmm} g·mm")
    response = response or NEUTRAL
    target = response.as_drilled(measured)
    scaled = allowed_gmm[0] / abs(response.front), allowed_gmm[1] / abs(response.rear)
    question = _Question(crank, tools, target, scaled, planes_mm)
    answer = question.removing_at_length()
    if slugs:
        answer = question.or_heavy(answer)
    operations, then = _in_stages(_in_order(answer.operations))
    residual = response.as_measured(target.plus(changed_by(operations, planes_mm)))
    at_last = response.as_measured(target.plus(changed_by([*operations, *then], planes_mm)))
    stays = _stays(question, answer, at_last, allowed_gmm, slugs=slugs)
    misfits = _misfits(question) if stays and slugs else ()
    asked = Asked(crank, tools, target, scaled, planes_mm, answer.fewest)
    cautions = _cautions(crank, operations, speed_rpm)
    return HolePlan(operations, residual, stays, cautions, then, at_last, asked, misfits)


def drilled(
    crank: Crank,
    tools: Tools,
    measured: TwoPlanes,
    planes_mm: tuple[float, float],
    *,
    allowed_gmm: tuple[float, float],
) -> tuple[Hole, ...] | None:
    """The operations of a plan that needs no heavy metal, None where it does; as plan has them, and sooner,
    without what stays and why."""
    question = _Question(crank, tools, measured, allowed_gmm, planes_mm)
    answer = question.removing_at_length()
    if answer.worst > 1 or question.or_heavy(answer) is not answer:
        return None
    return answer.operations


def apply(crank: Crank, operations: Sequence[Hole]) -> Crank:
    """The crank once the operations are done: their holes are there, and leave no room for others."""
    return crank._replace(
        members=tuple(
            member._replace(holes=member.holes + tuple(hole for hole in operations if hole.member == member.name))
            for member in crank.members
        )
    )


def still_fits(crank: Crank, operations: Sequence[Hole]) -> tuple[bool, ...]:
    """Which operations not done yet keep their wall to every hole that the crank really has, some perhaps deeper
    than planned; each for itself."""
    from truethrow.balance.correction import room  # noqa: PLC0415

    return tuple(room.is_clear(crank, hole) for hole in operations)


class _Answer(NamedTuple):
    """Holes, the worst of both planes over what is allowed, the worst that the ideal split reaches, how many holes
    inside the aim takes at the least, where that is proved; settled: the holes as they were settled; is_cut_short:
    whether there was more to look at."""

    operations: tuple[Hole, ...]
    worst: float
    ideal: float
    fewest: int | None = None
    settled: Settled | None = None
    is_cut_short: bool = False


class _Question:
    """One crank and one target; its places are worked out once."""

    def __init__(
        self,
        crank: Crank,
        tools: Tools,
        target: TwoPlanes,
        allowed_gmm: tuple[float, float],
        planes_mm: tuple[float, float],
        most_looks: int = MOST_LOOKS,
    ) -> None:
        from truethrow.balance.correction import room  # noqa: PLC0415 (numpy; only a plan pays it)

        self.crank, self.tools = crank, tools
        self.target, self.allowed_gmm, self.planes_mm = target, allowed_gmm, planes_mm
        self.most_looks = most_looks
        self.drills = room.places(crank, tools)
        self.now = max(abs(t) / a for t, a in zip(target, allowed_gmm, strict=True))

    def beyond(self, answer: _Answer) -> float:
        """What both planes keep over enough, as parts of what is allowed."""
        left = self.target.plus(changed_by(answer.operations, self.planes_mm))
        return sum(max(0.0, abs(one) / a - ENOUGH) for one, a in zip(left, self.allowed_gmm, strict=True))

    def finer(self) -> _Question:
        """The same with drills in steps of next to nothing."""
        fine = self.tools._replace(
            drills=tuple(drill._replace(step_mm=min(FINE_MM, drill.step_mm)) for drill in self.tools.drills)
        )
        less = self.most_looks // LESS
        return _Question(self.crank, fine, self.target, self.allowed_gmm, self.planes_mm, less)

    def removing(self) -> _Answer:
        return self._answer([])

    def removing_at_length(self) -> _Answer:
        """Where removal nearly does, or the search was cut short before it does, from holes for a little more."""
        best = self.removing()
        for more in FARTHER if best.is_cut_short or best.worst <= NEARLY else ():
            if best.worst <= ENOUGH:
                break
            farther = self._times(more).removing()
            if farther.worst <= NEARLY and farther.settled:
                found = self._settling([]).anew(farther.settled, MOST_HOLES)
                if found.worst < best.worst:
                    best = best._replace(operations=tuple(found.holes), worst=found.worst)
        return best

    def _times(self, more: float) -> _Question:
        """With so many times as much to come off."""
        target = TwoPlanes(*(one * more for one in self.target))
        return _Question(self.crank, self.tools, target, self.allowed_gmm, self.planes_mm, self.most_looks)

    def or_heavy(self, removing: _Answer) -> _Answer:
        """With heavy metal instead, where removal does not do and it brings the planes nearer."""
        if removing.worst <= ENOUGH or not self.tools.slugs:
            return removing
        heavy = self.with_slugs()
        nearer = heavy.worst < removing.worst - GAIN and self.beyond(heavy) < self.beyond(removing)
        return heavy if nearer else removing

    def with_slugs(self) -> _Answer:
        from truethrow.balance.correction import room  # noqa: PLC0415

        return self._answer(room.slug_places(self.crank, self.tools))

    def with_slug(self, slug: Slug) -> _Answer:
        """With this one instead of the shop's own, looked at less."""
        tools = self.tools._replace(slugs=(slug,))
        less = self.most_looks // LESS
        return _Question(self.crank, tools, self.target, self.allowed_gmm, self.planes_mm, less).with_slugs()

    def _answer(self, slugs: list[Site]) -> _Answer:
        nothing = _Answer((), self.now, self.now)
        if self.now <= AIM or not (self.drills or slugs):
            return nothing
        settling = self._settling(slugs)
        best, ideal, least = self._fewest(slugs, settling)
        is_cut_short = settling.looks > self.most_looks // 2
        if best is None or best.worst >= self.now - GAIN:
            return nothing._replace(ideal=ideal, is_cut_short=is_cut_short)
        return _Answer(tuple(best.holes), best.worst, ideal, least, best, is_cut_short)

    def _settling(self, slugs: list[Site]) -> Settling:
        from truethrow.balance.correction import settle  # noqa: PLC0415

        return settle.Settling(
            self.drills,
            slugs,
            self.target,
            self.allowed_gmm,
            self.planes_mm,
            aim=AIM,
            most_looks=self.most_looks,
        )

    def _fewest(self, slugs: list[Site], settling: Settling) -> tuple[Settled | None, float, int | None]:
        """The fewest holes that settle inside the aim, then the least metal; where none do, the best that was
        found. And what the ideal split leaves, and the fewest holes of any split inside the aim, None where
        there is none."""
        from truethrow.balance.correction import fewest, split  # noqa: PLC0415

        if not self.drills:  # heavy metal alone
            ideal = self.ideal(slugs)
            return settling.settled(ideal), ideal.worst, None
        search = fewest.Fewest(
            split.stretches(self.drills, self.planes_mm),
            slugs,
            self.target,
            self.allowed_gmm,
            self.planes_mm,
            aim=AIM,
            most_holes=MOST_HOLES,
        )
        best: Settled | None = None
        close: Settled | None = None
        numbers: set[int] = set()
        for one in search.inside():
            if best and (one.holes > len(best.holes) or one.least_g >= best.rank_g):
                break
            numbers.add(one.holes)
            if settling.looks > self.most_looks // 2 or len(numbers) > MOST_NUMBERS:
                break
            settled = settling.settled(one)
            if settled.worst <= AIM and (best is None or _weight(settled) < _weight(best)):
                best = settled
            elif settled.worst > AIM and (close is None or _score(settled) < _score(close)):
                close = settled
        if best:
            return best, AIM, min(numbers)
        nearest = search.nearest
        if slugs and nearest.worst > AIM:
            ideal = self.ideal(slugs)
            nearest = ideal if ideal.worst < nearest.worst else nearest
        start = close or settling.settled(nearest)
        return settling.with_more(start, MOST_HOLES), nearest.worst, min(numbers, default=None)

    def ideal(self, slugs: list[Site]) -> Split:
        """The split with as many slugs as it takes."""
        from truethrow.balance.correction import split  # noqa: PLC0415

        return split.ideal(
            split.stretches(self.drills, self.planes_mm),
            slugs,
            self.target,
            self.allowed_gmm,
            self.planes_mm,
            aim=AIM,
            most_holes=MOST_HOLES,
        )

    def with_any_number(self) -> float:
        """The worse plane over what is allowed as if every stretch took any number of holes."""
        from truethrow.balance.correction import fewest, split  # noqa: PLC0415

        if not self.drills:
            return self.now
        several = split.stretches(self.drills, self.planes_mm, unlimited=True)
        search = fewest.Fewest(
            several, [], self.target, self.allowed_gmm, self.planes_mm, aim=AIM, most_holes=MOST_HOLES
        )
        return search.reach()


def _score(settled: Settled) -> float:
    from truethrow.balance.correction import split  # noqa: PLC0415

    return len(settled.holes) + split.BEYOND * max(0.0, settled.worst - AIM)


def _weight(settled: Settled) -> tuple[int, float]:
    return len(settled.holes), settled.rank_g


def _in_order(operations: Sequence[Hole]) -> tuple[Hole, ...]:
    """Slugs first, then what takes most; the last ones are the fine ones."""
    return tuple(sorted(operations, key=lambda hole: (hole.kind != "slug", -abs(hole.removes_gmm))))


def _in_stages(operations: tuple[Hole, ...]) -> tuple[tuple[Hole, ...], tuple[Hole, ...]]:
    """What is done before the next spin, and what is foreseen after it: heavy metal comes first, alone."""
    heavy = tuple(hole for hole in operations if hole.kind == "slug")
    return (heavy, tuple(hole for hole in operations if hole.kind != "slug")) if heavy else (operations, ())


def _stays(
    question: _Question, answer: _Answer, residual: TwoPlanes, allowed_gmm: tuple[float, float], *, slugs: bool
) -> tuple[Stays, ...]:
    over = [abs(left) - allowed for left, allowed in zip(residual, allowed_gmm, strict=True)]
    if max(over) <= 0:
        return ()
    why, frees = _why(question, answer, slugs=slugs)
    names: tuple[Plane, Plane] = ("front", "rear")
    return tuple(
        Stays(name, left, too_much, why, frees)
        for name, left, too_much in zip(names, residual, over, strict=True)
        if too_much > 0
    )


def _why(question: _Question, answer: _Answer, *, slugs: bool) -> tuple[Why, tuple[Frees, ...]]:
    """Tried, not guessed: finer steps where the split without steps does it, then any number of holes, then heavy
    metal where it was not to be used."""
    if answer.ideal <= 1 and question.finer().removing().worst <= 1:
        return "steps", ("finer steps",)
    frees: list[Frees] = []
    if answer.ideal <= 1 or question.with_any_number() <= 1:
        frees.append("room")
    if not slugs and question.tools.slugs and question.with_slugs().worst <= 1:
        frees.append("heavy metal")
    return ("room" if "room" in frees else "reach"), tuple(frees) or ("metal at the angle",)


def _misfits(question: _Question) -> tuple[Misfit, ...]:
    """Slugs that fit nowhere, each with the size that would, tried."""
    from truethrow.balance.correction.slug_sizes import misfits  # noqa: PLC0415

    found = []
    for one in misfits(question.crank, question.tools):
        is_enough = one.fits is not None and question.with_slug(one.fits).worst <= 1
        found.append(one._replace(is_enough=is_enough))
    return tuple(found)


def _cautions(crank: Crank, operations: Sequence[Hole], speed_rpm: float | None) -> tuple[Caution, ...]:
    """The least wall at every operation once all are done, and the pull of every slug."""
    from truethrow.balance.correction import room  # noqa: PLC0415

    done = apply(crank, operations)
    found = []
    for hole in operations:
        pull_n = None
        if hole.kind == "slug" and speed_rpm is not None:
            bore_g = crank.member(hole.member).density_g_mm3 * disc_mm2(hole.diameter_mm) * hole.depth_mm
            pull_n = centrifugal_n(bore_g - hole.mass_g, hole.radius_mm, speed_rpm)
        found.append(Caution(hole, room.wall_left_mm(done, hole), pull_n))
    return tuple(found)
