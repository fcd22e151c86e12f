"""A piston and its pin as drawn."""

from __future__ import annotations

import pytest
from drawings import SVG, at, checked, job_of

from truethrow.balance.result import trim
from truethrow.worksheets.drawn import piston
from truethrow.worksheets.shown.display import Display

METRIC = Display("g", "mm", 0.1)


INCH = Display("oz", "in", 0.0035)


def parts(root, name, tag=None):
    """The elements of a drawing that stand for something."""
    return [one for one in root.iter() if one.get("data-part") == name and tag in (None, one.tag)]


@pytest.mark.parametrize("show", [METRIC, INCH])
@pytest.mark.parametrize("kind", ["piston", "pin"])
def test_a_piston_and_a_pin_say_what_to_take(kind, show):
    job = job_of()
    pad = next(pad for pad in job.pads if pad.kind == kind)
    root = checked(piston.piston(job, trim.PartTrim(5, kind, (trim.Cut(5, pad, 3.2),), {kind: 534.9}), show))
    said = [one.text for one in root.iter(f"{SVG}text")]
    assert f"−{show.masses(3.2)}" in said and f"then {show.masses(534.9)}" in said
    # All the hatched places together lose what is said once: an arrow goes to each side.
    cuts, arrows = parts(root, "cut"), parts(root, "arrow")
    assert "in all" in said and len(arrows) == 2
    for one in arrows:
        x = float(one.get("x2"))
        assert any(left < x < left + wide for left, wide in (at(cut, "x", "width") for cut in cuts))
