"""A new job for a layout, and its weigh sheet, with the blanks to fill in."""

from __future__ import annotations

from truethrow.balance.base.parts import KINDS
from truethrow.balance.engine.layout import GENERIC, generic_layout, sense_of_bobweights

# Layouts that bobweights do nothing for are spun bare: common practice, no source.
BARE = ("itself", "useless")
_HEAD = """\
# A job file: fill in every "" and take out what does not apply. A bare number is in the units named in [job];
# any quantity may be text with a unit instead, such as "18.99 oz" or "3.622 in".

[job]
id = "{name}"
title = ""
mass_unit = "g"
length_unit = "mm"

# [about]                       # no figure depends on it
# crank = "CX-118"              # the serial number or mark on the crank
# customer = "harbor order 12"  # the customer's reference
# due = 2027-01-15
# who = "MK"
# notes = "keep the old pins"

[engine]
layout = "{name}"               # {description}
{numbering}stroke = ""
rod_length = ""                 # centre to centre
{spacing}# bore = 0.0
# top_speed = 0                 # r/min
# without = ["locks"]           # parts that this engine does not have

[scale]
resolution = 0.1                # the scale's step
# capacity = 3000
# repeatability = 0.05          # standard deviation of one load on the pan, when known
# repeatability_from = 20       # second weighings that it was found from; without it, it counts as well known
# rod_end_repeatability = 0.1   # the same of a rod's end, the other end on a support
# rod_end_repeatability_from = 20
# calibration = 0.05            # standard uncertainty from its certificate, when given

[bobweight]
share = 0.50                    # of the reciprocating mass; 0.50 balances a 90-degree V8, other layouts differ
oil = 0.0                       # a throw
{hang}                   # or "own" for each throw its own, a mass, or "none": balanced bare

[limits]                        # heaviest less lightest; take out what is not asked for
piston = 1.0                    # common practice, no source: set what your customer asks for
pin = 1.0
big_end = 1.0
small_end = 1.0
bobweight = 2.0

# What the makers of the parts allow to take off, and where. Without this, cautious limits are assumed.
# [trim]
# piston = 0.0
# pin = 0.0
# big_end_pad = {{ at = -40.0, most = 0.0 }}    # from the big-end centre; the small end is the positive way
# small_end_pad = {{ at = 170.0, most = 0.0 }}

# [station]
# front_plane = 0.0             # from throw 1 rearwards; without them the outer throws
# rear_plane = 0.0
# crank_mass = "25 kg"          # with a grade and top_speed: the tolerance, by ISO 21940-11
# grade = 6.3                   # or limit = "0.5 oz·in", the shop's own for each plane

# One reading that stands for every cylinder goes here and not below.
# [every_cylinder]
# rings = 0.0
"""


def job(layout_name: str) -> str:
    """The text of a new job file. Raises KeyError for a layout that is not in the library."""
    generic = GENERIC[layout_name]
    several_banks, several_throws = len(generic.banks) > 1, len(generic.throw_angles_deg) > 1
    head = _HEAD.format(
        name=layout_name,
        description=generic.description,
        numbering='numbering = "alternating"       # or "by-bank"\n' if several_banks else "",
        hang='hang = "none"' if sense_of_bobweights(generic_layout(layout_name)) in BARE else 'hang = "mean"',
        spacing='cylinder_spacing = ""           # from throw to throw\n' if several_throws else "",
    )
    readings = "".join(f'{kind.name} = ""\n' for kind in KINDS if kind.motion != "check")
    tables = (f"\n[[cylinder]]\nnumber = {number}\n{readings}" for number in _cylinders(layout_name))
    return head + "".join(tables)


def sheet(layout_name: str) -> str:
    """The text of a blank weigh sheet, one row a cylinder; decimal point or decimal comma will do."""
    headings = ["cylinder", *(f"{kind.label} [g]" for kind in KINDS), "rod label", "piston label"]
    rows = [[str(number), *[""] * (len(headings) - 1)] for number in _cylinders(layout_name)]
    return "".join(";".join(row) + "\n" for row in [headings, *rows])


def _cylinders(layout_name: str) -> tuple[int, ...]:
    return generic_layout(layout_name).cylinders
