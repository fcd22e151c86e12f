"""The records of a job's log in words and as plain data."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from truethrow.balance.base.amounts import METRIC, ToldIn
from truethrow.balance.base.naming import Part
from truethrow.balance.base.parts import UNITS, label
from truethrow.balance.job.history import PastRecord
from truethrow.balance.log.chain import Head
from truethrow.balance.log.records import (
    STATION,
    Acknowledged,
    Aimed,
    Begun,
    Built,
    Closed,
    Confirmed,
    CrankSaid,
    Cut,
    Damaged,
    Drilled,
    LookedAt,
    MassHung,
    Moves,
    ProfileEdited,
    Proposed,
    Record,
    ReferenceRead,
    Run,
    SignedOff,
    Skipped,
    Spun,
    Struck,
    Traded,
    Weighed,
    WentUnproved,
    ZeroRead,
)
from truethrow.balance.station.lost_lines import figures_of
from truethrow.balance.station.revisions import what_changed
from truethrow.balance.station.stationlog import KnownMass, beside_of, instrument_of


def told(event: PastRecord, told_in: ToldIn = METRIC) -> str:
    """What a record says, in a few words."""
    record = event.record
    if isinstance(record, Weighed | Confirmed | Skipped | Cut):
        return _of_a_part(record, event.parts, told_in)
    if isinstance(record, Proposed | Traded):
        moved = {unit: [part.short for part in event.parts if part.unit == unit] for unit in UNITS}
        said = [f"{unit} {', '.join(own)}" for unit, own in moved.items() if own]
        return "; ".join(said) or (_moves(record.moves) if record.moves else NOTHING_MOVES)
    if isinstance(record, ProfileEdited):
        return _edit(record, told_in)
    if isinstance(record, Built | Aimed):
        return _of_the_sum(record, told_in)
    return _at_the_station(record, told_in) if isinstance(record, STATION) else _of_the_log(record, told_in)


def _of_a_part(record: Weighed | Confirmed | Skipped | Cut, parts: Sequence[Part], told_in: ToldIn) -> str:
    place = f"cylinder {record.cylinder}" if record.cylinder else "every cylinder"
    if isinstance(record, Cut):
        part = parts[0]._replace(kind=parts[0].unit).said if parts else place
        how = "asked for" if record.plan else "taken off"
        return f"{part}: {told_in.weighed(round(record.grams, 3))} {how} at the {label(record.pad)}"
    who = parts[0].said if parts else f"{place}, {label(record.kind)}"
    if isinstance(record, Skipped):
        return f"{who}: left out"
    grams = told_in.weighed(record.grams)
    return f"{who}: {record.typed or grams if isinstance(record, Weighed) else f'{grams} is right'}"


def _of_the_log(record: Record, told_in: ToldIn) -> str:
    match record:
        case ZeroRead() | ReferenceRead():
            read = (record.when, record.typed, str(told_in.weighed(record.grams)) if record.grams else "")
            return ", ".join(text for text in read if text)
        case Struck():
            return f"cancels {record.of}"
        case Acknowledged():
            return f"line {record.number}: {record.became}"
        case Damaged():
            lost = record.harm == "missing"
            return f"before line {record.number}, missing" if lost else f"line {record.number}, does not count"
    return _of_its_life(record)


def _of_its_life(record: Record) -> str:
    match record:
        case Begun():
            return f"the log of {record.job}"
        case CrankSaid():
            return f"all before is of crank {record.crank}"
        case Closed():
            return record.how
        case LookedAt():
            return f"hole {record.hole} may be as it is"
    return ""


def _moves(moves: Moves) -> str:
    return "; ".join(f"{unit} {' '.join(f'{a}>{b}' for a, b in own.items())}" for unit, own in moves.items())


def _at_the_station(record: Record, told_in: ToldIn) -> str:
    match record:
        case Spun():
            turned = "turned, " if record.turned else ""
            on = f", on: {', '.join(record.members)}" if record.members else ""
            over = ", looked over before" if record.looked_over else ""
            return f"{turned}{_runs(record.runs)} in {record.read_by.unit}{_at_speed(record.speed_rpm)}{on}{over}"
        case Drilled():
            return f"{record.kind}, {record.member}: {figures_of(record, told_in)}"
        case MassHung():
            mass = f"{_mass(record, told_in)}, crank {record.angle_deg:.9g} deg"
            if other := beside_of(record):
                mass += f", and {other.plane}, {_mass(other, told_in)}, "
                mass += f"crank {other.angle_deg:.9g} deg"
            speed = _at_speed(record.speed_rpm)
            turned = "turned, " if record.turned else ""
            return f"{turned}{record.plane}, {mass}: {_runs(record.runs)} in {record.read_by.unit}{speed}"
        case WentUnproved():
            return f"to {'sign' if record.to == 'sign' else 'drill'} without a known mass"
        case SignedOff():
            left = (
                f"{one.plane} {told_in.sure(one.unbalance_gmm, one.uncertainty_gmm)} at crank "
                f"{one.angle_deg:.1f}, inside {told_in.tolerance(one.limit_gmm).digits}"
                for one in record.left
            )
            rests_on = [" ".join(["spins", *record.spins]), " ".join(["holes", *record.holes])]
            rests_on += [" ".join(["bobweights", *record.built])] if record.built else []
            by = f"by profile {record.read_by.revision}, proof {record.proof}"
            alone = [f"with these parts alone {record.aim}"] if record.aim else []
            return "; ".join([*rests_on, by, *alone, *left])
    return ""


def _of_the_sum(record: Built | Aimed, told_in: ToldIn) -> str:
    if isinstance(record, Aimed):
        return f"holes aim at the {record.to}"
    hung = f", hung at spin {record.before}" if record.before else ""
    weighs, asked = told_in.weighed(record.grams).digits, told_in.weighed(record.asked_g)
    return f"bobweight of throw {record.throw}: {record.typed or weighs} for {asked}{hung}"


def _mass(found: MassHung | KnownMass, told_in: ToldIn) -> str:
    return f"{told_in.weighed(found.mass_g)} at {told_in.set_at(found.radius_mm)}"


def _edit(record: ProfileEdited, told_in: ToldIn) -> str:
    changed = what_changed(instrument_of(record.was), instrument_of(record.read_by), told_in)
    what = f"had been wrong since spin {record.wrong_since}" if record.wrong_since else "station changed"
    return f"{what}: {changed}"


def _at_speed(rpm: float) -> str:
    return f" at {rpm:g} r/min" if rpm else ""


def _runs(runs: tuple[Run, ...]) -> str:
    return " ".join(f"{run.front_amount}@{run.front_angle} {run.rear_amount}@{run.rear_angle}" for run in runs)


NOTHING_MOVES = "the parts sit as well as they can be made to"
COLUMNS = ("record", "at (UTC)", "by", "what")
WIDTH = 80
INDENT = "    "


def row(event: PastRecord) -> list[str]:
    """A record's id, when and by whom it was written, and what kind it is."""
    record = event.record
    when = record.at[:19].replace("T", " ")
    return [record.id, when, record.by or record.bench, record.action]


