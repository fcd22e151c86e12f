"""Everything that is known of a job, whatever of it is known by now: what the cards are made from.

A job whose readings are still missing has a bench card; one without a station's profile has all but the station's.
A fault of a file is no such gap: it is raised, with every other one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from truethrow.balance.base import fields
from truethrow.balance.base.errors import BadInput
from truethrow.balance.base.fields import Typed
from truethrow.balance.base.naming import Names
from truethrow.balance.base.parts import UNIT_OF
from truethrow.balance.base.readings import Reading
from truethrow.balance.engine.lengths import NotDeclared
from truethrow.balance.job import document as doc
from truethrow.balance.job import job, sources, weighsheet
from truethrow.balance.job.history import PastRecord, events_of
from truethrow.balance.job.job import Job
from truethrow.balance.job.jobfile import parse_toml
from truethrow.balance.job.logged import Logged
from truethrow.balance.log import place
from truethrow.balance.log.log import Log
from truethrow.balance.log.place import Place
from truethrow.balance.log.records import Cut, struck_ids
from truethrow.balance.log.replaying import Void, counting, cut_places, replay
from truethrow.balance.result import match_first, plans
from truethrow.balance.result.doubts import parts_in_doubt
from truethrow.balance.result.plans import Standing
from truethrow.balance.result.unbalance import allowed_gmm
from truethrow.balance.result.work import Result, work
from truethrow.balance.station import stationfile
from truethrow.balance.station.balancing import Balancing, follow
from truethrow.balance.station.may_go import as_it_counts
from truethrow.balance.station.stack import stacks
from truethrow.balance.station.stacked import Inventory, Stacks
from truethrow.balance.station.stationfile import StationProfile
from truethrow.balance.weighing import benchjob
from truethrow.balance.weighing.benchjob import BenchJob, WeighStep
from truethrow.balance.weighing.session import Session
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import card_words

if TYPE_CHECKING:
    from truethrow.balance.base.files import KeptText
    from truethrow.balance.base.trades import Moves
    from truethrow.balance.engine.share import Shares
    from truethrow.balance.running.running import Shake
    from truethrow.worksheets.cards.card import CardKind


@dataclass(frozen=True)
class Known:
    """bench: the job as the bench sees it; steps: what is to be weighed, in order; parts: the readings that count
    by cylinder and kind, as far as there are any; labels: of parts, by cylinder; events: the log;
    name: the job in a command on paper, where a file is called by its name alone; head: how far the log has come;
    trades: as a job has them.

    again: what was cut and not weighed since, cylinder and kind; standing: the plan of the trim that was begun,
    while what was cut is not wholly weighed again.

    job, result: None while readings are missing; first: the job as it was before metal came off any part, None
    where none did or not all of it was weighed then; cut: the parts that metal came off, by unit and cylinder;
    profile: the station's, where it was given; inventory, stacks: where it has plates; balancing: where it has an
    instrument and the job has a tolerance; why: kind of card →
    why it cannot be made yet."""

    bench: BenchJob
    steps: tuple[WeighStep, ...]
    parts: Mapping[int, Mapping[str, Reading]]
    labels: Mapping[int, Mapping[str, str]]
    events: tuple[PastRecord, ...]
    name: str
    head: str
    traded: Moves = field(default_factory=dict)
    again: frozenset[tuple[int, str]] = frozenset()
    standing: Standing | None = None
    job: Job | None = None
    result: Result | None = None
    first: Result | None = None
    cut: frozenset[tuple[str, int]] = frozenset()
    profile: StationProfile | None = None
    inventory: Inventory | None = None
    stacks: Stacks | None = None
    balancing: Balancing | None = None
    why: Mapping[CardKind, str] = field(default_factory=dict)

    @property
    def open(self) -> tuple[WeighStep, ...]:
        """What is still to be weighed, or to be weighed again."""
        return tuple(s for s in self.steps if not s.is_check and s.kind not in self.parts[s.cylinder])

    @property
    def still_to_weigh(self) -> str:
        """How many parts that is, in words."""
        return card_words.STILL_TO_WEIGH.format(
            parts="1 part is" if len(self.open) == 1 else f"{len(self.open)} parts are"
        )

    @property
    def names(self) -> Names:
        """What the parts are called."""
        return Names(self.bench.engine.layout.cylinders, self.labels, self.traded)

    @property
    def planned(self) -> Result | None:
        """The job that the trim is of: as it was when the plan that stands was told, else as it is."""
        return self.standing.result if self.standing else self.result

    def why_not(self, kind: CardKind) -> str:
        """Why a card cannot be made yet; empty where it can. No trim card orders a cut after a reading that is to
        be looked at again."""
        try:
            is_held = kind == "trim" and self.planned is not None and self.planned.is_held
        except NotDeclared as error:
            return "; ".join(error.lines())
        if is_held and self.planned:
            parts = ", ".join(parts_in_doubt(self.planned))
            return card_words.LOOK_AGAIN_FIRST.format(parts=parts, job=self.planned.job.name)
        return self.why.get(kind, "")

    @cached_property
    def kinds(self) -> tuple[str, ...]:
        """What is weighed cylinder by cylinder, in the bench's order; then what was weighed without being asked
        for."""
        asked = [step.kind for step in self.steps if not step.is_check]
        there = [
            kind
            for parts in self.parts.values()
            for kind, reading in parts.items()
            if reading.cylinder is not None
        ]
        return tuple(dict.fromkeys((*asked, *there)))

    @cached_property
    def for_all(self) -> dict[str, Reading]:
        """What one reading stands for in every cylinder."""
        return {
            kind: reading
            for parts in self.parts.values()
            for kind, reading in parts.items()
            if reading.cylinder is None and kind not in self.kinds
        }

    @cached_property
    def shake(self) -> Shake | None:
        """The engine at its top speed, None where that is not known."""
        if self.result is None or self.result.job.engine.top_speed_rpm is None or not self.result.job.has_parts:
            return None
        if self.result.job.engine.declared_rod_length_mm is None:
            return None
        from truethrow.balance.running import running  # noqa: PLC0415 (numpy)

        return running.shake(self.result, self.result.job.engine.top_speed_rpm)

    @cached_property
    def shares(self) -> Shares | None:
        """What the share does at the engine's top speed, None where that is not known."""
        if self.shake is None or self.result is None:
            return None
        from truethrow.balance.running import running  # noqa: PLC0415 (numpy)

        return running.job_shares(self.result, self.shake.speed_rpm)

    def display(self, show: str | None = None) -> Display:
        """The job's own units, or those of a name in SHOW; also for a job whose readings are missing."""
        units, unit = self.bench.units, self.result.job.scale_unit if self.result else self.bench.shown_unit
        made = Display.on(unit, self.bench.scale.resolution_g, units.mass, units.length, show)
        return made.with_drills(self.profile.tools) if self.profile else made


