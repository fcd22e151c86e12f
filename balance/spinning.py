"""The spins of a log: the mean of the runs of each, less what is the fixture's, and what was done before it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from truethrow.balance.correction import TwoPlanes
from truethrow.balance.errors import BadInput, Fault, shown
from truethrow.balance.records import Record
from truethrow.balance.spin import Average, Instrument, Measured, averages, indexed, joined, measured, scatter_gmm
from truethrow.balance.stationlog import Basis, Event, HoleRecord, SpinRecord

NOTHING_TO_TURN = "turned, but no spin as it stands goes before"


class Spin(NamedTuple):
    """One spin. turned: the runs more with the fixture turned; raw: the mean of the others as read, what belongs
    to the fixture in it; front, rear: the crank's own; fixture: what was taken off as the fixture's, found at this
    spin or before it; drilled: what was done to the crank since the spin before; basis: what was in force when it
    was typed, None where the log does not say."""

    number: int
    record: Record
    runs: int
    turned: tuple[SpinRecord, ...]
    raw: TwoPlanes
    front: Measured
    rear: Measured
    fixture: TwoPlanes | None
    drilled: tuple[HoleRecord, ...]
    basis: Basis | None = None

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
    """All spins in order; since: what was done after the last; scatter_gmm: of one run in the front and the rear
    plane, in each direction, as the spins alone tell it, so that a test mass changes no plan."""

    spins: tuple[Spin, ...]
    since: tuple[HoleRecord, ...]
    scatter_gmm: tuple[float, float]


class _Typed(NamedTuple):
    """The records of one spin."""

    straight: SpinRecord
    turned: list[SpinRecord]
    drilled: tuple[HoleRecord, ...]


def spun(events: Sequence[Event], instrument: Instrument, source: str = "") -> Spun:
    """The spins as the instrument is known now. Raises BadInput for turned runs that belong to no spin."""
    typed: list[_Typed] = []
    since: list[HoleRecord] = []
    for event in events:
        if isinstance(event, HoleRecord):
            since.append(event)
        elif isinstance(event, SpinRecord) and not event.is_turned:
            typed.append(_Typed(event, [], tuple(since)))
            since.clear()
        elif isinstance(event, SpinRecord):
            if not typed or since or event.record.of != typed[-1].straight.record.id:
                where = f"spin, record {shown(event.record.id)}"
                told = Fault(where, NOTHING_TO_TURN, "strike it out: truethrow strike JOB RECORD")
                raise BadInput([told], source)
            typed[-1].turned.append(event)
    means = {e.record.id: averages(e.runs, instrument) for e in events if isinstance(e, SpinRecord)}
    front, rear = (scatter_gmm(both[at] for both in means.values()) for at in (0, 1))
    return Spun(_spins(typed, means, (front, rear), instrument), tuple(since), (front, rear))


def _spins(
    typed: Sequence[_Typed],
    means: Mapping[str, tuple[Average, Average]],
    scatter: tuple[float, float],
    instrument: Instrument,
) -> tuple[Spin, ...]:
    """The fixture's own unbalance, once it is found, is taken off all later spins."""
    spins: list[Spin] = []
    fixture = [(0j, 0.0), (0j, 0.0)]  # of each plane: the vector, and its standard uncertainty
    for number, (straight, turned, drilled) in enumerate(typed, start=1):
        own = means[straight.record.id]
        crank: list[Measured] = []
        for at in (0, 1):
            noise = scatter[at] / math.sqrt(own[at].runs)
            if turned:
                other = joined([means[one.record.id][at] for one in turned])
                noise = math.hypot(noise, scatter[at] / math.sqrt(other.runs)) / 2
                vector, theirs = indexed(own[at].vector_gmm, other.vector_gmm)
                fixture[at] = theirs, noise
            else:
                vector, noise = own[at].vector_gmm - fixture[at][0], math.hypot(noise, fixture[at][1])
            crank.append(measured(vector, noise, instrument))
        is_known = bool(turned) or (spins and spins[-1].fixture is not None)
        spins.append(
            Spin(
                number=number,
                record=straight.record,
                runs=own[0].runs,
                turned=tuple(turned),
                raw=TwoPlanes(own[0].vector_gmm, own[1].vector_gmm),
                front=crank[0],
                rear=crank[1],
                fixture=TwoPlanes(fixture[0][0], fixture[1][0]) if is_known else None,
                drilled=drilled,
                basis=straight.basis,
            )
        )
    return tuple(spins)
