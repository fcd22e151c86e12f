"""A job as the bench sees it: which parts are to be weighed, in which order, and on which scale.

Its readings may be missing, since getting them is what the bench is for; all else is checked as for a job.
"""

from __future__ import annotations

import datetime
import math
import shlex
from collections.abc import Collection, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

from truethrow.balance.base import fields, files
from truethrow.balance.base.errors import BadInput, Fault, shown_path
from truethrow.balance.base.fields import Units
from truethrow.balance.base.parts import ENDS, KINDS, Way
from truethrow.balance.base.readings import Reading, Scale
from truethrow.balance.base.scatter import Scatter
from truethrow.balance.engine import declared, engine
from truethrow.balance.job import document as doc
from truethrow.balance.job import sources
from truethrow.balance.job.about import About, about_of
from truethrow.balance.job.boxes import Box, boxes_of
from truethrow.balance.job.jobfile import (
    bare_units,
    limits_of,
    parse_toml,
    reach,
    scale_of,
    scale_unit,
    typed_at,
)
from truethrow.balance.job.logged import Logged
from truethrow.balance.job.pads import Pad, pads_of
from truethrow.balance.log.place import Place, source_of, text_of, to_paste


class WeighStep(NamedTuple):
    """One thing to put on the scale: a part of a cylinder, or a check of the scale itself (zero, reference)
    at the start or at the end of a session."""

    cylinder: int
    kind: str
    when: str = ""

    @property
    def is_check(self) -> bool:
        return self.kind in ("zero", "reference")


class BenchJob(NamedTuple):
    """What the bench needs of a job. name: the job, as to_paste has it; limits_g: the spreads allowed; units: the
    unit of a bare number and the reach of the scale; table: the [bench] of the job or of a bench profile;
    once: the kinds that one reading of the job file stands for; written: cylinder and kind of what the job
    file itself has a reading of, fit to be read or not; older: those that can be read, by cylinder;
    labels: what the job file has on its parts, by cylinder; pads: where metal may come off; shown_unit: what the
    scale shows masses in, and what a bare number that is typed beside it means; profile: a bench profile's file;
    remembered: what it says of its scale's scatter, by way of weighing, and on which day that was found; boxes:
    what [estimate] says of each kind of part."""

    id: str
    name: str
    title: str
    about: About
    engine: engine.Engine
    scale: Scale
    limits_g: dict[str, float]
    units: Units
    table: doc.BenchTable
    once: frozenset[str]
    written: frozenset[tuple[int, str]]
    older: Mapping[int, Mapping[str, Reading]]
    labels: Mapping[int, Mapping[str, str]]
    pads: tuple[Pad, ...]
    shown_unit: str
    profile: str = ""
    remembered: Mapping[Way, Scatter] = {}
    remembered_on: datetime.date | None = None
    boxes: Mapping[str, Box] = {}

    @property
    def steps(self) -> tuple[WeighStep, ...]:
        """What is to be weighed, in order, as far as the job file says."""
        return self.steps_with(self.written)

    def steps_with(self, own: Collection[tuple[int, str]]) -> tuple[WeighStep, ...]:
        """What is to be weighed, in order. own: parts that a reading for all does not stand for.

        Kind by kind, so that each part has its sisters beside it on the screen. Rods last: the fixture is set once
        for all big ends and once for all small ends, which come in the opposite order, the rod just weighed being
        the one at hand; or rod by rod where the bench says so."""
        cylinders = self.engine.layout.cylinders
        kinds = [kind.name for kind in KINDS if kind.name not in self.engine.without and kind.motion != "check"]
        steps = [WeighStep(number, kind) for kind in kinds if kind not in ENDS for number in cylinders]
        ends = [kind for kind in ENDS if kind in kinds]
        if self.table.rods == "by-rod":
            steps += [WeighStep(number, kind) for number in cylinders for kind in ends]
        else:
            for turn, kind in enumerate(ends):
                steps += [WeighStep(number, kind) for number in (cylinders if turn == 0 else reversed(cylinders))]
        if self.table.rod_total:
            steps += [WeighStep(number, "rod_total") for number in cylinders]
        asked = (step for step in steps if step.kind not in self.once or (step.cylinder, step.kind) in own)
        return (*_checks(self.table, "start"), *asked, *_checks(self.table, "end"))