def load(at: Place, sheet: Path | None = None, station: Path | KeptText | None = None) -> Known:
    """What is known of a job. at: where the job is; sheet: a weigh sheet with readings of it; station: the profile
    of the balancing station.

    Raises BadInput with every fault of what is there; readings that are not there yet are none."""
    place.must_have_a_log(at)
    bench = benchjob.load(at)
    profile = None if station is None else stationfile.load(station)
    log = place.open_log(at)
    made, name = _job(at, sheet), place.in_its_folder(at)
    steps, events = Session(bench, log).steps, tuple(events_of(log.records, bench.labels))
    if made is None:
        parts, labels = _as_far_as_weighed(at, sheet, bench, log)
        told = replay(log.records, log.name)
        known = Known(bench, steps, parts, labels, events, name, str(log.head), told.traded, profile=profile)
        again = cut_places(told.placed) & {(s.cylinder, s.kind) for s in known.open}
        standing = plans.standing(at)
        kinds: tuple[CardKind, ...] = ("bobweight", "station", "report")
        why = dict.fromkeys(kinds if standing else ("trim", *kinds), known.still_to_weigh)
        return replace(known, again=frozenset(again), standing=standing, why=why)
    result = work(made)
    not_yet: dict[CardKind, str] = {} if profile else {"station": card_words.NO_PROFILE}
    if first := match_first.to_match(made, log.records):
        not_yet["trim"] = first
    if made.has_parts and (lacking := made.engine.not_placed):
        said = "; ".join(NotDeclared(lacking, name).lines())
        not_yet |= {"station": said, "report": said}
    elif not made.has_parts:
        not_yet["trim"] = card_words.NO_PARTS
        if made.station.planes_mm is None:
            not_yet |= {"station": card_words.NO_PLANES, "report": card_words.NO_PLANES}
    balancing = _balancing(made, profile, log, name)
    if balancing and profile:
        profile = profile._replace(instrument=balancing.instrument)
    inventory = profile.inventory_for(made.scale.resolution_g) if profile and profile.inventory else None
    return Known(
        bench,
        steps,
        {number: made.parts.get(number, {}) for number in made.layout.cylinders},
        made.labels,
        events,
        name,
        str(log.head),
        made.traded,
        job=made,
        result=result,
        first=_as_first_weighed(at, log),
        cut=_cut(log),
        profile=profile,
        inventory=inventory,
        stacks=_stacks(result, inventory),
        balancing=balancing,
        why=not_yet,
    )


