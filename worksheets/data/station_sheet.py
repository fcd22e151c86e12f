"""The balancing station's sheet: one CSV, one row a throw, the unit in every column's name; what to hang is also
told as the scale shows it, whatever its unit.

Every row carries the job's id and its digest: a sheet whose digest is not the job's own is an old sheet.
"""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass, field, fields

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.parts import UNITS
from truethrow.balance.base.program import version
from truethrow.balance.result.doubts import named
from truethrow.balance.result.work import Result
from truethrow.worksheets.data import cells
from truethrow.worksheets.shown.display import Display

_NUMBER = re.compile(r"-?\d+(\.\d+)?")


@dataclass(frozen=True)
class StationRow:
    """One row. The fields are the columns, in their order; a number is rounded as it is written."""

    job_id: str
    job_title: str
    digest: str
    throw: str
    crank_angle_deg: float
    position_mm: float
    cylinders: str
    part_labels: str
    share: float
    oil_g: float
    bobweight_g: float
    bobweight_uncertainty_g: float
    hang: str = field(compare=False)  # what the scale shows is what hang_g is
    hang_g: float
    look_again: str = field(compare=False)  # it is the same sheet once these readings are found right
    deviation_g: float
    front_plane_mm: float
    front_unbalance_gmm: float
    front_unbalance_crank_deg: float
    rear_plane_mm: float
    rear_unbalance_gmm: float
    rear_unbalance_crank_deg: float
    # By these a sheet is the same all the same: how far the log had come, the format of this sheet, the program.
    log_head: str = field(compare=False)
    sheet_format: str = field(compare=False)
    program: str = field(compare=False)


FORMAT = "2"
COLUMNS = tuple(column.name for column in fields(StationRow))
_TEXT = tuple(column.name for column in fields(StationRow) if column.type == "str")


def rows(result: Result) -> tuple[StationRow, ...]:
    """What the station gets of a job that was worked through."""
    job, cost, program, show = result.job, result.cost, version(), Display.of(result.job)
    return tuple(
        StationRow(
            job_id=job.id,
            job_title=job.title,
            digest=job.digest,
            throw=made.throw.name,
            crank_angle_deg=_written(made.throw.angle_deg),
            position_mm=_written(made.throw.z_mm),
            cylinders=" ".join(map(str, made.cylinders)),
            part_labels=_labels(result, made.cylinders),
            share=_written(job.share),
            oil_g=_written(made.oil_g),
            bobweight_g=_written(made.bobweight.value_g),
            bobweight_uncertainty_g=round(result.certainty.expanded_g(made.bobweight), 3),
            hang=show.masses(made.hung_g),
            hang_g=_written(made.hung_g),
            look_again="; ".join(named(job, result.slips)),
            deviation_g=_written(made.deviation.value_g),
            front_plane_mm=_written(cost.front.z_mm),
            front_unbalance_gmm=round(cost.front.amount_gmm, 2),
            front_unbalance_crank_deg=round(cost.front.angle_deg, 1),
            rear_plane_mm=_written(cost.rear.z_mm),
            rear_unbalance_gmm=round(cost.rear.amount_gmm, 2),
            rear_unbalance_crank_deg=round(cost.rear.angle_deg, 1),
            log_head=job.head,
            sheet_format=FORMAT,
            program=program,
        )
        for made in result.bobweights.throws
    )


def to_csv(sheet: tuple[StationRow, ...]) -> str:
    """The sheet as text."""
    return cells.to_csv([COLUMNS, *map(_cells, sheet)])


def from_csv(text: str, source: str = "") -> tuple[StationRow, ...]:
    """Read a sheet back. Raises BadInput for anything that to_csv does not write."""
    try:
        header, *body = list(csv.reader(io.StringIO(text, newline=""), strict=True)) or [[]]
    except csv.Error as error:
        raise BadInput([Fault("", f"no station sheet: {error}")], source) from None
    if tuple(header) != COLUMNS:
        raise BadInput([Fault("row 1", "not the headings of a station sheet", ", ".join(COLUMNS))], source)
    faults: list[Fault] = []
    found = [_row(own, number, faults) for number, own in enumerate(body, start=2) if own]
    if not found:
        faults.append(Fault("row 2", "missing", "one row a throw"))
    if faults:
        raise BadInput(faults, source)
    return tuple(row for row in found if row is not None)


def is_station_sheet(text: str) -> bool:
    """Whether a text starts as a sheet of ours does: such a file may be written over."""
    return text.startswith(cells.to_csv([COLUMNS]).rstrip())


def _cells(row: StationRow) -> list[str]:
    values = ((name, getattr(row, name)) for name in COLUMNS)
    return [cells.guarded(value) if name in _TEXT else _decimal(value) for name, value in values]


def _row(found: list[str], number: int, faults: list[Fault]) -> StationRow | None:
    if len(found) != len(COLUMNS):
        faults.append(Fault(f"row {number}", f"{len(found)} cells", f"{len(COLUMNS)}"))
        return None
    values: dict[str, str | float] = {}
    for name, cell in zip(COLUMNS, found, strict=True):
        if name in _TEXT:
            values[name] = cells.unguarded(cell)
        elif _NUMBER.fullmatch(cell):
            values[name] = float(cell)
        else:
            faults.append(Fault(f"row {number}, {name}", f"{shown(cell)!r} is not a number"))
    return StationRow(**values) if len(values) == len(COLUMNS) else None  # type: ignore[arg-type]


def _labels(result: Result, cylinders: tuple[int, ...]) -> str:
    """What is marked, or goes elsewhere than it was weighed, by its name."""
    names = result.job.names
    parts = (names.part(unit, number) for number in cylinders for unit in UNITS)
    return "; ".join(part.said for part in parts if part.label or part.has_moved)


def _written(value: float) -> float:
    return round(value, 6) + 0.0


def _decimal(value: float) -> str:
    return f"{value:.6f}".rstrip("0").rstrip(".")
