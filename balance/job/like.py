"""A new job out of another: what is still true goes along, what is new is left blank, nothing of its log.

The readings of parts that are kept are those that count now, in the cylinder where the part sits now, as cut as it
is. A kept part that gave metal gives less from here on, and a kept crank has the holes that were drilled in it.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.parts import BY_NAME, UNIT_OF, UNITS
from truethrow.balance.base.readings import tidy
from truethrow.balance.job.job import own_readings
from truethrow.balance.job.jobfile import parse_toml
from truethrow.balance.log.place import Place, has_log, open_log, source_of, text_of
from truethrow.balance.log.records import Drilled, struck_ids

if TYPE_CHECKING:
    from truethrow.balance.crank.crank import Member
    from truethrow.balance.job.job import Job

CRANK, ALL = "crank", "all"
# What can be new, by all that a hand may call it.
NEW = {
    **{name: name for name in ("piston", "pin", "locks", "rings", "rod", "bearings", CRANK, ALL)},
    **{"pistons": "piston", "pins": "pin", "lock": "locks", "ring": "rings", "rods": "rod", "bearing": "bearings"},
}
_IN_ABOUT = ("crank", "customer")


class Like(NamedTuple):
    """The text of the new job; notes: what somebody has to look at."""

    text: str
    notes: tuple[str, ...]


def new_kinds(names: Sequence[str]) -> frozenset[str]:
    """What is new, by its names as a hand typed them: pistons,pins. Raises BadInput for what nothing is called,
    and for nothing."""
    words = [word.strip().lower() for name in names for word in name.split(",") if word.strip()]
    allowed = "pistons, pins, locks, rings, rods, bearings, crank, or all"
    if not words:
        raise BadInput([Fault("--new", "missing: what is new in it", allowed)])
    if wrong := [word for word in words if word not in NEW]:
        raise BadInput([Fault("--new", f"{shown(word)!r} is not known", allowed) for word in wrong])
    found = frozenset(NEW[word] for word in words)
    return frozenset(NEW.values()) - {ALL} if ALL in found else found


def like(place: Place, job_id: str, new: Collection[str]) -> Like:
    """A job like another, with these kinds new. Raises BadInput for a job that cannot be read, or of which a part
    that is kept waits for the scale."""
    import tomlkit  # noqa: PLC0415 (only a command that writes needs it)

    text, source = text_of(place), source_of(place)
    parse_toml(text, source)
    kept = {UNIT_OF.get(kind, kind) for kind in BY_NAME} - set(new)
    job = own_readings(place) if kept else None
    document: Any = tomlkit.parse(text)
    document["job"]["id"], document["job"]["title"] = job_id, ""
    about = document.get("about")
    if about is not None:
        for name in list(about):
            if CRANK in new or name not in _IN_ABOUT:
                del about[name]
    notes = [*_parts(document, job, new), *_less_to_trim(document, job, new)]
    notes += _crank(document, place, job, new)
    notes += _rules(document, new)
    return Like(tomlkit.dumps(document), tuple(notes))


def _parts(document: Any, job: Job | None, new: Collection[str]) -> Iterator[str]:
    every = document.get("every_cylinder", {})
    for kind in list(every):
        if UNIT_OF.get(kind, kind) in new:
            del every[kind]
    for table in document.get("cylinder", []):
        labels = table.get("labels")
        for kind in BY_NAME:
            unit = UNIT_OF.get(kind, kind)
            own = job.parts[table["number"]].get(kind) if job is not None and unit not in new else None
            if own is not None and own.cylinder:
                grams = [f"{one!r} g" for one in own.repeats_g]
                table[kind] = grams if len(grams) > 1 else grams[0]
            elif own is not None and BY_NAME[kind].motion == "check":
                continue
            elif unit in new and kind in table:
                table[kind] = ""
        for unit in UNITS:
            marked = job.labels[table["number"]].get(unit, "") if job is not None and unit not in new else ""
            if marked:
                if labels is None:
                    table["labels"] = labels = {}
                table["labels"][unit] = marked
            elif labels is not None and unit in labels:
                del table["labels"][unit]
    if job is not None and (moved := sum(map(len, job.traded.values()))):
        yield f"{moved} parts had traded places: each is in the cylinder where it sits now"


def _less_to_trim(document: Any, job: Job | None, new: Collection[str]) -> Iterator[str]:
    """A kept part has given already: a pad gives no more than is left where it gave most."""
    if job is None or job.ground is None:
        return
    import tomlkit  # noqa: PLC0415 (only a command that writes needs it)

    for pad in job.pads:
        gave = [g for (_, kind), g in job.ground.given_g.items() if kind == pad.kind and g > 0]
        if not gave or UNIT_OF[pad.kind] in new:
            continue
        left = f"{max(0.0, tidy(pad.most_g - max(gave))):g} g"
        trim = document.setdefault("trim", tomlkit.table())
        if pad.at_mm is None:
            trim[pad.kind] = left
        else:
            own = tomlkit.inline_table()
            own.update({"at": f"{pad.at_mm:g} mm", "most": left})
            trim[f"{pad.kind}_pad"] = own
        told = job.told_in().weighed
        rest, gone = told(max(0.0, tidy(pad.most_g - max(gave)))), told(max(gave))
        yield f"[trim] {pad.kind.replace('_', ' ')}: {rest} for all, since one has given {gone} already"


def _crank(document: Any, place: Place, job: Job | None, new: Collection[str]) -> Iterator[str]:
    crank = document.get("crank")
    if crank is None:
        return
    tables = [*crank.get("counterweight", []), *crank.get("external", [])]
    if CRANK in new:
        for table in tables:
            table.pop("hole", None)
        return
    members = {one.name: one for one in (job or own_readings(place)).crank.members}  # type: ignore[union-attr]
    log = open_log(place).records if has_log(place) else []
    struck = struck_ids(log)
    for record in log:
        if not isinstance(record, Drilled) or record.id in struck:
            continue
        table = next((one for one in tables if one["name"] == record.member), None)
        if table is None or record.kind not in ("radial", "axial", "slug"):
            at = f"{record.kind}, {record.member} at {record.angle_deg:g}°"
            yield f"in the crank already, and in no [[hole]]: {at}"
            continue
        _add_hole(table, members[record.member], record)


def _add_hole(table: Any, member: Member, record: Drilled) -> None:
    import tomlkit  # noqa: PLC0415 (only a command that writes needs it)

    own: Any = tomlkit.table()
    along = record.kind != "radial"
    own["kind"] = "axial" if along else "radial"
    own["angle"] = round(record.angle_deg, 3)
    for name, value in (("diameter", record.diameter_mm), ("depth", record.depth_mm)):
        own[name] = f"{value:g} mm"
    if along and not member.external:
        own["radius"] = f"{record.radius_mm:g} mm"
    middle_mm = member.below_face_mm(record.depth_mm / 2) if along else record.z_mm
    if not math.isclose(middle_mm, member.z_mm, abs_tol=1e-6):
        own["offset"] = f"{middle_mm - member.z_mm:g} mm"
    own["point"] = record.point_deg
    holes = table.get("hole")
    if holes is None:
        holes = tomlkit.aot()
        table["hole"] = holes
    table["hole"].append(own)


def _rules(document: Any, new: Collection[str]) -> Iterator[str]:
    """What [match] says of parts by name is true of those that are kept."""
    match = document.get("match", {})
    for key in ("together", "apart", "fixed", "bank"):
        if key in match and any(unit in str(match[key]) for unit in new):
            del match[key]
            yield f"[match] {key} named parts that are new: say it again, if it still applies"
