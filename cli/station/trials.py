"""Trial masses on a station that reads divisions: through spin, as its other runs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from truethrow.balance.base.digits import digits
from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.log.place import Place
from truethrow.cli import show
from truethrow.cli.common import tell_next

if TYPE_CHECKING:
    from truethrow.balance.station.balancing import Balancing
    from truethrow.balance.station.stationlog import KnownMass, MassRecord
    from truethrow.worksheets.shown.display import Display

LARGEST_G, LARGEST_MM = 1e5, 2000.0


def typed(front: str, rear: str, radius: str) -> tuple[list[KnownMass], str]:
    """The masses as typed, such as 60g@30 on one plane or on both, and what was typed of mass and radius. Their
    units have to be. Raises BadInput with every fault."""
    from truethrow.balance.base import units  # noqa: PLC0415
    from truethrow.balance.station.stationlog import KnownMass  # noqa: PLC0415

    faults: list[Fault] = []
    planes: tuple[tuple[Literal["front", "rear"], str], ...] = (("front", front), ("rear", rear))

    def quantity(where: str, text: str, dimension: units.Dimension, most: float) -> float:
        allowed = f"above 0 and at most {digits(most)} {dimension.inside}, with its unit"
        try:
            value = units.parse(text, dimension, dimension.inside)
        except units.NotAQuantity as error:
            faults.append(Fault(where, str(error), allowed))
            return 1.0
        if not 0 < value <= most or not text.strip()[-1:].isalpha():
            faults.append(Fault(where, f"{shown(text)!r} is out of reach, or has no unit", allowed))
            return 1.0
        return value

    radius_mm = quantity("--radius", radius, units.LENGTH, LARGEST_MM)
    masses, said = [], []
    for plane, text in planes:
        if not text:
            continue
        mass, _, angle = text.partition("@")
        try:
            at_deg = float(angle)
            if not -360 <= at_deg <= 360:
                raise ValueError
        except ValueError:
            faults.append(Fault(f"--{plane}", f"{shown(text)!r} has no angle", "such as 60g@30"))
            continue
        masses.append(KnownMass(plane, quantity(f"--{plane}", mass, units.MASS, LARGEST_G), radius_mm, at_deg))
        said.append(mass.strip())
    if faults:
        raise BadInput(faults)
    return masses, f"{' and '.join(said)} at {radius.strip()}"


def recorded(
    job: Place,
    state: Balancing,
    masses: list[KnownMass],
    typed_as: str,
    readings: list[str],
    by: str,
    speed_rpm: float | None,
) -> MassRecord:
    """Write a trial down. Raises BadInput on a station that is calibrated: there known masses prove the
    profile."""
    from truethrow.balance.station import stationwork  # noqa: PLC0415
    from truethrow.balance.station.next_steps import hang_masses  # noqa: PLC0415

    if not state.reads_divisions:
        wrong = "this station is calibrated: known masses prove its profile"
        raise BadInput([Fault("--front, --rear", wrong, remedy=f"run: {hang_masses(state)}")])
    return stationwork.known_mass(job, state, masses, readings, by, typed_as, speed_rpm)


def tell(job: Place, after: Balancing, record: MassRecord, display: Display, json: bool) -> None:
    """What a trial told, and what comes next. Status 0 once both at once read as foretold."""
    from truethrow.worksheets.data import division_data  # noqa: PLC0415

    if json:
        show.as_json(division_data.calibration(after) | {"record": record.id})
    else:
        from truethrow.cli.station import division_tables as tables  # noqa: PLC0415

        out = show.Screen()
        tables.calibration(out, after, display)
        tell_next(out, job, state=after)
    show.end("" if after.is_proved else "the station is not proved yet", quiet=json)
