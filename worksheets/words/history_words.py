"""The records of a job's log in words and as plain data."""

from __future__ import annotations

from truethrow.balance.base.parts import UNITS, label
from truethrow.balance.job.history import PastRecord
from truethrow.balance.log.records import DAMAGED, Record


def told(event: PastRecord) -> str:
    """What a record says, in a few words."""
    record, parts = event.record, event.parts
    place = f"cylinder {record.cylinder}" if record.cylinder else "every cylinder"
    who = parts[0].said if parts else f"{place}, {label(record.kind)}"
    match record.action:
        case "read" | "confirm":
            grams = f"{record.grams} g"
            said = record.typed or grams if record.action == "read" else f"{grams} is right"
            return f"{who}: {said}"
        case "cut":
            part = parts[0]._replace(kind=parts[0].unit).said if parts else place
            return f"{part}: {record.grams} g asked for at the {label(record.kind)}"
        case "propose" | "seat":
            moved = {unit: [part.short for part in parts if part.unit == unit] for unit in UNITS}
            return "; ".join(f"{unit} {', '.join(own)}" for unit, own in moved.items() if own) or record.typed
        case "acknowledge" | "damaged":
            return f"line {record.of}, does not count" if record.action == DAMAGED else _settled(record)
    if record.action in ("strike", "skip"):
        return f"strikes {record.of}" if record.action == "strike" else f"{who}: left out"
    return ", ".join(
        text for text in (record.kind, record.typed, f"{record.grams} g" if record.grams else "") if text
    )


def _settled(record: Record) -> str:
    return f"line {record.typed}: {record.kind}"


def row(event: PastRecord) -> list[str]:
    record = event.record
    notes = [f"struck by {event.struck_by}"] if event.struck_by else []
    notes += [record.why] if record.why else []
    when = record.at[:19].replace("T", " ")
    return [record.id, when, record.by or record.bench, record.action, told(event), "; ".join(notes)]
