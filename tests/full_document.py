"""A job's document in which every table stands, its faults, and readings of its own."""

from __future__ import annotations

from copy import deepcopy

import invented
import pytest

from truethrow.balance.base.errors import BadInput

PADS = {
    "piston": 6.0,
    "pin": 0.0,
    "big_end_pad": {"at": -48.0, "most": 9.0},
    "small_end_pad": {"at": 182.0, "most": 5.0},
}


FULL = {
    "limits": {"piston": 1.0, "big_end": 1.0, "closure": 0.5},
    "trim": PADS,
    "station": {"front_plane": -40.0, "rear_plane": 380.0, "crank_mass": "24.3 kg", "grade": 6.3},
}


# Every table of a document, as the path to it, with a key that it has.
TABLES = {
    ("job",): "title",
    ("engine",): "stroke",
    ("engine", "cylinders", "1"): "throw",
    ("scale",): "resolution",
    ("bobweight",): "share",
    ("limits",): "big_end",
    ("trim",): "piston",
    ("trim", "big_end_pad"): "most",
    ("station",): "grade",
    ("every_cylinder",): "locks",
    ("cylinder", 0): "piston",
    ("cylinder", 0, "labels"): "rings",
}


PLACES = {
    str(number): {"throw": (number + 1) // 2, "bank": "left" if number % 2 else "right"} for number in range(1, 9)
}


def document(**tables):
    return deepcopy(invented.document(**(FULL | tables)))


def engine(**changes):
    return document(engine=invented.V8 | changes)


def whole():
    """A document in which every table stands."""
    made = document(every_cylinder={"locks": 3.2})
    made["engine"]["cylinders"] = {number: dict(place) for number, place in PLACES.items()}
    made["cylinder"][0]["labels"] = {"rod": "R1"}
    return made


def at(data, path):
    for step in path:
        data = data[step]
    return data


def faults(data, **kwargs):
    with pytest.raises(BadInput) as caught:
        invented.build(data, **kwargs)
    return [str(fault) for fault in caught.value.faults]


def one_fault(data):
    (found,) = faults(data)
    return found


def with_reading(value, kind="piston", number=3):
    return document(parts=invented.cylinders(**{kind: {number: value}}))
