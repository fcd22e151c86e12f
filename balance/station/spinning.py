"""The spins of a log: the mean of the runs of each, less what is the fixture's, and what was done before it.

Each is read by the profile that it was typed under, whatever the profile says today; unless somebody says that it
had been wrong.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.correction import TwoPlanes
from truethrow.balance.log import records
from truethrow.balance.station.divisions import Calibration, calibration_of, reading_sure
from truethrow.balance.station.spin import (
    Average,
    Measured,
    Runs,
    Scatter,
    averages,
    indexed,
    joined,
    measured,
    scatter,
)
from truethrow.balance.station.stationlog import Basis, HoleRecord, SpinRecord, StationEvent

NOTHING_TO_TURN = "turned, but no straight spin comes before it"


class Spin(NamedTuple):
    """One spin. typed: its runs, without those turned; turned: the runs more with the fixture turned; raw: the
    mean of the others as read, what belongs to the fixture in it; front, rear: the crank's own; fixture: what was
    taken off as the fixture's, found at this spin or before it; drilled: what was done to the crank since the spin
    before; basis: what was in force when it was typed; shown: the mean as the instrument shows it, of one
    that reads divisions in these; calibration: what trial masses told of such a one, None for any other. Where
    they told nothing yet, all of it is in divisions (is_told)."""

    number: int
    record: records.Spun
    typed: Runs
    turned: tuple[SpinRecord, ...]
    raw: TwoPlanes
    front: Measured
    rear: Measured
    fixture: TwoPlanes | None
    drilled: tuple[HoleRecord, ...]
    basis: Basis
    shown: TwoPlanes = TwoPlanes(0j, 0j)
    calibration: Calibration | None = None

    @property
    def is_told(self) -> bool:
        """Whether it is known what it reads: always, but on a station that reads divisions without trial
        masses."""
        return self.calibration is None or self.calibration.coefficients is not None

    @property
    def id(self) -> str:
        return self.record.id

    @property
    def is_read_anew(self) -> bool:
        """Whether it is read by another profile than it was typed under, which is said to have been wrong."""
        return self.record.read_by.revision != self.basis.revision

    @property
    def runs(self) -> int:
        return len(self.typed.readings)

    @property
    def ids(self) -> tuple[str, ...]:
        """Of all records that it is made from."""
        return self.record.id, *(one.record.id for one in self.turned)

    @property
    def residual(self) -> TwoPlanes:
        return TwoPlanes(self.front.vector_gmm, self.rear.vector_gmm)

    @property
    def expanded_gmm(self) -> tuple[float, float]:
        return self.front.expanded_gmm, self.rear.expanded_gmm


class Spun(NamedTuple):
    """All spins in order; since: what was done after the last; scatter: of one run in the front and the rear
    plane, as the spins alone tell it, so that a test mass changes no plan; by how they are
    read, since the spins of one profile say nothing of another's."""

    spins: tuple[Spin, ...]
    since: tuple[HoleRecord, ...]
    scatter: Mapping[str, tuple[Scatter, Scatter]]


class _Typed(NamedTuple):
    """The records of one spin."""

    straight: SpinRecord
    turned: list[SpinRecord]
    drilled: tuple[HoleRecord, ...]


def spun(events: Sequence[StationEvent], source: str = "", job: str = "JOB") -> Spun:
    """The spins, each by its own profile. job: as commands are told it.

    Raises BadInput for turned runs that belong to no spin."""
    typed: list[_Typed] = []
    since: list[HoleRecord] = []
    for event in events:
        if isinstance(event, HoleRecord):
            since.append(event)
        elif isinstance(event, SpinRecord) and not event.is_turned:
            typed.append(_Typed(event, [], tuple(since)))
            since.clear()
        elif isinstance(event, SpinRecord):
            if not typed or since or not _belongs(event, typed[-1].straight):
                where = f"spin, record {shown(event.record.id)}"
                way = f"cancel it: truethrow strike {job} {shown(event.record.id)}"
                told = Fault(where, NOTHING_TO_TURN, remedy=way)
                raise BadInput([told], source)
            typed[-1].turned.append(event)
    means = {e.record.id: averages(e.runs, e.basis.instrument) for e in events if isinstance(e, SpinRecord)}
    scatters = _scatters(events, means)
    spins = _spins(typed, means, scatters)
    return Spun(tuple(_calibrated(spin, typed, events, means, scatters) for spin in spins), tuple(since), scatters)


