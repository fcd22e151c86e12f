"""Damper, flexplate, clutch cover on the screen."""

from __future__ import annotations

import shlex
from typing import TYPE_CHECKING

from truethrow.balance.station.balancing import PLANES
from truethrow.balance.station.next_steps import command
from truethrow.cli.station.station_tables import planned
from truethrow.worksheets.shown.display import Display, angle
from truethrow.worksheets.words import station_words as words
from truethrow.worksheets.words.cautions import DRILL_CAUTION, MEMBER_CAUTION, SPIN_CAUTION
from truethrow.worksheets.words.planning_words import not_counted

if TYPE_CHECKING:
    from truethrow.balance.correction import Converted, TwoPlanes
    from truethrow.balance.correction.alike import Alike
    from truethrow.balance.crank.crank import Member
    from truethrow.balance.station.balancing import Balancing
    from truethrow.cli.show import Screen


def convert(out: Screen, found: Converted, state: Balancing, show: Display, stale: str = "") -> None:
    """stale: why what was spun is not counted."""
    unit = show.unbalance_unit
    out.line(f"From {'external' if found.to == 'internal' else 'internal'} balance to {found.to}", strong=True)
    if stale:
        out.line(f"! {not_counted(stale)}", strong=True)
    rows = [[name, *_two(one, show)] for name, one in found.brings.items()]
    rows.append(["all of them", *_two(found.whole, show)])
    out.table(["brings", f"front [{unit}]", f"rear [{unit}]"], rows, words=("brings",))
    if found.to == "internal":
        out.line("The counterweights must bring the same. With damper and flexplate that bring nothing, it reads:")
    else:
        out.line("The counterweights must give the same up. With these members on it reads:")
    reads = zip(words.reads(state, found.unbalance) or _two(found.unbalance, show), PLANES, strict=True)
    out.line(f"  {' and '.join(f'{one} {plane}' for one, plane in reads)}", strong=True)
    heavy = "Heavy metal is needed" if found.plan.heavy_metal else "Taking metal off will do"
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


def members(out: Screen, state: Balancing, show: Display) -> None:
    """What each member brings, and what a true crank reads without them."""
    for said in words.members(state, show):
        out.line(f"{said}.")
    for one in state.job.crank.externals if state.job.crank else ():
        if one.offset is None:
            own = state.members.brings(one.name, state.last) if state.last else None
            told = f"{' front, '.join(_two(own.gmm, show))} rear, {show.unbalance_unit}" if own else "not known"
            out.line(f"{one.name}: {told}{', by spins with and without it' if own else ''}.")
    for one in state.job.crank.waiting if state.job.crank else ():
        out.line(f"{one.name} is to replace {one.replaces}: {command(state, 'member', shlex.quote(one.name))}")
    out.line(f"! {MEMBER_CAUTION}")


def on_an_arbor(
    out: Screen,
    member: Member,
    runs: tuple[complex, complex],
    found: tuple[complex, complex],
    sure_gmm: float,
    counted: str,
    show: Display,
) -> None:
    """Two runs, as lines for the job; those always in g mm, as a job may have it whatever its units."""
    own, arbor = (f"{show.unbalanced(abs(one), sure_gmm)} at {angle(words.degrees(one))}" for one in found)
    out.line(f"{member.name}: {own} from its keyway or dowel; the arbor: {arbor}", strong=True)
    out.line(f"For the job, in the [[crank.external]] named {member.name}, in place of offset or arbor:")
    names = ("straight", "turned")
    told = ", ".join(
        f'{name} = {{ unbalance = "{abs(one):.1f} g mm", angle = {words.degrees(one) % 360:.2f} }}'
        for name, one in zip(names, runs, strict=True)
    )
    out.line(f'  arbor = {{ counted = "{counted}", {told}, uncertainty = "{max(sure_gmm, 0.1):.1f} g mm" }}')
    out.line(f"! {SPIN_CAUTION}")


def alike(
    out: Screen, new: Member, old: Member, found: Alike, state: Balancing, must: TwoPlanes | None, show: Display
) -> None:
    """What makes a new one equal to an old one, and how that is checked."""
    unit = show.unbalance_unit
    rows = [
        [name, show.unbalance(abs(one), 10.0), angle(words.degrees(one)), angle(words.degrees(one) - at)]
        for name, one, at in (
            (old.name, found.old_gmm, old.keyway_deg or 0.0),
            (new.name, found.new_gmm, new.keyway_deg or 0.0),
            ("too much", found.too_much_gmm, new.keyway_deg or 0.0),
        )
    ]
    out.line(f"{new.name} in place of {old.name}", strong=True)
    out.table(["", f"unbalance [{unit}]", "from throw 1", "from keyway"], rows, words=("",))
    sure = show.unbalance(found.expanded_gmm, found.expanded_gmm)
    if found.is_equal:
        out.line(f"They are equal, within ± {sure} {unit}: mount it, and spin.", strong=True)
    else:
        _to_take_off(out, new, found, show)
    if must is not None:
        reads = zip(words.reads(state, must) or _two(must, show), PLANES, strict=True)
        on = ", then ".join((*(state.last.record.members if state.last else ()),)) or "the bare crank"
        out.line(f"Check on the crank, beside {on}: with it on it must read {' and '.join(map(' '.join, reads))}.")
    out.line("Check on the arbor: two runs again, by member --straight --turned, and this command again.")
    out.line(
        f"Once it is equal and on the crank: in the job take replaces out of {new.name}, and set gone = true in "
        f"{old.name}."
    )
    out.line(f"! {MEMBER_CAUTION}")
    out.line(f"! {DRILL_CAUTION}")


def _to_take_off(out: Screen, new: Member, found: Alike, show: Display) -> None:
    keyway = new.keyway_deg or 0.0
    operations = found.plan.operations if found.plan else ()
    for number, one in enumerate(operations, start=1):
        at = angle(one.angle_deg - keyway)
        out.line(f"{number:3d}  {words.hole(one, show)}; {at} from its keyway, {new.bore} face")
    left = show.unbalance(abs(found.left_gmm), found.expanded_gmm)
    if operations:
        out.line(f"That leaves {left} {show.unbalance_unit}.")
    else:
        out.line("No hole that these drills and its maker allow makes it equal.", strong=True)
    put = f"{show.mass(found.add_g, finer=1)} {show.mass_unit} at {angle(found.add_deg)} from throw 1"
    at = angle(found.add_deg - keyway)
    out.line(f"Or put on: {put}, {at} from its keyway, at a radius of {show.length(new.pitch_mm or 0.0)}, bolted.")
