"""The plane of a crank as drawn: every hole, arc and counterweight where it is and as large as it is."""

from __future__ import annotations

import math
import re

import cranks
import pytest
from drawings import SVG, at, centre_of, checked, drilled, numbers
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.crank.crank import Arc, Member
from truethrow.balance.engine.layout import GENERIC, CylinderAt, Layout, Throw, generic_layout
from truethrow.balance.station.spin import Instrument
from truethrow.worksheets.drawn.face import face
from truethrow.worksheets.drawn.front import end_view
from truethrow.worksheets.shown.display import Display

# It counts against the rotation, from 30 where throw 1 is: it shows 213 for the crank's 177.
AGAINST = Instrument("g·mm", None, False, 30.0)
METRIC = Display("g", "mm", 0.1)


def parts(root, name, tag=None):
    """The elements of a drawing that stand for something."""
    return [one for one in root.iter() if one.get("data-part") == name and tag in (None, one.tag)]


def points(element):
    flat = numbers(element.get("points"))
    return list(zip(flat[::2], flat[1::2], strict=True))


def v16():
    angles = (0, 90, 270, 180, 180, 270, 90, 0)
    throws = tuple(Throw(str(n), float(a), 112.0 * (n - 1)) for n, a in enumerate(angles, start=1))
    places = tuple(CylinderAt(n, str((n + 1) // 2), "left" if n % 2 else "right") for n in range(1, 17))
    return Layout(throws, places, {"left": 22.5, "right": -22.5})


LAYOUTS = {name: generic_layout(name, 112.0) for name in sorted(GENERIC)} | {"v16": v16()}


def member(name="2 rear", middle_deg=180.0, span_deg=120.0, **more):
    arc = Arc((middle_deg - span_deg / 2) % 360, span_deg)
    return Member(name, 22.0, 24.0, 90.0, 52.0, (arc,), 0.00785, "rear", math.inf, math.inf, **more)


# True to scale: the radius of the whole is what everything else is held against.


def scale_of(root, member_mm=90.0):
    """The crank's axis on a drawing and its scale, from the rim of a counterweight: an arc of its radius."""
    path = next(iter(parts(root, "member", f"{SVG}path"))).get("d")
    rim = float(re.search(r"A (\S+)", path)[1])
    return rim / member_mm


def axis_of(root):
    """Where the crank's axis is: the middle of its cross."""
    lines = [at(one, "x1", "y1", "x2", "y2") for one in root.iter(f"{SVG}line")]
    cross = [one for one in lines if one[1] == one[3] and abs(one[2] - one[0] - 3.6) < 1e-6]
    return (cross[0][0] + cross[0][2]) / 2, cross[0][1]


def place(root, x, y, scale):
    """Angle and radius on the crank of a point on the drawing."""
    centre = axis_of(root)
    dx, dy = x - centre[0], centre[1] - y
    return math.degrees(math.atan2(dx, dy)) % 360, math.hypot(dx, dy) / scale


@given(st.floats(0, 359.9), st.floats(2.0, 18.0), st.floats(4.0, 16.0))
def test_a_radial_hole_lies_at_its_angle_and_is_as_deep_and_as_wide_as_it_is(angle, depth, diameter):
    one = member(middle_deg=angle)
    hole = drilled(one, angle, "radial", diameter, depth)
    for text in (
        face(one, {7: hole}, [], METRIC, AGAINST),
        end_view(LAYOUTS["inline-1"], cranks.crank()._replace(members=(one,)), {7: hole}, []),
    ):
        root = checked(text)
        scale = scale_of(root)
        (bore,) = parts(root, "hole-7")
        left, deep, tip, other, right = points(bore)
        at_tip, radius = place(root, *tip, scale)
        assert (at_tip - angle + 180) % 360 - 180 == pytest.approx(0, abs=0.02)
        assert radius == pytest.approx(90.0 - hole.tip_mm, abs=0.02)
        assert math.dist(deep, other) / scale == pytest.approx(diameter, abs=0.02)
        assert math.dist(left, right) / scale == pytest.approx(diameter, abs=0.02)
        middle = (deep[0] + other[0]) / 2, (deep[1] + other[1]) / 2
        assert place(root, *middle, scale)[1] == pytest.approx(90.0 - depth, abs=0.02)
        assert place(root, *left, scale)[1] == pytest.approx(90.0, abs=0.02)


@pytest.mark.parametrize("kind", ["axial", "slug"])
@pytest.mark.parametrize("angle", [0.0, 77.5, 181.0, 300.0])
def test_a_bore_along_the_crank_is_a_circle_at_its_angle_and_radius(kind, angle):
    one = member(middle_deg=angle)
    root = checked(face(one, {1: drilled(one, angle, kind, 16.0)}, [], METRIC, AGAINST))
    scale = scale_of(root)
    (circle,) = parts(root, "hole-1")
    assert place(root, *centre_of(circle), scale) == pytest.approx((angle, 72.0), abs=0.05)
    assert float(circle.get("r")) / scale == pytest.approx(8.0, abs=0.01)


def ends_of(path):
    """The points that an arc of a path goes from and to: of the outer rim, then of the inner."""
    start = re.match(r"M (\S+) (\S+)", path)
    arcs = re.findall(r"A \S+ \S+ 0 ([01]) ([01]) (\S+) (\S+)", path)
    line = re.search(r"L (\S+) (\S+)", path)
    return [tuple(map(float, pair)) for pair in (start.groups(), arcs[0][2:], line.groups(), arcs[1][2:])], arcs


@pytest.mark.parametrize("span", [20.0, 120.0, 179.0, 181.0, 300.0])
def test_a_counterweight_is_its_arc(span):
    one = member(middle_deg=200.0, span_deg=span)
    root = checked(face(one, {}, [], METRIC, AGAINST))
    scale = scale_of(root)
    (path,) = parts(root, "member")
    corners, arcs = ends_of(path.get("d"))
    found = [place(root, *corner, scale) for corner in corners]
    from_deg, to_deg = (200 - span / 2) % 360, (200 + span / 2) % 360
    wanted = [(from_deg, 90.0), (to_deg, 90.0), (to_deg, 52.0), (from_deg, 52.0)]
    for (angle, radius), (angle_, radius_) in zip(found, wanted, strict=True):
        assert (angle - angle_ + 180) % 360 - 180 == pytest.approx(0, abs=0.05)
        assert radius == pytest.approx(radius_, abs=0.02)
    assert [large for large, *_ in arcs] == [str(int(span > 180))] * 2
    assert [sweep for _, sweep, *_ in arcs] == ["1", "0"]
    said = [text.text for text in root.iter(f"{SVG}text")]
    assert {f"{from_deg:g}°", f"{to_deg:g}°"} <= set(said)


def test_a_ground_arc_is_as_long_and_as_deep_as_it_is():
    one = member()
    hole = drilled(one, 190.0, "grind")
    root = checked(face(one, {3: hole}, [], METRIC, AGAINST))
    scale = scale_of(root)
    (path,) = parts(root, "hole-3")
    corners, _ = ends_of(path.get("d"))
    found = [place(root, *corner, scale) for corner in corners]
    assert found[0] == pytest.approx((180.0, 90.0), abs=0.05)
    assert found[2] == pytest.approx((200.0, 87.0), abs=0.05)


def test_what_is_done_and_what_was_there_are_told_apart():
    one = member(holes=(drilled(member(), 150.0), drilled(member(), 175.0)))
    numbered = {1: drilled(one, 175.0), 2: drilled(one, 190.0)}
    root = checked(face(one, numbered, [1], METRIC, AGAINST))
    before = parts(root, "before")
    assert [bool(hole.get("stroke-dasharray")) for hole in before] == [True]  # not the one that has a number
    (done,), (to_do,) = parts(root, "hole-1"), parts(root, "hole-2")
    assert not [one for one in root.iter(f"{SVG}polygon") if (one.get("fill"), len(points(one))) == ("#000000", 5)]
    assert float(to_do.get("stroke-width")) > float(done.get("stroke-width"))
    frames = [float(parts(root, f"badge-{n}")[0].get("stroke-width")) for n in (1, 2)]
    assert frames[0] < frames[1]


def texts_of(root):
    return [one.text for one in root.iter(f"{SVG}text")]


def ring(name, pitch_mm, *arcs):
    arcs = arcs or (Arc(0.0, 360.0),)
    return member(name)._replace(pitch_mm=pitch_mm, outer_mm=math.inf, inner_mm=0.0, arcs=arcs)


def test_no_circle_strikes_an_angle_through():
    """White lies under the ends' angles, over the circle that the holes lie on."""
    root = checked(face(ring("flexplate", 120.0, Arc(10.0, 70.0)), {}, [], METRIC, AGAINST))
    drawn = list(root.iter())
    circle = drawn.index(parts(root, "pitch")[0])
    for said in ("10°", "80°"):
        at_ = next(n for n, one in enumerate(drawn) if one.text == said)
        assert at_ > circle and drawn[at_ - 1].tag == f"{SVG}rect" and drawn[at_ - 1].get("fill") == "#ffffff"


def test_a_bore_along_the_crank_tells_its_tip_or_that_it_goes_through():
    one = ring("flexplate", 120.0)._replace(thickness_mm=20.0)
    hole = drilled(one, 30.0, "axial", 12.0, 8.0)._replace(point_deg=118.0)
    said = texts_of(checked(face(one, {1: hole}, [], METRIC, AGAINST)))
    assert f"tip at {METRIC.length(round(hole.tip_mm, 1))}" in said
    thin = one._replace(thickness_mm=8.0)
    assert "through" in texts_of(checked(face(thin, {1: hole}, [], METRIC, AGAINST)))


@pytest.mark.parametrize("up", [30.0, 177.5, 301.0])
def test_what_is_up_on_the_machine_is_up_in_the_drawing_and_its_angle_stays_the_cranks(up):
    one = member(middle_deg=up)
    holes = {1: drilled(one, up, "axial", 12.0), 2: drilled(one, up + 25, "axial", 8.0)}
    root = checked(face(one, holes, [], METRIC, AGAINST, up))
    scale = scale_of(root)
    for number, aside in ((1, 0.0), (2, 25.0)):
        (circle,) = parts(root, f"hole-{number}")
        angle, radius = place(root, *centre_of(circle), scale)
        assert ((angle - aside + 180) % 360 - 180, radius) == pytest.approx((0.0, 72.0), abs=0.05)
    texts = texts_of(root)
    assert {f"crank {up:.1f}°", f"{(up - 60) % 360:g}°", f"{(up + 60) % 360:g}°"} <= set(texts)
    (zero,) = (
        one for one in root.iter(f"{SVG}text") if one.text == "crank 0°" and one.get("font-weight") == "bold"
    )
    angle, _ = place(root, float(zero.get("x")), float(zero.get("y")), scale)
    assert (angle + up + 180) % 360 - 180 == pytest.approx(
        0.0, abs=12.0
    )  # the text's baseline is below its middle