def _calibrated(
    spin: Spin,
    typed: Sequence[_Typed],
    events: Sequence[StationEvent],
    means: Mapping[str, tuple[Average, Average]],
    scatters: Mapping[str, tuple[Scatter, Scatter]],
) -> Spin:
    """A spin of a station that reads divisions, by what its trial masses told."""
    if not spin.basis.instrument.reads_divisions:
        return spin
    own = scatters[spin.basis.read_as]
    straight = typed[spin.number - 1].straight
    calibration = calibration_of(straight, events, means, own)
    made = calibration.coefficients
    if made is None:
        return spin._replace(calibration=calibration)
    sure = tuple(reading_sure(*pair, spin.basis.instrument) for pair in zip(means[spin.id], own, strict=True))
    vectors = made.unbalance(spin.raw)
    front, rear = made.sure_gmm(vectors, (sure[0], sure[1]), spin.id)
    return spin._replace(
        raw=vectors,
        front=Measured(vectors.front, front, front),
        rear=Measured(vectors.rear, rear, rear),
        calibration=calibration,
    )


def _belongs(turned: SpinRecord, straight: SpinRecord) -> bool:
    return turned.record.turned == straight.record.id and turned.basis.read_as == straight.basis.read_as


def _scatters(
    events: Sequence[StationEvent], means: Mapping[str, tuple[Average, Average]]
) -> dict[str, tuple[Scatter, Scatter]]:
    found: dict[str, list[tuple[Average, Average]]] = {}
    for event in events:
        if isinstance(event, SpinRecord):
            found.setdefault(event.basis.read_as, []).append(means[event.record.id])
    return {
        read_as: (scatter(front for front, _ in own), scatter(rear for _, rear in own))
        for read_as, own in found.items()
    }


def _spins(
    typed: Sequence[_Typed],
    means: Mapping[str, tuple[Average, Average]],
    scatters: Mapping[str, tuple[Scatter, Scatter]],
) -> tuple[Spin, ...]:
    """The fixture's own unbalance, once it is found, is taken off all later spins of the same profile."""
    spins: list[Spin] = []
    fixture = [(0j, 0.0), (0j, 0.0)]  # of each plane: the vector, and its standard uncertainty
    for number, (straight, turned, drilled) in enumerate(typed, start=1):
        own, basis = means[straight.record.id], straight.basis
        before = spins[-1] if spins and spins[-1].basis.read_as == basis.read_as else None
        if before is None:
            fixture = [(0j, 0.0), (0j, 0.0)]
        crank: list[Measured] = []
        for at, of_one in enumerate(scatters[basis.read_as]):
            noise = of_one.of(abs(own[at].vector_gmm)) / math.sqrt(own[at].runs)
            if turned:
                other = joined([means[one.record.id][at] for one in turned])
                noise = math.hypot(noise, of_one.of(abs(other.vector_gmm)) / math.sqrt(other.runs)) / 2
                vector, theirs = indexed(own[at].vector_gmm, other.vector_gmm)
                fixture[at] = theirs, noise
            else:
                vector, noise = own[at].vector_gmm - fixture[at][0], math.hypot(noise, fixture[at][1])
            crank.append(measured(vector, noise, basis.instrument))
        is_known = bool(turned) or (before is not None and before.fixture is not None)
        spins.append(
            Spin(
                number=number,
                record=straight.record,
                typed=straight.runs,
                turned=tuple(turned),
                raw=TwoPlanes(own[0].vector_gmm, own[1].vector_gmm),
                front=crank[0],
                rear=crank[1],
                fixture=TwoPlanes(fixture[0][0], fixture[1][0]) if is_known else None,
                drilled=drilled,
                basis=basis,
                shown=TwoPlanes(own[0].vector_gmm, own[1].vector_gmm),
            )
        )
    return tuple(spins)