def load(place: Place, profile: Path | files.KeptText | None = None, port: str | None = None) -> BenchJob:
    """Read a job for weighing. profile: a bench profile, a TOML file with a [bench] table of its own that
    stands before the job's; port: stands before either's. Raises BadInput with every fault but missing
    readings."""
    source = source_of(place)
    raw = parse_toml(text_of(place), source)
    faults: list[Fault] = []
    bare = bare_units(raw)

    def table(name: str, model: type[fields.T], *, needed: bool = False) -> fields.T | None:
        return fields.table_in(raw, name, model, bare, faults, needed=needed)

    head, scale = table("job", doc.JobTable, needed=True), table("scale", doc.ScaleTable, needed=True)
    engine_table = table("engine", declared.EngineTable, needed=True)
    made = engine.build(engine_table, faults) if engine_table else None
    limits = table("limits", doc.LimitsTable)
    bench, about = table("bench", doc.BenchTable), table("about", doc.AboutTable)
    trim = fields.validate(doc.TrimTable, raw.get("trim", {}), "trim", bare, []) or fields.empty(doc.TrimTable)
    own = None
    if profile is not None:
        bench = own = _profile(profile, bare, faults)
    units = reach(bare, scale)
    if bench is not None and port is not None:
        bench = bench.model_copy(update={"port": port})
    if bench is not None and bench.reference is not None and bench.reference > units.most_g:
        told = units.told_in.weighed
        wrong = f"{told(bench.reference)} is beyond the scale"
        faults.append(Fault("bench, reference", wrong, f"at most {told(units.most_g)}"))
    if faults:
        raise BadInput(faults, source)
    assert head and about and scale and made and limits and bench  # every fault is out
    every = raw.get("every_cylinder")
    weighed_once = {kind for kind, value in every.items() if value != ""} if isinstance(every, dict) else set()
    return BenchJob(
        id=head.id,
        name=to_paste(place),
        title=head.title,
        about=about_of(about),
        engine=made,
        scale=scale_of(scale),
        limits_g=limits_of(limits),
        units=units,
        table=bench,
        once=frozenset(weighed_once),
        written=frozenset((number, kind) for number, kinds in sources.written_in(raw).items() for kind in kinds),
        older=_older(raw, made, units),
        labels=sources.labels_in(raw),
        pads=pads_of(trim, made.declared_rod_length_mm),
        shown_unit=scale_unit(raw, bench, typed_at(place)),
        profile="" if profile is None else shlex.quote(shown_path(profile)),
        remembered=scatter_in(own) if own else {},
        remembered_on=own.repeatability_on if own else None,
        boxes=boxes_of(table("estimate", doc.EstimatesTable)),
    )


def _older(raw: dict[str, Any], made: engine.Engine, units: Units) -> dict[int, dict[str, Reading]]:
    """The readings of the job file, as far as they can be read; the rest is told when the job is worked."""
    cylinders = sources.cylinder_tables(raw.get("cylinder", []), units, [])
    every = fields.validate(
        doc.EveryCylinderTable, sources.without_blanks(raw.get("every_cylinder", {})), "", units, []
    )
    return sources.older_parts(made.layout.cylinders, cylinders, every, Logged())


def must_be_a_profile(path: Path) -> None:
    """Raise BadInput for a file that is no bench's profile."""
    faults: list[Fault] = []
    _profile(path, Units(), faults)
    if faults:
        raise BadInput(faults, str(path))


def unit_of_profile(path: Path | files.KeptText) -> str:
    """The unit that the scale of a bench profile shows. Raises BadInput for what is none."""
    return _table_of(path).unit


def scatter_of_profile(path: Path | files.KeptText) -> dict[Way, Scatter]:
    """What a bench profile says of its scale's scatter, by way of weighing. Raises BadInput for what is none."""
    return scatter_in(_table_of(path))


def _table_of(path: Path | files.KeptText) -> doc.BenchProfileTable:
    faults: list[Fault] = []
    table = _profile(path, Units(), faults)
    if faults or table is None:
        raise BadInput(faults, str(path))
    return table


def scatter_in(table: doc.BenchProfileTable) -> dict[Way, Scatter]:
    """What a bench profile says of its scale's scatter, by way of weighing."""
    said: tuple[tuple[Way, float | None, int | None], ...] = (
        ("pan", table.repeatability, table.repeatability_from),
        ("support", table.rod_end_repeatability, table.rod_end_repeatability_from),
    )
    return {way: Scatter(grams, freedom or math.inf) for way, grams, freedom in said if grams is not None}


def _profile(path: Path | files.KeptText, bare: Units, faults: list[Fault]) -> doc.BenchProfileTable | None:
    raw = parse_toml(files.read_text(path), str(path))
    own: list[Fault] = []
    table = fields.validate(doc.BenchProfileTable, raw.get("bench", {}), "bench", bare, own)
    own += [Fault(key, "is not known in a bench profile", "a table [bench]") for key in raw if key != "bench"]
    faults += [replace(fault, source=str(path)) for fault in own]
    return table


def _checks(bench: doc.BenchTable, when: str) -> tuple[WeighStep, ...]:
    """Zero where there is a scale on a port or a reference mass, and the reference mass where there is one."""
    zero = (WeighStep(0, "zero", when),) if bench.port or bench.reference is not None else ()
    return (*zero, WeighStep(0, "reference", when)) if bench.reference is not None else zero
