"""Where metal may come off, and how much."""

from __future__ import annotations

from typing import NamedTuple

from truethrow.balance.base.parts import ENDS, label
from truethrow.balance.job import document as doc

# Without limits of its own a pad gives no more than this: common practice, no source. A pin is not ground.
DEFAULT_PAD_G = {"piston": 2.0, "pin": 0.0, "big_end": 3.0, "small_end": 2.0}


# Where a rod's pads lie when the job does not say, as multiples of the centre distance: common practice,
# no source.
DEFAULT_PAD_AT = {"big_end": -0.30, "small_end": 1.15}


class Pad(NamedTuple):
    """A place where metal may come off: kind it belongs to, most_g it can give, and, on a rod, its place
    along the centre line from the big-end centre (at_mm)."""

    kind: str
    most_g: float
    at_mm: float | None = None


def pads_of(trim: doc.TrimTable, rod_length_mm: float | None) -> tuple[Pad, ...]:
    """Every pad of a job; those of the rods only where their length is declared, as nothing can be said of the
    two ends without it."""
    pads = []
    for kind in ("piston", "pin"):
        most_g = getattr(trim, kind)
        pads.append(Pad(kind, DEFAULT_PAD_G[kind] if most_g is None else most_g))
    for kind in ENDS if rod_length_mm is not None else ():
        pad = getattr(trim, f"{kind}_pad")
        at_mm = pad.at if pad else DEFAULT_PAD_AT[kind] * (rod_length_mm or 0.0)
        pads.append(Pad(kind, pad.most if pad else DEFAULT_PAD_G[kind], at_mm))
    return tuple(pads)


def _assumed(trim: doc.TrimTable) -> tuple[str, ...]:
    names = {"piston": trim.piston, "big_end": trim.big_end_pad, "small_end": trim.small_end_pad}
    return tuple(label(name) for name, declared in names.items() if declared is None)
