"""Jobs of small sets at random, and what the tool itself says once another part is in the place of one."""

import random

import invented

from truethrow.balance.base.readings import tidy
from truethrow.balance.job.pads import Pad
from truethrow.balance.result.bobweight import to_step
from truethrow.balance.result.replacing import with_part
from truethrow.balance.result.work import work

LIMITS = ("piston", "pin", "big_end", "small_end", "both_ends", "rotating", "reciprocating", "bobweight")
SCATTER = {"piston": 0.35, "pin": 0.15, "big_end": 0.35, "small_end": 0.3, "bearings": 0.1}
PADS = {
    "piston": 2.0,
    "pin": 0.5,
    "big_end_pad": {"at": -48.0, "most": 1.5},
    "small_end_pad": {"at": 182.0, "most": 1.0},
}


def job(seed, repeats=(1, 1, 1, 2, 3), **tables):
    """A V8 whose parts nearly match, some weighed more than once, under three limits or four."""
    draw = random.Random(seed)
    parts = invented.cylinders()
    for own in parts:
        for kind, sigma in SCATTER.items():
            mean = draw.gauss(invented.PARTS[kind], sigma)
            own[kind] = [round(mean + draw.choice((0, 0, 0.1)), 1) for _ in range(draw.choice(repeats))]
    limits = {name: round(draw.uniform(1.2, 2.6), 1) for name in draw.sample(LIMITS, draw.choice((3, 4)))}
    made = {"limits": limits, "trim": PADS, "bobweight": {"share": draw.choice((0.5, 0.36)), "oil": 4.0}}
    return invented.build(invented.document(parts, **made | tables))


def is_inside(made, unit, cylinder, masses):
    """Whether every limit is kept, as check tells it, with a part that was weighed once."""
    result = work(with_part(made, unit, cylinder, masses))
    return all(spread.verdict in (None, "inside") for spread in result.spreads)


def least_grams(made, unit, cylinder, masses, pads):
    """The least metal off this part alone, by trying everything; None where nothing helps. pads: of the part, each
    with how far a gram taken there lowers its readings."""
    step = made.scale.resolution_g
    ways = [(n,) for n in range(round(pads[0][0].most_g / step) + 1)]
    if len(pads) > 1:
        ways = [(n, m) for (n,) in ways for m in range(round(pads[1][0].most_g / step) + 1)]
    for way in sorted(ways, key=sum):
        left = dict(masses)
        for steps, (_, lowers) in zip(way, pads, strict=True):
            for kind, fall in lowers.items():
                left[kind] -= fall * tidy(steps * step)
        if is_inside(
            made, unit, cylinder, {kind: to_step(g, step) for kind, g in left.items()} if sum(way) else masses
        ):
            return tidy(sum(way) * step)
    return None


def rod_pads(made):
    """Both pads with their levers, worked here: a gram at x lowers the big end by 1 − x/L, the small by x/L."""
    length = made.engine.rod_length_mm
    found: list[tuple[Pad, dict[str, float]]] = []
    for pad in made.pads:
        if pad.at_mm is not None:
            found.append((pad, {"big_end": 1 - pad.at_mm / length, "small_end": pad.at_mm / length}))
    return found
