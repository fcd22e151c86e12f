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
    Position,
    Speed,
    Table,
    ThrowAngle,
    _fault,
    one_of,
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
