"""Two rods side by side on one pin: each lies half of what they are apart off the middle of its throw.

Fork-and-blade rods and articulated rods are in one plane, and a job says nothing of them.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from truethrow.balance.base.amounts import METRIC, ToldIn
from truethrow.balance.base.errors import Fault, shown

if TYPE_CHECKING:
    from truethrow.balance.engine.declared import EngineTable
    from truethrow.balance.engine.layout import Layout

_ONE_PLANE = "fork-and-blade and articulated rods are in one plane: leave rods_apart out"


def side_by_side(table: EngineTable, layout: Layout, faults: list[Fault], told_in: ToldIn = METRIC) -> Layout:
    """The layout with its rods where the table says, or as it is, with faults for what cannot be."""
    if table.rods_apart is None and table.rod_in_front is None:
        return layout
    if found := _wrong(table, layout, told_in):
        faults += found
        return layout
    assert table.rods_apart is not None
    half_mm = table.rods_apart / 2
    paired = {throw.name for throw in layout.throws if len(layout.cylinders_on(throw)) == 2}
    places = (
        place._replace(behind_mm=-half_mm if place.bank == table.rod_in_front else half_mm)
        if place.throw in paired
        else place
        for place in layout.places
    )
    return layout._replace(places=tuple(places))


def _wrong(table: EngineTable, layout: Layout, told_in: ToldIn) -> list[Fault]:
    """What keeps two rods from lying so."""
    carried = {throw.name: len(layout.cylinders_on(throw)) for throw in layout.throws}
    if most := [f"throw {name} has {count}" for name, count in carried.items() if count > 2]:
        return [Fault("engine, rods_apart", f"is of two rods on a pin, and {most[0]}", _ONE_PLANE)]
    if 2 not in carried.values():
        allowed = "two rods on one pin; where each has a pin of its own, throw_positions says where"
        return [Fault("engine, rods_apart", "no throw has two rods", allowed)]
    return [*_both_said(table, layout), *_too_far(table, layout, told_in)]


def _both_said(table: EngineTable, layout: Layout) -> list[Fault]:
    """How far, and which one in front: both, and a bank that every pair has."""
    names = ", ".join(layout.banks)
    if table.rods_apart is None:
        allowed = "how far the two rods of a throw lie apart, from middle to middle, with rod_in_front"
        return [Fault("engine, rods_apart", "missing", allowed)]
    if table.rod_in_front is None:
        return [Fault("engine, rod_in_front", "missing", f"the bank whose rod is nearer the front: {names}")]
    if table.rod_in_front not in layout.banks:
        return [Fault("engine, rod_in_front", f"{shown(table.rod_in_front)!r} is no bank", names)]
    for throw in layout.throws:
        banks = [place.bank for place in layout.places if place.throw == throw.name]
        if len(banks) == 2 and banks.count(table.rod_in_front) != 1:
            wrong = f"throw {throw.name} has rods of the banks {' and '.join(banks)}"
            return [Fault("engine, rod_in_front", wrong, "a bank with one of the two rods of every throw")]
    return []


def _too_far(table: EngineTable, layout: Layout, told_in: ToldIn) -> list[Fault]:
    """Rods of neighboring pins, of which one would lie behind the other's."""
    apart_mm = table.rods_apart or 0.0
    placed = sorted({throw.place_mm for throw in layout.throws if throw.place_mm is not None})
    nearest_mm = min((after - before for before, after in itertools.pairwise(placed)), default=None)
    if nearest_mm is None or apart_mm < nearest_mm:
        return []
    wrong = f"{told_in.size(apart_mm)}, and the next throw is {told_in.size(nearest_mm)} away"
    return [Fault("engine, rods_apart", wrong, "less than from throw to throw")]
