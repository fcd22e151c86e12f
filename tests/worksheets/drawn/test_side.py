"""The crank from the side: to scale along its length."""

from __future__ import annotations

import math

import cranks
import pytest
from drawings import at, centre_of, checked, drilled

from truethrow.balance.crank.crank import Arc, Member
from truethrow.balance.engine.layout import GENERIC, CylinderAt, Layout, Throw, generic_layout
from truethrow.worksheets.drawn.side import side_view


def parts(root, name, tag=None):
    """The elements of a drawing that stand for something."""
    return [one for one in root.iter() if one.get("data-part") == name and tag in (None, one.tag)]


def v16():
    angles = (0, 90, 270, 180, 180, 270, 90, 0)
    throws = tuple(Throw(str(n), float(a), 112.0 * (n - 1)) for n, a in enumerate(angles, start=1))
    places = tuple(CylinderAt(n, str((n + 1) // 2), "left" if n % 2 else "right") for n in range(1, 17))
    return Layout(throws, places, {"left": 22.5, "right": -22.5})


LAYOUTS = {name: generic_layout(name, 112.0) for name in sorted(GENERIC)} | {"v16": v16()}


def member(name="2 rear", middle_deg=180.0, span_deg=120.0, **more):
    arc = Arc((middle_deg - span_deg / 2) % 360, span_deg)
    return Member(name, 22.0, 24.0, 90.0, 52.0, (arc,), 0.00785, "rear", math.inf, math.inf, **more)


def test_the_side_view_is_to_scale_along_the_crank():
    layout, made = LAYOUTS["v8-90-crossplane"], cranks.crank()
    numbered = {1: drilled(made.members[0], 180.0), 2: drilled(made.members[-1], 0.0)}
    root = checked(side_view(layout, made, (0.0, 336.0), numbered, [], 46.0))
    front, rear = (float(one.get("x1")) for one in parts(root, "plane"))
    scale = (rear - front) / 336.0
    boxes = [at(one, "x", "y", "width", "height") for one in parts(root, "member")]
    for box, one in zip(boxes, made.members, strict=True):
        assert (box[0] - front) / scale == pytest.approx(one.z_mm - 12.0, abs=0.02)
        assert box[2] / scale == pytest.approx(24.0, abs=0.02)
    # The first is opposite to throw 1: from −90 mm to where its arc's ends are, 52 mm · cos 60°.
    assert boxes[0][3] / scale == pytest.approx(90.0 - 26.0, abs=0.02)
    (low,), (high,) = (parts(root, f"hole-{n}") for n in (1, 2))
    assert (centre_of(low)[1] - centre_of(high)[1]) / scale == pytest.approx(180.0, abs=0.05)
    assert (centre_of(low)[0] - front) / scale == pytest.approx(numbered[1].z_mm, abs=0.02)
