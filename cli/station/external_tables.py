"""Damper, flexplate, clutch cover on the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from truethrow.balance.station.balancing import PLANES
from truethrow.cli.station.station_tables import planned
from truethrow.worksheets.shown.display import Display, angle
from truethrow.worksheets.words import station_words as words
from truethrow.worksheets.words.cautions import DRILL_CAUTION, MEMBER_CAUTION

if TYPE_CHECKING:
    from truethrow.balance.correction import Converted, TwoPlanes
    from truethrow.balance.station.balancing import Balancing
    from truethrow.cli.show import Screen


def convert(out: Screen, found: Converted, state: Balancing, show: Display) -> None:
    unit = show.unbalance_unit
    out.line(f"From {'external' if found.to == 'internal' else 'internal'} balance to {found.to}", strong=True)
    rows = [[name, *_two(one, show)] for name, one in found.brings.items()]
    rows.append(["all of them", *_two(found.whole, show)])
    out.table(["brings", f"front [{unit}]", f"rear [{unit}]"], rows, words=("brings",))
    if found.to == "internal":
        out.line("The counterweights must bring the same. With damper and flexplate that bring nothing, it reads:")
    else:
        out.line("The counterweights must give the same up. With these members on it reads:")
    read = " and ".join(
        f"{words.reads(state.instrument, one)} {plane}" for one, plane in zip(found.unbalance, PLANES, strict=True)
    )
    out.line(f"  {read}", strong=True)
    heavy = "Heavy metal is needed" if found.heavy_metal else "Taking metal off will do"
    out.line(f"{heavy}. A plan for those figures, to be made again from a spin:", strong=True)
    planned(out, found.plan, show)
    out.line(
        "The crank has the room for it." if found.has_room else "The crank has not the room for it.", strong=True
    )
    if found.to == "internal":
        out.line(
            "Once damper and flexplate are exchanged, set their offsets in the [crank] to what the new ones have, "
            "spin with --on all, and drill by that spin."
        )
    out.line(f"! {MEMBER_CAUTION}")
    out.line(f"! {DRILL_CAUTION}")


def _two(vectors: TwoPlanes, show: Display) -> list[str]:
    return [f"{show.unbalance(abs(one), 10.0)} at {angle(words.degrees(one))}" for one in vectors]
