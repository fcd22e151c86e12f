"""A rod and its pads as drawn."""

from __future__ import annotations

import pytest
from drawings import SVG, at, centre_of, checked, job_of

from truethrow.balance.result import trim
from truethrow.worksheets.drawn import rod
from truethrow.worksheets.shown.display import Display

METRIC = Display("g", "mm", 0.1)


INCH = Display("oz", "in", 0.0035)


def parts(root, name, tag=None):
    """The elements of a drawing that stand for something."""
    return [one for one in root.iter() if one.get("data-part") == name and tag in (None, one.tag)]


@pytest.mark.parametrize("show", [METRIC, INCH])
def test_a_rods_pads_are_where_they_are(show):
    job = job_of(trim={"big_end_pad": {"at": -48.0, "most": 9.0}, "small_end_pad": {"at": 182.0, "most": 5.0}})
    pads = {pad.kind: pad for pad in job.pads}
    cuts = (trim.Cut(3, pads["big_end"], 1.9), trim.Cut(3, pads["small_end"], 0.4))
    part = trim.PartTrim(3, "rod", cuts, {"big_end": 451.0, "small_end": 171.1})
    root = checked(rod.rod(job, part, show))
    (big,), (small,) = parts(root, "big-end"), parts(root, "small-end")
    left, right = centre_of(big)[0], centre_of(small)[0]
    scale = (right - left) / 155.0
    places = [at(one, "x", "width") for one in parts(root, "pad")]
    assert [(x + width / 2 - left) / scale for x, width in places] == pytest.approx([-48.0, 182.0], abs=0.02)
    said = [one.text for one in root.iter(f"{SVG}text")]
    assert f"1. −{show.masses(1.9)}" in said and f"2. −{show.masses(0.4)}" in said
    arrows = [at(one, "x2", "y2")[0] for one in parts(root, "arrow")]
    assert [(x - left) / scale for x in arrows] == pytest.approx([-48.0, 182.0], abs=12.0)


@pytest.mark.parametrize(("big", "small"), [(-200.0, 500.0), (20.0, 90.0), (0.0, 155.0)])
def test_a_rod_with_pads_anywhere_is_drawn_whole(big, small):
    job = job_of(trim={"big_end_pad": {"at": big, "most": 9.0}, "small_end_pad": {"at": small, "most": 5.0}})
    pads = {pad.kind: pad for pad in job.pads}
    for kinds in (("big_end",), ("small_end",), ("small_end", "big_end")):
        cuts = tuple(trim.Cut(3, pads[kind], 12.5) for kind in kinds)
        checked(rod.rod(job, trim.PartTrim(3, "rod", cuts, {"big_end": 451.0, "small_end": 171.1}), METRIC))
    root = checked(rod.rod(job, trim.PartTrim(3, "rod", (), {}), METRIC))
    assert len(parts(root, "pad")) == 2
