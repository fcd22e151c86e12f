"""A new job, and its weigh sheet, with the blanks to fill in.

It is short: what every job has. With every key, it also has as comments all that a job may say besides.
"""

from __future__ import annotations

import datetime
import json
import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from truethrow.balance.base.parts import KINDS
from truethrow.balance.base.units import MASS, NotAQuantity, parse
from truethrow.balance.blanks import texts
from truethrow.balance.engine.layout import GENERIC, Generic, generic_layout, sense_of_bobweights

# Layouts that bobweights do nothing for are spun bare: common practice, no source.
BARE = ("itself", "useless")
# Letters and digits that no hand takes for each other.
LETTERS = "23456789abcdefghjkmnpqrstuvwxyz"
_LONGEST_STEM = 30
_HEAD = """\
# A job file. A bare number is in the units of [job]; any may be text with a unit: "18.99 oz", "3 3/4 in".

[job]
id = {id}
title = {title}
mass_unit = {mass_unit}
length_unit = {length_unit}

[engine]
{layout}  # {description}
{numbering}{lengths}{without}{more_engine}
[scale]
{step}  # the scale's step
{more_scale}
[bobweight]
{share}  # of the reciprocating mass; 0.50 balances a 90-degree V8, other layouts differ
{oil}  # a throw
{hang}  # or "own" for each throw its own, a mass, or "none": balanced bare

[limits]                        # heaviest − lightest; take out what is not asked for
{limits}"""
# Common practice, no source. [g]
LIMITS_G = {"piston": 1.0, "pin": 1.0, "big_end": 1.0, "small_end": 1.0, "bobweight": 2.0}
_FROM_WHERE = "  # common practice, no source: set what your customer asks for"
_TOO_FINE = "  # finer than the scale's step: weigh on a finer one"
_LENGTHS = {
    "stroke": "the planes, and the station's sheet",
    "cylinder_spacing": "from throw to throw: the same",
    "rod_length": "center to center: what to take off a rod",
}
_EVERY = """
[every_cylinder]                # one reading counts for all; what is weighed of each part counts before it
"""
_MORE_ENGINE = """\
# bore = 105.0
{rods}# top_speed = 5600              # r/min
# without = ["locks"]           # parts that this engine does not have
"""
_MORE_SCALE = """\
# capacity = 3000
# repeatability = 0.05          # standard deviation of one load on the pan, when known
# repeatability_from = 20       # second weighings that it was found from; without it, it counts as well known
# rod_end_repeatability = 0.1   # the same of a rod's end, the other end on a support
# rod_end_repeatability_from = 20
# calibration = 0.05            # standard uncertainty from its certificate, when given
# calibration_percent = 0.01    # the same of the load, where the certificate gives it so
"""
_MORE = """
# [about]                       # no figure depends on it
# crank = "CX-118"              # the serial number or mark on the crank
# customer = "harbor order 12"  # the customer's reference
# due = 2027-01-15
# who = "MK"
# notes = "keep the old pins"

# What the makers of the parts allow to take off, and where. Without this, cautious limits are assumed.
# [trim]
# piston = 0.0
# pin = 0.0
# big_end_pad = { at = -40.0, most = 0.0 }    # from the big-end center; the small end is the positive way
# small_end_pad = { at = 170.0, most = 0.0 }

# [station]
# front_plane = 0.0             # from throw 1 rearwards; without them the outer throws
# rear_plane = 336.0
# crank_mass = "25 kg"          # with a grade and top_speed: the tolerance, by ISO 21940-11
# grade = 6.3                   # balance quality grade G, mm/s; or limit = "0.5 oz·in", the
#                               # shop's own for each plane

# One reading that counts for every cylinder goes here and not below.
# [every_cylinder]
# rings = 41.0
"""


class Wanted(NamedTuple):
    """What a new job says; texts are as a hand typed them, a number or a number with a unit. lengths: of _LENGTHS;
    masses: kind → what it weighs in every cylinder; without: the kinds that the engine does not have."""

    layout: str
    id: str
    title: str = ""
    mass_unit: str = "g"
    length_unit: str = "mm"
    step: str = "0.1"
    lengths: Mapping[str, str] = {}
    share: str = "0.50"
    oil: str = "0.0"
    masses: Mapping[str, str] = {}
    without: Sequence[str] = ()


def new_id(stem: str, day: datetime.date, letters: str) -> str:
    """An id that no other job has: what somebody calls it, the day, and letters by chance. Two jobs of one name
    would be one job to the book. letters: of LETTERS."""
    called = re.sub(r"[^\w-]+", "-", stem).strip("-_")[:_LONGEST_STEM] or "job"
    return f"{called}-{day:%y%m%d}-{letters}"


