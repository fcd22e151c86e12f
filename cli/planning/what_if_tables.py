"""What if, on the screen: every table says in its heading that it is no more than that."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence

from truethrow.balance.base.parts import label
from truethrow.balance.base.readings import digits_for
from truethrow.balance.base.told import rounded
from truethrow.balance.crank.turning import Turned
from truethrow.balance.result.spread import Spread
from truethrow.balance.result.unbalance import PlaneUnbalance
from truethrow.balance.running.changes import Changes
from truethrow.balance.running.what_if import WhatIf
from truethrow.balance.station.by_now import Reading
from truethrow.cli.show import Screen, verdict
from truethrow.worksheets.shown.display import Display, finer_of
from truethrow.worksheets.words import planning_words, result_words
from truethrow.worksheets.words import what_if_words as words
from truethrow.worksheets.words.cautions import MAKERS_FIRST

# A vector that was worked out from drawings' figures: to ten g·mm.
ABOUT_GMM = 10.0


def parts(out: Screen, found: WhatIf, changes: Changes, show: Display) -> None:
    """All that the parts tell."""
    job = found.now.result.job
    out.line(words.title(changes), strong=True)
    out.line(words.NOT_THE_JOB.format(job.id))
    if said := result_words.estimated(job):
        out.line(f"! {said}", strong=True)
    # Before any figure: whoever typed what no such part weighs reads no table as if it were so.
    for slip in found.new_slips:
        out.line(f"! Would look like a slip: {result_words.slip(slip, show, job.names, job.name)}", strong=True)
    if job.has_parts:
        out.line(words.TOGETHER)
    _bobweights(out, found, show)
    _left(out, found, show)
    _spreads(out, found, show)
    _shake(out, found, show)


def crank(
    out: Screen,
    cranks: tuple[Reading, Reading],
    turned: Sequence[Turned],
    show: Display,
    *,
    has_tools: bool,
    is_spun: bool,
    stale: str = "",
) -> None:
    """What the crank would read, and take. stale: why what was spun is not counted."""
    _head(out, f"the crank's planes [{show.unbalance_unit}]")
    if stale:
        out.line(f"! {planning_words.not_counted(stale)}", strong=True)
    out.line(words.from_where(is_spun=is_spun, is_stale=bool(stale)))
    rows = [
        [plane, _at(now, show), _at(then, show)]
        for plane, now, then in zip(("front", "rear"), *(one.planes for one in cranks), strict=True)
    ]
    out.table(["plane", "reads now", "would read"], rows)
    out.line(words.CRANK_ANGLES)
    if turned:
        out.line(words.turned(turned, show))
        for one in turned:
            for hole in one.opened:
                out.line(f"! {planning_words.opened(one.member.name, hole, one.to_mm, show)}.")
        out.line(f"! {planning_words.TURNING_CAUTION}")
    if has_tools:
        _head(out, "what it takes to bring both planes inside")
        told = {
            "holes": [str(one.holes) for one in cranks],
            "slugs of heavy metal": [str(one.slugs) for one in cranks],
            f"comes off, less what goes in [{show.mass_unit}]": [show.mass(one.mass_g) for one in cranks],
            "inside then": ["no: OUTSIDE" if one.stays else "yes" for one in cranks],
        }
        out.table(["", "now", "what if"], [[name, *own] for name, own in told.items()])
        out.line(words.HOLES_LATER)
    out.line(f"! {MAKERS_FIRST}")


def _head(out: Screen, text: str) -> None:
    out.heading(words.HEAD.format(text))


def _bobweights(out: Screen, found: WhatIf, show: Display) -> None:
    now, then = (side.result.bobweights for side in found)
    _head(out, f"bobweights [{show.mass_unit}]")
    rows = [
        [
            one.throw.name,
            show.mass(one.bobweight.value_g, 1),
            show.mass(other.bobweight.value_g, 1),
            _signed(other.bobweight.value_g - one.bobweight.value_g, show),
            show.mass(one.hung_g),
            show.mass(other.hung_g),
        ]
        for one, other in zip(now.throws, then.throws, strict=True)
    ]
    out.table(["throw", "now", "what if", "change", "hangs now", "would hang"], rows)
    out.line(words.would_hang(now, then, show))


def _left(out: Screen, found: WhatIf, show: Display) -> None:
    now, then = (side.result.left for side in found)
    if now is None or then is None:
        if found.now.result.job.has_parts:
            out.line(result_words.no_planes(found.now.result))
        return
    _head(out, f"what hanging leaves [{show.unbalance_unit}]")
    rows = [
        [one.plane, *_plane(one, show), *_plane(other, show)]
        for one, other in zip(now.planes, then.planes, strict=True)
    ]
    out.table(["plane", "now", "±", "verdict", "what if", "±", "verdict"], rows)


def _plane(one: PlaneUnbalance, show: Display) -> list[str]:
    sure = one.expanded_gmm
    ruled = "" if one.plane == "static" else verdict(one.verdict)
    return [show.unbalance(one.amount_gmm, sure), show.unbalance(sure, sure), ruled]


def _spreads(out: Screen, found: WhatIf, show: Display) -> None:
    if not found.spreads:
        return
    _head(out, f"spreads, heaviest − lightest [{show.mass_unit}]")
    rows = []
    for now, then in found.spreads:
        known = now or then
        assert known
        finer = max(finer_of(one, show) for one in (now, then) if one)
        limit = "" if known.limit_g is None else show.allowed(known.limit_g, finer).digits
        rows.append([label(known.quantity), limit, *_spread(now, finer, show), *_spread(then, finer, show)])
    out.table(["of", "limit", "now", "verdict", "what if", "verdict"], rows)


def _spread(one: Spread | None, finer: int, show: Display) -> list[str]:
    return ["", "one figure"] if one is None else [show.mass(one.spread_g, finer), verdict(one.verdict)]


def _shake(out: Screen, found: WhatIf, show: Display) -> None:
    now, then = found.now.shake, found.then.shake
    if now is None or then is None:
        if found.now.result.job.has_parts:
            out.line(words.no_shake(found))
        return
    _head(out, f"what shakes at {now.speed_rpm:g} r/min, the largest of a turn")
    out.line(words.BALANCED)
    force = (now.force.amount, now.force_expanded_n, then.force.amount, then.force_expanded_n)
    couple = (now.couple.amount, now.couple_expanded_nm, then.couple.amount, then.couple_expanded_nm)
    rows = [
        [f"{name} [{unit}]", *_pair(*own[:2], one), *_pair(*own[2:], one)]
        for name, unit, one, own in (
            ("force", show.force_unit, show.per_newton, force),
            ("couple", show.couple_unit, show.per_newton_metre, couple),
        )
    ]
    out.table(["", "now", "±", "what if", "±"], rows)


def _pair(amount: float, expanded: float, one: float) -> list[str]:
    """An amount and its ±. one: of the unit that is shown."""
    places = digits_for(expanded * one)
    return [rounded(amount * one, places), rounded(expanded * one, places)]


def _signed(grams: float, show: Display) -> str:
    said = show.mass(grams, 1)
    return f"+{said}" if float(said) > 0 else said


def _at(vector: complex, show: Display) -> str:
    """To ten g·mm and whole degrees, and never 360; nothing has no angle."""
    if abs(vector) < ABOUT_GMM / 2:
        return show.unbalance(0.0, ABOUT_GMM)
    return f"{show.unbalance(abs(vector), ABOUT_GMM)} at {round(math.degrees(cmath.phase(vector))) % 360}°"