def _job(at: Place, sheet: Path | None) -> Job | None:
    """The job, None where readings are missing and nothing else is wrong."""
    try:
        return job.load(at, sheet, given=True)
    except BadInput as error:
        if all(fault.to_weigh for fault in error.faults):
            return None
        raise


def _as_first_weighed(at: Place, log: Log) -> Result | None:
    """The job as it was weighed before the first cut that counts."""
    struck = struck_ids(log.records)
    cuts = (n for n, one in enumerate(log.records) if isinstance(one, Cut) and one.id not in struck)
    if (known := next(cuts, None)) is None:
        return None
    try:
        return work(job.own_readings(at, known=known))
    except BadInput:
        return None


def _cut(log: Log) -> frozenset[tuple[str, int]]:
    """What was cut, but for what is another part since: of that nobody knows what came off it."""
    placed = replay(log.records, log.name).placed
    found = {(UNIT_OF[one.pad], one.cylinder) for one in placed if isinstance(one, Cut)}
    lost = {(UNIT_OF.get(one.kind, ""), one.cylinder) for one in placed if isinstance(one, Void)}
    return frozenset(found - lost)


def _as_far_as_weighed(
    at: Place, sheet: Path | None, bench: BenchJob, log: Log
) -> tuple[Mapping[int, Mapping[str, Reading]], Mapping[int, Mapping[str, str]]]:
    """The readings that count and the labels, by the rules of a job that is whole."""
    raw = parse_toml(place.text_of(at), place.source_of(at))
    told = replay(log.records, log.name)
    logged = Logged(placed=told.placed, traded=told.traded, cut=cut_places(told.placed))
    for (number, kind), records in counting(told.placed).items():
        grams = tuple(record.grams for record in records)
        logged.readings.setdefault(number, {})[kind] = Typed(tuple(record.typed for record in records), grams)
    tables = sources.cylinder_tables(raw.get("cylinder", []), bench.units, [])
    filled = sources.without_blanks(raw.get("every_cylinder", {}))
    every = fields.validate(doc.EveryCylinderTable, filled, "every_cylinder", bench.units, [])
    written = weighsheet.read(sheet, bench.units) if sheet else weighsheet.WeighSheet()
    older = sources.older_parts(bench.engine.layout.cylinders, tables, every, logged)
    return sources.parts_of(older, logged, written), sources.labels_of(sources.labels_in(raw), logged, written)


def _stacks(result: Result, inventory: Inventory | None) -> Stacks | None:
    """None for a shop that says nothing of its plates."""
    if inventory is None or not inventory.pieces:
        return None
    return stacks({throw.throw.name: throw.hung_g for throw in result.bobweights.throws}, inventory)


def _balancing(made: Job, profile: StationProfile | None, log: Log, name: str) -> Balancing | None:
    """None where the station's instrument is not known, or the job has no tolerance."""
    is_placed = made.station.planes_mm is not None and not (made.has_parts and made.engine.not_placed)
    front, rear = allowed_gmm(made) if is_placed else (None, None)
    if profile is None or profile.instrument is None or front is None or rear is None:
        return None
    profile = profile._replace(source=Path(profile.source).name)
    return as_it_counts(follow(made, profile, (front, rear), log.records, log.name, name))