def below(event: PastRecord, told_in: ToldIn = METRIC) -> list[str]:
    """What it says and why, in lines that a narrow screen takes whole."""
    notes = [f"canceled by {event.struck_by}"] if event.struck_by else []
    notes += [event.record.why] if event.record.why else []
    return [
        line
        for text in (told(event, told_in), *notes)
        for line in textwrap.wrap(
            text, WIDTH, initial_indent=INDENT, subsequent_indent=INDENT * 2, break_on_hyphens=False
        )
    ]


def held(head: Head, since: int) -> str:
    """That a log holds a head that was printed. since: so many records later."""
    records = "no record" if not since else "1 record" if since == 1 else f"{since} records"
    return f"Yes: the log holds {head} and goes on from it, {records} since."


def of_a_copy(head: Head, log: str, job: str, more: int) -> str:
    """That a head was printed of a copy of a job that went on by itself. more: so many records this log has before
    it that the copy had not; job: as to_paste has it."""
    records = "1 record" if more == 1 else f"{more} records"
    return (
        f"NO: {head} was printed from a copy of this job that went on elsewhere. {log} has that record by now, "
        f"but before it {records} that the copy did not have. Grind, drill and sign nothing by that paper: see "
        f"what both did, truethrow history {job}, and print it again, truethrow cards {job} --into FOLDER."
    )


def not_held(head: Head, log: str, job: str) -> str:
    """That a log, by its name, does not hold a head that was printed. job: as to_paste has it."""
    return (
        f"NO: {log} does not hold {head}. Records were removed or changed since that was printed, or it was "
        "printed of another job or another copy. Grind, drill and sign nothing by this log: hold the paper "
        f"against truethrow history {job}, and put a backup back, or enter again what is missing."
    )
