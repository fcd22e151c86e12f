"""The tables by which a job declares its engine."""

from __future__ import annotations

from typing import Annotated

from pydantic import (
    Field,
    PlainValidator,
)

from truethrow.balance.base.errors import shown
from truethrow.balance.base.fields import (
    MOST_CYLINDERS,
    Angle,
    Length,
    LengthOrBlank,
    PartName,
    Position,
    Speed,
    Table,
    ThrowAngle,
    _fault,
    one_of,
    printable_text,
)
from truethrow.balance.base.parts import KINDS
from truethrow.balance.engine.layout import GENERIC

# Figures that may be far from what engines have, once somebody has looked at them again; parts: what they weigh
# beside each other.
CAN_BE_CHECKED = ("stroke", "bore", "cylinder_spacing", "throw_positions", "rods_apart", "top_speed", "parts")


def _throw_name(typed: object) -> str:
    if isinstance(typed, bool) or not isinstance(typed, int | str):
        raise _fault(shown(typed), "the number or the name of a throw")
    return shown(typed)


ThrowName = Annotated[str, PlainValidator(_throw_name)]


class CylinderPlace(Table):
    throw: ThrowName
    bank: str = "line"


class MountsTable(Table):
    front: Position
    rear: Position


class EngineTable(Table):
    stroke: LengthOrBlank = None
    rod_length: LengthOrBlank = None
    bore: LengthOrBlank = None
    cylinder_spacing: LengthOrBlank = None
    top_speed: Speed | None = None
    layout: Annotated[str | None, PlainValidator(one_of(*GENERIC))] = None
    numbering: Annotated[str, PlainValidator(one_of("alternating", "by-bank"))] = "alternating"
    first_bank: str | None = None
    throw_angles: list[ThrowAngle] | None = None
    throw_positions: list[Position] | None = None
    rods_apart: Length | None = None
    rod_in_front: str | None = None
    banks: dict[str, Angle] | None = None
    cylinders: dict[str, CylinderPlace] | None = None
    without: list[Annotated[str, PlainValidator(one_of(*(k.name for k in KINDS)))]] = []
    desaxe: Position = 0.0
    rod_bolts: Annotated[int, Field(ge=1, le=8)] = 2
    firing_order: list[Annotated[int, Field(ge=1, le=MOST_CYLINDERS)]] = []
    mounts: MountsTable | None = None
    checked: list[Annotated[str, PlainValidator(one_of(*CAN_BE_CHECKED))]] = []


# Nobody declares more of a kind that must clear: every rod is held against each, all round the turn.
MOST_NEAR = 8


class RodPointTable(Table):
    """What stands out of a rod, as a circle: the middle's distance from the big end's middle, its angle from the
    rod's line towards the small end, to both sides of it; radius: of a bolt's head, or of whatever it is."""

    name: PartName = "bolt head"
    distance: Length
    angle: Angle = 0.0
    radius: Length


class CircleTable(Table):
    """A circle about the crank's axis or off it: distance of its middle, at an angle from straight up in the
    direction of rotation; a camshaft with the tips of its lobes as the radius."""

    name: PartName
    distance: Length
    angle: Angle = 0.0
    radius: Length


class LineTable(Table):
    """A straight rail or wall: how far its nearest point is from the crank's axis, and in which direction."""

    name: PartName
    distance: Length
    angle: Angle


class ClearanceTable(Table):
    """What must clear over a turn, as far as it is declared. least: what the builder wants to see left at every
    place; skirt_below_pin: the skirt's lowest edge below the pin's middle; skirt_width: across the bore,
    skirt_along: along the crank, both the bore without; checked: lengths that look wrong and are right, each as
    the doubt names it."""

    least: Length | None = None
    skirt_below_pin: Length | None = None
    skirt_width: Length | None = None
    skirt_along: Length | None = None
    rod: Annotated[list[RodPointTable], Field(max_length=MOST_NEAR)] = []
    circle: Annotated[list[CircleTable], Field(max_length=MOST_NEAR)] = []
    line: Annotated[list[LineTable], Field(max_length=MOST_NEAR)] = []
    checked: list[Annotated[str, PlainValidator(printable_text(80))]] = []
