"""The records of a job's log in words and as plain data."""

from __future__ import annotations

from typing import Any

from truethrow.balance.history import Event
from truethrow.balance.parts import label
from truethrow.balance.records import Record


def told(record: Record) -> str:
    """What a record says, in a few words."""
    place = f"cylinder {record.cylinder}" if record.cylinder else "every cylinder"
    match record.action:
        case "read":
            return f"{place}, {label(record.kind)}: {record.typed or f'{record.grams} g'}"
        case "cut":
            return f"{place}: {record.grams} g asked for at the {label(record.kind)}"
        case "skip":
            return f"{place}, {label(record.kind)}: left out"
        case "strike":
            return f"strikes {record.of}"
        case "propose" | "seat":
            return record.typed
    return ", ".join(
        text for text in (record.kind, record.typed, f"{record.grams} g" if record.grams else "") if text
    )


def row(event: Event) -> list[str]:
    record = event.record
    notes = [f"struck by {event.struck_by}"] if event.struck_by else []
    notes += [record.why] if record.why else []
    when = record.at[:19].replace("T", " ")
    return [record.id, when, record.by or record.bench, record.action, told(record), "; ".join(notes)]


def as_data(event: Event) -> dict[str, Any]:
    return event.record._asdict() | {"struck_by": event.struck_by or None}