def job(wanted: Wanted, *, every_key: bool = False) -> str:
    """The text of a new job file. Raises KeyError for a layout that is not in the library."""
    generic = GENERIC[wanted.layout]
    several_banks, several_throws = len(generic.banks) > 1, len(generic.throw_angles_deg) > 1
    names = [name for name in _LENGTHS if several_throws or name != "cylinder_spacing"]
    bare = sense_of_bobweights(generic_layout(wanted.layout)) in BARE
    head = _HEAD.format(
        id=json.dumps(wanted.id, ensure_ascii=False),
        title=json.dumps(wanted.title, ensure_ascii=False),
        mass_unit=json.dumps(wanted.mass_unit),
        length_unit=json.dumps(wanted.length_unit),
        layout=_wide("layout", json.dumps(wanted.layout)),
        description=generic.description,
        numbering='numbering = "alternating"       # or "by-bank"\n' if several_banks else "",
        lengths="".join(_length(name, wanted.lengths.get(name, "")) for name in names),
        without=f"without = {json.dumps(list(wanted.without))}\n" if wanted.without else "",
        more_engine=_MORE_ENGINE.format(rods=_rods(generic)) if every_key else "",
        step=_wide("resolution", _value(wanted.step)),
        more_scale=_MORE_SCALE if every_key else "",
        share=_wide("share", _value(wanted.share)),
        oil=_wide("oil", _value(wanted.oil)),
        hang=_wide("hang", '"none"' if bare else '"mean"'),
        limits=_limits(wanted),
    )
    if wanted.masses:
        head += _EVERY
        head += "".join(f"{kind} = {_value(typed)}\n" for kind, typed in wanted.masses.items())
    if not every_key:
        return head
    readings = "".join(f'{kind.name} = ""\n' for kind in KINDS if kind.motion != "check")
    return (
        head
        + _MORE
        + "\n"
        + texts.text(texts.OF_A_JOB)
        + "".join(f"\n[[cylinder]]\nnumber = {n}\n{readings}" for n in _cylinders(wanted.layout))
    )


def sheet(layout_name: str, mass_unit: str = "g") -> str:
    """The text of a blank weigh sheet, one row a cylinder; decimal point or decimal comma will do."""
    headings = ["cylinder", *(f"{kind.label} [{mass_unit}]" for kind in KINDS), "rod label", "piston label"]
    rows = [[str(number), *[""] * (len(headings) - 1)] for number in _cylinders(layout_name)]
    return "".join(";".join(row) + "\n" for row in [headings, *rows])


def _rods(generic: Generic) -> str:
    """The keys of two rods side by side, where two share a pin."""
    if len(generic.banks) != 2 or generic.pin_a_cylinder:
        return ""
    first, second = generic.banks
    apart, in_front = "# rods_apart = 24.0".ljust(32), f'# rod_in_front = "{first}"'.ljust(32)
    return (
        f"{apart}# two rods on one pin, middle to middle; fork-and-blade rods: leave out\n"
        f'{in_front}# or "{second}": the bank whose rod is nearer the front\n'
    )


def _limits(wanted: Wanted) -> str:
    """The usual limits; those that the scale cannot tell are left to whoever knows what is asked for."""
    try:
        step_g = parse(wanted.step, MASS, wanted.mass_unit)
    except NotAQuantity:  # which is told where the job is read
        step_g = 0.0
    lines = []
    for at, (name, grams) in enumerate(LIMITS_G.items()):
        limit = f'{name} = "{grams:g} g"'
        is_too_fine = grams < step_g
        why = _TOO_FINE if is_too_fine else _FROM_WHERE if at == 0 else ""
        lines.append((f"# {limit}" if is_too_fine else limit).ljust(30 if why else 0) + why)
    return "".join(f"{line}\n" for line in lines)


def _length(name: str, typed: str) -> str:
    return f"{_wide(name, _value(typed))}  # {_LENGTHS[name]}\n"


def _wide(name: str, value: str) -> str:
    """A key with its value, as wide as the column of comments lets it."""
    return f"{name} = {value}".ljust(30)


def _value(typed: str) -> str:
    """A number bare, anything else as text."""
    return typed if re.fullmatch(r"\d+(\.\d+)?", typed) else json.dumps(typed, ensure_ascii=False)


def _cylinders(layout_name: str) -> tuple[int, ...]:
    return generic_layout(layout_name).cylinders
