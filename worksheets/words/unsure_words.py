"""How sure a sum of readings is, worked as a hand works it."""

from __future__ import annotations

import math
from decimal import Decimal
from typing import Any

from truethrow.balance.base.parts import way_of
from truethrow.balance.base.readings import NO_PART, Certainty, Mass, boxes_g, calibration_g, zero_g
from truethrow.worksheets.words.worked_lines import FINER, Figure, InUnits, Line, as_number, as_part, exactly

ROUNDING_SOURCE = "JCGM 100:2008, F.2.2.1: a step of the scale is a rectangle"
TARED = ", twice, as zero is a rounded reading, too"
SCATTER_SOURCE = {
    "repeats": "parts weighed more than once, pooled (JCGM 100:2008, 4.2.4), no less than step / √12",
    "declared": "declared: job file, [scale], or the bench profile",
    "assumed": "only assumed, a step of the scale: nobody weighed a part twice. Common practice, no source",
}
FACTOR_SOURCE = "Student's t, 95.45 %, by so many parts weighed again (JCGM 100:2008, Table G.2)"
TOGETHER = "JCGM 100:2008, 5.1.2: in quadrature"
SHARED_SOURCE = "what all readings share, twice: calibration, zeros, what is only estimated"


def unsure(show: InUnits, sure: Certainty, mass: Mass) -> Any:
    """The lines of the ± of a sum of readings, which is what is returned: readings that are as sure as each
    other are taken together."""
    step = show.grams_of(sure.scale.resolution_g)
    yield Line("step of the scale", "", step, "job file, [scale], or the bench profile")
    twice = _fine(show, 2 * sure.rounding_g)
    by = f"2 × {step.digits} / √12" + (" × √2" if sure.scale.tared else "")
    yield Line("rounding", by, twice, ROUNDING_SOURCE + (TARED if sure.scale.tared else ""))
    counts = [(reading, c) for reading, c in mass.sensitivity.items() if abs(c) > NO_PART]
    alike: dict[tuple[str, int, float], int] = {}
    for reading, c in counts:
        if reading.estimate is None:
            key = way_of(reading.kind), len(reading.repeats_g), round(abs(c), 9)
            alike[key] = alike.get(key, 0) + 1
    factors: dict[str, tuple[Figure, Figure]] = {}
    for way in dict.fromkeys(way for way, _, _ in alike):
        scatter = sure.scatter_on("pan" if way == "pan" else "support")
        own, factor = _fine(show, scatter.standard_g), as_part(exactly(scatter.factor))
        yield Line(f"scatter of one load on the {way}", "", own, SCATTER_SOURCE[scatter.known])
        how = FACTOR_SOURCE if math.isfinite(scatter.freedom) else "taken as well known"
        many = f", by {scatter.freedom:g}" if math.isfinite(scatter.freedom) else ""
        yield Line(f"its factor on the {way}{many}", "", factor, how)
        factors[way] = own, factor
    own_sure: dict[tuple[str, int], Figure] = {}
    for way, times in dict.fromkeys((way, times) for way, times, _ in alike):
        own, factor = factors[way]
        mean = f" / √{times}" if times > 1 else ""
        scattered = float(factor.value * own.value) / math.sqrt(times)
        each = own_sure[way, times] = _fine(show, math.hypot(2 * sure.rounding_g, scattered * show.one_g))
        weighed = {1: "once", 2: "twice"}.get(times, f"{times} times")
        by = f"√({twice.digits}² + ({factor.digits} × {own.digits}{mean})²)"
        yield Line(f"± of a part weighed {weighed} on the {way}", by, each, TOGETHER)
    squares, value = [], Decimal(0)
    for (way, times, c), count in alike.items():
        each = own_sure[way, times]
        part = as_number(c)
        squares.append(f"{count} × ({part.digits} × {each.digits})²")
        value += count * (part.value * each.value) ** 2
    shared = _fine(show, _shared_g(sure, mass))
    if shared.value:
        yield Line("± of what all share", "", shared, SHARED_SOURCE)
        squares.append(f"{shared.digits}²")
        value += shared.value**2
    unsure = _fine(show, math.sqrt(value) * show.one_g)
    yield Line("±", f"√({' + '.join(squares)})", unsure, TOGETHER)
    return unsure


def _fine(show: InUnits, grams: float) -> Figure:
    return Figure(exactly(grams / show.one_g), show.show.places + FINER + 2, show.show.mass_unit)


def _shared_g(sure: Certainty, mass: Mass) -> float:
    """What is one error in several readings, and what nobody weighed."""
    estimated = (c * one.estimate.scatter_g for one, c in mass.sensitivity.items() if one.estimate)
    boxes = boxes_g(mass.sensitivity).values()
    return 2 * math.hypot(
        calibration_g(mass.sensitivity, sure.scale), zero_g(mass.sensitivity), *boxes, *estimated
    )
