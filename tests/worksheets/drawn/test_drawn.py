"""The drawings on the cards: true to their values, whole, readable, and harmless whatever the names are."""

from __future__ import annotations

import cmath
import itertools
import math
import re
from types import SimpleNamespace
from xml.etree import ElementTree

import cranks
import invented
import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.crank.crank import Arc, Member
from truethrow.balance.crank.holes import Hole, ground_arc, radial_hole
from truethrow.balance.engine.layout import GENERIC, CylinderAt, Layout, Throw, generic_layout
from truethrow.balance.result import trim
from truethrow.balance.result.work import work
from truethrow.balance.running import running
from truethrow.balance.station.spin import Measured
from truethrow.worksheets.drawn import lettering, pen, piston, placing, polar, rod, spins, strips
from truethrow.worksheets.drawn.face import face
from truethrow.worksheets.drawn.front import end_view
from truethrow.worksheets.drawn.side import side_view
from truethrow.worksheets.shown.display import Display

SVG = "{http://www.w3.org/2000/svg}"
NINE_POINTS_MM = 9 * 25.4 / 72
METRIC = Display("g", "mm", 0.1)
INCH = Display("oz", "in", 0.0035)
HOSTILE = (
    "<script>alert(1)</script>",
    "=cmd|' /C calc'!A0",
    "W" * 300,
    "ثقل موازن أمامي",
    "🔧🔩🛠️👩‍🏭",
    "a\"b&amp;c'd]]>",
    "z\u0301\u0302\u0303\u0304\u0305\u0306",
    "bell\x07 null\x00 and \u202eturned",
    "\ud800 alone \ufffe",
)


def parts(root, name, tag=None):
    """The elements of a drawing that stand for something."""
    return [one for one in root.iter() if one.get("data-part") == name and tag in (None, one.tag)]


def numbers(text):
    return [float(one) for one in re.findall(r"-?\d+(?:\.\d+)?(?:e-?\d+)?", text)]


def points(element):
    flat = numbers(element.get("points"))
    return list(zip(flat[::2], flat[1::2], strict=True))


def at(element, *names):
    return tuple(float(element.get(name)) for name in names)


def centre_of(element):
    return at(element, "cx", "cy")


def box_of(text):
    """What a text fills: capitals and the half of a descender."""
    size, x, y = at(text, "font-size", "x", "y")
    width = lettering.wide_mm(text.text, size)
    left = x - width * {"start": 0.0, "middle": 0.5, "end": 1.0}[text.get("text-anchor")]
    return left, y - 0.75 * size, left + width, y + 0.12 * size


def overlap(one, other):
    return (
        min(one[2], other[2]) - max(one[0], other[0]) > 0.01
        and min(one[3], other[3]) - max(one[1], other[1]) > 0.01
    )


def checked(text):
    """A drawing that holds what all must hold: nothing but shapes, whole, readable, no text over another."""
    root = ElementTree.fromstring(text)
    left, top, width, height = numbers(root.get("viewBox"))
    assert (left, top) == (0, 0)
    assert (root.get("width"), root.get("height")) == (f"{width}mm", f"{height}mm")
    for one in root.iter():
        assert one.tag.removeprefix(SVG) in {
            "svg",
            "line",
            "circle",
            "rect",
            "polygon",
            "polyline",
            "path",
            "text",
        }
        assert not {name for name in one.attrib if name in ("id", "style", "href") or name.startswith("on")}
        assert "nan" not in "".join(one.attrib.values()) and "inf" not in "".join(one.attrib.values())
        assert float(one.get("stroke-width") or 1) >= 0.25 or one.get("stroke") == "none"
    boxes = []
    for one in root.iter(f"{SVG}text"):
        if not one.text:
            continue
        assert float(one.get("font-size")) >= NINE_POINTS_MM
        boxes.append((one.text, box_of(one)))
    for said, box in boxes:
        assert box[0] >= -0.05 and box[2] <= width + 0.05, f"{said!r} leaves the drawing at its side"
        assert box[1] >= -0.05 and box[3] <= height + 0.05, f"{said!r} leaves the drawing above or below"
    for (said, box), (other, under) in itertools.combinations(boxes, 2):
        assert not overlap(box, under), f"{said!r} lies over {other!r}"
    badges = [
        centre_of(one) for one in root.iter(f"{SVG}circle") if (one.get("data-part") or "").startswith("badge")
    ]
    for one, other in itertools.combinations(badges, 2):
        assert math.dist(one, other) >= 2 * pen.BADGE_MM
    for x, y in badges:
        assert pen.BADGE_MM <= x <= width - pen.BADGE_MM and pen.BADGE_MM <= y <= height - pen.BADGE_MM
    return root


# What is drawn: cranks of every layout, holes of every kind.


def v16():
    angles = (0, 90, 270, 180, 180, 270, 90, 0)
    throws = tuple(Throw(str(n), float(a), 112.0 * (n - 1)) for n, a in enumerate(angles, start=1))
    places = tuple(CylinderAt(n, str((n + 1) // 2), "left" if n % 2 else "right") for n in range(1, 17))
    return Layout(throws, places, {"left": 22.5, "right": -22.5})


LAYOUTS = {name: generic_layout(name, 112.0) for name in sorted(GENERIC)} | {"v16": v16()}


def weights(layout, names=()):
    """Counterweights in front and rear of every throw, opposite to it; of throws at one place only the first's."""
    made, names = [], iter(names)
    for throw in {round(t.z_mm): t for t in reversed(layout.throws)}.values():
        for side in (-22.0, 22.0):
            name = next(names, f"{throw.name} {'front' if side < 0 else 'rear'}")
            made.append(cranks.weight(name, throw.z_mm + side, throw.angle_deg + 180))
    return made


def member(name="2 rear", middle_deg=180.0, span_deg=120.0, **more):
    arc = Arc((middle_deg - span_deg / 2) % 360, span_deg)
    return Member(name, 22.0, 24.0, 90.0, 52.0, (arc,), 0.00785, "rear", math.inf, math.inf, **more)


def drilled(of, angle_deg, kind="radial", diameter_mm=12.0, depth_mm=14.5):
    """A hole in a member, wherever that is."""
    density = of.density_g_mm3
    if kind == "radial":
        removed = radial_hole(density, of.outer_mm, diameter_mm, depth_mm)
        return Hole(
            of.name, kind, angle_deg % 360, of.outer_mm, of.z_mm, diameter_mm, depth_mm, *removed[::-1], 118.0
        )
    if kind == "grind":
        removed = ground_arc(density, of.outer_mm, of.thickness_mm, 20.0, 3.0)
        return Hole(of.name, kind, angle_deg % 360, of.outer_mm, of.z_mm, 0.0, 3.0, *removed[::-1], 180.0, 20.0)
    radius = of.pitch_mm or 72.0
    return Hole(of.name, kind, angle_deg % 360, radius, of.z_mm - 4, diameter_mm, depth_mm, 800.0, 12.0)


def holes_of(made):
    """One of every kind round the crank, and three beside each other."""
    found = []
    for one, kind in zip(
        itertools.cycle(made.members), ("radial", "axial", "slug", "grind", "radial", "radial"), strict=False
    ):
        middle = one.arcs[0].from_deg + one.arcs[0].span_deg / 2
        found.append(drilled(one, middle + 5 * len(found), kind))
    return dict(enumerate(found, start=1))


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_crank_is_drawn_whole(name):
    layout = LAYOUTS[name]
    made = cranks.crank(weights(layout))
    numbered = holes_of(made)
    planes = layout.outer_planes_mm(46.0)
    for crank_ in (made, None):
        end = checked(end_view(layout, crank_, numbered if crank_ else {}, [2], 46.0))
        checked(side_view(layout, crank_, planes, numbered if crank_ else {}, [2], 46.0))
        said = {one.text for one in end.iter(f"{SVG}text")}
        plates = [
            re.sub("^(throws?|T) ", "", text).split(", ") for text in said if re.match("(throws?|T) [^=]", text)
        ]
        assert sorted(name for names in plates for name in names) == sorted(t.name for t in layout.throws)
    for one in made.members:
        checked(face(one, numbered, [2], METRIC))
        checked(face(one, numbered, [2], INCH))


@pytest.mark.parametrize("name", HOSTILE)
def test_no_name_does_harm(name):
    layout = LAYOUTS["v8-90-crossplane"]
    names = [f"{at}{name}"[:300] if at else name for at in range(8)]
    own = [member(one, 45.0 * at) for at, one in enumerate(names)]
    made = cranks.crank(weights(layout))._replace(members=tuple(own))
    numbered = {at: drilled(one, 45.0 * at) for at, one in enumerate(own, start=1)}
    checked(end_view(layout, made, numbered, []))
    checked(side_view(layout, made, (0.0, 336.0), numbered, []))
    checked(face(own[0], numbered, [], METRIC))
    odd = layout._replace(throws=tuple(t._replace(name=f"{t.name}{name}") for t in layout.throws))
    checked(end_view(odd, None, {}, []))
    checked(side_view(odd, made, (0.0, 336.0), {}, []))


@pytest.mark.parametrize("pitch_mm", [None, 120.0])
@pytest.mark.parametrize(("middle_deg", "span_deg"), [(0, 20), (90, 60), (180, 120), (250, 300), (45, 360)])
@pytest.mark.parametrize("count", [1, 6, 12])
def test_holes_beside_each_other_keep_their_numbers_apart(middle_deg, span_deg, count, pitch_mm):
    one = member(middle_deg=middle_deg, span_deg=span_deg)
    if pitch_mm:
        one = one._replace(pitch_mm=pitch_mm, outer_mm=math.inf, inner_mm=0.0)
    kind = "axial" if pitch_mm else "radial"
    numbered = {n: drilled(one, middle_deg + 5 * n, kind, 8.0) for n in range(1, count + 1)}
    checked(face(one, numbered, [1], METRIC))
    layout = LAYOUTS["inline-4"]
    made = cranks.crank(weights(layout))
    made = made._replace(members=(*made.members, one))
    checked(end_view(layout, made, numbered, [1]))
    checked(side_view(layout, made, (0.0, 336.0), numbered, [1]))


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
        face(one, {7: hole}, [], METRIC),
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
    root = checked(face(one, {1: drilled(one, angle, kind, 16.0)}, [], METRIC))
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
    root = checked(face(one, {}, [], METRIC))
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
    root = checked(face(one, {3: hole}, [], METRIC))
    scale = scale_of(root)
    (path,) = parts(root, "hole-3")
    corners, _ = ends_of(path.get("d"))
    found = [place(root, *corner, scale) for corner in corners]
    assert found[0] == pytest.approx((180.0, 90.0), abs=0.05)
    assert found[2] == pytest.approx((200.0, 87.0), abs=0.05)


def test_what_is_done_and_what_was_there_are_told_apart():
    one = member(holes=(drilled(member(), 150.0), drilled(member(), 175.0)))
    numbered = {1: drilled(one, 175.0), 2: drilled(one, 190.0)}
    root = checked(face(one, numbered, [1], METRIC))
    before = parts(root, "before")
    assert [bool(hole.get("stroke-dasharray")) for hole in before] == [True]  # not the one that has a number
    (done,), (to_do,) = parts(root, "hole-1"), parts(root, "hole-2")
    assert not [one for one in root.iter(f"{SVG}polygon") if (one.get("fill"), len(points(one))) == ("#000000", 5)]
    assert float(to_do.get("stroke-width")) > float(done.get("stroke-width"))
    frames = [float(parts(root, f"badge-{n}")[0].get("stroke-width")) for n in (1, 2)]
    assert frames[0] < frames[1]


def texts_of(root):
    return [one.text for one in root.iter(f"{SVG}text")]


def one_holed(*members, done=(), layout="v8-90-crossplane", **numbered):
    made = cranks.crank()._replace(members=members)
    holes = {int(number.removeprefix("n")): hole for number, hole in numbered.items()}
    return checked(end_view(LAYOUTS[layout], made, holes, done, 46.0))


def test_the_legend_says_what_is_there_and_no_more():
    one = member(holes=(drilled(member(), 150.0),))
    holes = {"n1": drilled(one, 175.0), "n2": drilled(one, 190.0)}
    words = {"to do", "done", "there before"}
    assert words & {*texts_of(one_holed(one, done=[1], **holes))} == words
    assert words & {*texts_of(one_holed(one, done=[1, 2], **holes))} == {"done", "there before"}
    assert words & {*texts_of(one_holed(member(), **holes))} == {"to do"}
    assert not words & {*texts_of(one_holed(member()))}
    # The signs are drawn as the holes are.
    signs = parts(one_holed(one, done=[1], **holes), "legend")
    assert [float(sign.get("stroke-width")) for sign in signs] == [pen.THICK, pen.LINE, pen.THIN]


def test_no_throw_is_taken_for_a_hole():
    one = member()
    root = one_holed(one, n1=drilled(one, 175.0))
    said = texts_of(root)
    assert said.count("1") == 1 and {"throw 1", "throw 2", "throw 3", "throw 4"} <= set(said)
    assert {plate.tag for plate in parts(root, "plate")} == {f"{SVG}rect"}
    assert {badge.tag for badge in parts(root, "badge-1")} == {f"{SVG}circle"}
    # Where there is no room for the word the legend has it.
    assert "T = throw" not in said
    star = v16()._replace(throws=tuple(t._replace(angle_deg=45.0 * n) for n, t in enumerate(v16().throws)))
    made = cranks.crank()._replace(members=(one,))
    assert {"T = throw", "T 1", "T 8"} <= {*texts_of(checked(end_view(star, made, {}, [], 46.0)))}


def test_a_hole_in_front_hides_none_behind():
    front, rear = member("1 front"), member("1 rear")
    slug, bore = drilled(rear, 180.0, "slug"), drilled(front, 180.0)
    for numbered in ({"n1": slug, "n2": bore}, {"n1": bore, "n2": slug}):
        root = one_holed(front, rear, **numbered)
        drawn = list(root.iter())
        outlines = [drawn.index(parts(root, part)[0]) for part in ("hole-1", "hole-2")]
        filled = [
            at for at, one in enumerate(drawn) if one.get("fill") == "#ffffff" and one.get("stroke") == "none"
        ]
        assert all(drawn[at].get("fill") == "none" for at in outlines)
        assert len([at for at in filled if at < min(outlines)]) == 2


def ring(name, pitch_mm, *arcs):
    arcs = arcs or (Arc(0.0, 360.0),)
    return member(name)._replace(pitch_mm=pitch_mm, outer_mm=math.inf, inner_mm=0.0, arcs=arcs)


def test_every_ring_has_a_leader_of_its_own_that_ends_on_its_metal():
    damper, plate = ring("damper", 70.0), ring("flexplate", 120.0, Arc(10.0, 70.0), Arc(190.0, 70.0))
    root = one_holed(damper, plate)
    largest = 120.0 * 1.06
    scale = 36.0 / largest
    found = sorted((place(root, *centre_of(one), scale) for one in parts(root, "leader")), key=lambda at: at[1])
    assert [radius for _, radius in found] == pytest.approx([70.0, 120.0], abs=0.1)
    assert found[1][0] == pytest.approx(45.0, abs=0.1)
    # Where no other metal lies over it.
    assert not any(arc.holds(found[0][0]) for arc in plate.arcs)
    edges = {round(float(y), 3) for y in (one.get("y") for one in root.iter(f"{SVG}text") if "dam" in one.text)}
    assert len(edges) == 1


def test_counterweights_at_one_angle_share_a_leader_only_where_they_are_as_large():
    alike = one_holed(member("1 front"), member("1 rear"))
    assert len(parts(alike, "leader")) == 1
    other = one_holed(member("1 front"), member("1 rear")._replace(outer_mm=80.0))
    assert len(parts(other, "leader")) == 2


def test_no_circle_strikes_an_angle_through():
    """White lies under the ends' angles, over the circle that the holes lie on."""
    root = checked(face(ring("flexplate", 120.0, Arc(10.0, 70.0)), {}, [], METRIC))
    drawn = list(root.iter())
    circle = drawn.index(parts(root, "pitch")[0])
    for said in ("10°", "80°"):
        at_ = next(n for n, one in enumerate(drawn) if one.text == said)
        assert at_ > circle and drawn[at_ - 1].tag == f"{SVG}rect" and drawn[at_ - 1].get("fill") == "#ffffff"


def test_a_bore_along_the_crank_tells_its_tip_or_that_it_goes_through():
    one = ring("flexplate", 120.0)._replace(thickness_mm=20.0)
    hole = drilled(one, 30.0, "axial", 12.0, 8.0)._replace(point_deg=118.0)
    assert f"tip at {METRIC.length(round(hole.tip_mm, 1))}" in texts_of(checked(face(one, {1: hole}, [], METRIC)))
    thin = one._replace(thickness_mm=8.0)
    assert "through" in texts_of(checked(face(thin, {1: hole}, [], METRIC)))


def test_throws_stand_at_their_angles_and_radius():
    layout, made = LAYOUTS["v6-90-even"], cranks.crank()
    root = checked(end_view(layout, made, {}, [], 46.0))
    scale = scale_of(root)
    found = sorted(place(root, *centre_of(one), scale) for one in parts(root, "throw"))
    wanted = sorted((throw.angle_deg, 46.0) for throw in layout.throws)
    for one, other in zip(found, wanted, strict=True):
        assert one == pytest.approx(other, abs=0.05)


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


# Spreads, shaking, spins, trims.


def job_of(name="v8-90-crossplane", **tables):
    count = len(generic_layout(name).places)
    changes = {
        kind: {n: invented.PARTS[kind] + 0.1 * (7 * n % 11) for n in range(1, count + 1)}
        for kind in ("piston", "big_end")
    }
    data = invented.document(
        invented.cylinders(count, **changes),
        engine=invented.V8 | {"layout": name},
        limits={"piston": 0.5, "big_end": 0.6, "bobweight": 0.4},
        **tables,
    )
    return invented.build(data)


def expanded(result, spread):
    return {name: result.certainty.expanded_g(mass) for name, mass in spread.members.items()}


def line_of(root, part):
    (one,) = parts(root, part)
    return at(one, "x1", "x2")


@pytest.mark.parametrize("show", [METRIC, INCH])
@pytest.mark.parametrize("name", [name for name in GENERIC if name not in ("inline-1", "v8-90-flatplane")])
def test_a_strip_is_linear_in_grams(name, show):
    result = work(job_of(name))
    for spread in result.spreads:
        sure = expanded(result, spread)
        narrow = checked(strips.strip(spread, sure, show, 84.0))
        assert len(parts(narrow, "member")) == len(spread.members)
        root = checked(strips.strip(spread, sure, show))
        marks = sorted(centre_of(one)[0] for one in parts(root, "member"))
        grams = sorted(mass.value_g for mass in spread.members.values())
        left, right = line_of(root, "spread")
        assert marks[0] == pytest.approx(left) and marks[-1] == pytest.approx(right)
        for x, value in zip(marks, grams, strict=True):
            wanted = (value - grams[0]) * (right - left)
            assert (x - left) * (grams[-1] - grams[0]) == pytest.approx(
                wanted, abs=0.02 * (grams[-1] - grams[0]) + 1e-9
            )
        if spread.limit_g is not None and spread.spread_g:
            (band,) = parts(root, "limit")
            mm_for_a_gram = (right - left) / spread.spread_g
            assert float(band.get("width")) == pytest.approx(spread.limit_g * mm_for_a_gram, abs=0.02)
            assert float(band.get("x")) + float(band.get("width")) / 2 == pytest.approx(
                (left + right) / 2, abs=0.02
            )
            ticks = [float(one.get("x1")) for one in parts(root, "tick")]
            said = [float(one.text) for one in root.iter(f"{SVG}text") if one.get("class") == "scale"]
            factor = {"g": 1.0, "oz": 28.349523125}[show.mass_unit]
            for x, text in zip(ticks, said, strict=True):
                assert (x - left) / mm_for_a_gram == pytest.approx(text * factor - grams[0], abs=0.01)


def test_members_that_are_all_alike_keep_their_names_apart():
    job = invented.build(invented.document(limits={"piston": 1.0}))
    result = work(job)
    spread = next(one for one in result.spreads if one.quantity == "piston")
    assert spread.spread_g == 0
    root = checked(strips.strip(spread, expanded(result, spread), METRIC))
    marks = [centre_of(one) for one in parts(root, "member")]
    assert len({x for x, _ in marks}) == 1 and len(set(marks)) == 8
    assert not parts(root, "heaviest")
    assert {str(n) for n in range(1, 9)} <= {one.text for one in root.iter(f"{SVG}text")}


def test_all_that_are_the_heaviest_say_so():
    changes = {
        "piston": {n: 538.0 + (0.1 + 0.2 if n in (2, 4, 5) else 0.3 if n == 6 else 0.0) for n in range(1, 9)}
    }
    result = work(invented.build(invented.document(invented.cylinders(**changes))))
    spread = next(one for one in result.spreads if one.quantity == "piston")
    root = checked(strips.strip(spread, expanded(result, spread), METRIC))
    assert (len(parts(root, "heaviest")), len(parts(root, "lightest"))) == (4, 4)


@pytest.mark.parametrize(("limit", "fill"), [(None, None), (0.1, "#000000"), (1.0, None)])
def test_the_verdict_of_a_strip_is_told_by_its_weight(limit, fill):
    changes = {"piston": {n: 538.0 + 0.1 * n for n in range(1, 9)}}
    limits = {"piston": limit} if limit else {}
    result = work(invented.build(invented.document(invented.cylinders(**changes), limits=limits)))
    spread = next(one for one in result.spreads if one.quantity == "piston")
    root = checked(strips.strip(spread, expanded(result, spread), METRIC))
    said = [one.text for one in root.iter(f"{SVG}text")]
    assert (spread.verdict in said) == (limit is not None)
    black = [one for one in root.iter(f"{SVG}rect") if one.get("fill") == "#000000"]
    assert bool(black) == (fill is not None)
    assert len(parts(root, "lightest")) == len(parts(root, "heaviest")) == 1


@pytest.mark.parametrize(
    "name", ["inline-1", "inline-3", "inline-4", "v8-90-crossplane", "vtwin-45", "v12-60", "radial-5"]
)
def test_a_polar_curve_is_what_shakes(name):
    found = running.shake(work(job_of(name)), 4200.0)
    root = checked(polar.shaking(found))
    for curve, vectors, most in (
        ("force", found.curve.force_n, found.force.amount),
        ("couple", found.curve.couple_nm, found.couple.amount),
    ):
        if most <= polar.NOTHING:
            assert not parts(root, curve)
            continue
        (drawn,) = parts(root, curve)
        (peak,) = parts(root, f"{curve}-peak")
        where = points(drawn)
        middle_x = 41.25 if curve == "force" else 123.75
        x, y = centre_of(peak)
        scale = math.hypot(x - middle_x, y - 47.5) / most
        for at_, (px, py) in zip(range(0, len(vectors), 10), where, strict=False):
            del at_
            assert math.hypot(px - middle_x, py - 47.5) <= most * scale + 0.01
        first = complex(vectors[0])
        assert where[0] == pytest.approx((middle_x + first.imag * scale, 47.5 - first.real * scale), abs=0.02)
        assert len(where) >= 360


def test_nothing_that_shakes_is_no_curve():
    found = running.shake(work(job_of("inline-6")), 4200.0)
    still = found._replace(force=found.force._replace(amount=0.0), couple=found.couple._replace(amount=0.0))
    root = checked(polar.shaking(still))
    assert not parts(root, "force") and not parts(root, "couple")


def state_of(*vectors, limit=130.0, expanded_gmm=30.0):
    """As much of where a job stands at the station as a drawing of its spins asks for."""
    half = expanded_gmm / 2
    made = [Measured(vector, half, half) for vector in vectors]
    found = tuple(SimpleNamespace(number=n, front=m, rear=m) for n, m in enumerate(made, start=1))
    return SimpleNamespace(counted=found, limits_gmm=(limit, limit))


def turned(amount, angle):
    return cmath.rect(amount, math.radians(angle))


VECTORS = st.lists(st.tuples(st.floats(0.0, 5000.0), st.floats(0, 360)), max_size=12)


@given(VECTORS, st.floats(5.0, 2000.0))
def test_spins_and_what_may_stay_have_one_scale(polars, limit):
    vectors = [turned(*one) for one in polars]
    root = checked(spins.spins(state_of(*vectors, limit=limit), "front", METRIC))
    (circle,) = parts(root, "limit")
    scale = float(circle.get("r")) / limit
    x, y = centre_of(circle)
    unsure = parts(root, "unsure")
    for disc, vector in zip(unsure, vectors, strict=True):
        rounded = 0.01 + 0.001 * abs(vector) / limit  # a micrometre of the circle's radius
        assert centre_of(disc) == pytest.approx((x + vector.imag * scale, y - vector.real * scale), abs=rounded)
        assert float(disc.get("r")) == pytest.approx(30.0 * scale, abs=0.01 + 0.03 / limit)
    reach = max([1.0, *(abs(v) for v in vectors)])
    assert reach * scale <= spins.RADIUS_MM + 0.01 * reach / limit
    if small := parts(root, "inset-limit"):
        assert float(small[0].get("r")) > 5.0
    else:
        assert float(circle.get("r")) >= 4.99


def test_spins_at_one_angle_keep_their_numbers_apart():
    state = state_of(*(turned(600 - 5 * n, 203) for n in range(4)), turned(80, 203))
    root = checked(spins.spins(state, "rear", METRIC))
    said = [one.text for one in root.iter(f"{SVG}text")]
    assert {"1", "2", "3", "4", "5"} <= set(said)


def test_what_may_stay_is_never_told_as_more():
    for limit in (130.59, 99.96):
        for show in (METRIC, INCH):
            said = texts_of(checked(spins.spins(state_of(limit=limit), "front", show)))
            assert f"may stay {show.limit(limit)} {show.unbalance_unit}" in said


def test_no_spin_is_an_empty_picture():
    said = [one.text for one in checked(spins.spins(state_of(), "front", METRIC)).iter(f"{SVG}text")]
    assert "no spin yet" in said


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


# What pen, letters and labels promise.


@given(st.lists(st.tuples(st.floats(0, 100), st.floats(0.5, 9)), max_size=10))
def test_labels_in_a_row_are_apart_and_keep_their_order(labels):
    wanted, widths = [x for x, _ in labels], [width for _, width in labels]
    placed = placing.apart(wanted, widths, 0.0, 100.0)
    order = sorted(range(len(labels)), key=lambda i: wanted[i])
    for one, other in itertools.pairwise(order):
        assert placed[other] - placed[one] >= (widths[one] + widths[other]) / 2 - 1e-6
    for x, width in zip(placed, widths, strict=True):
        assert width / 2 - 1e-6 <= x <= 100 - width / 2 + 1e-6


def test_names_that_differ_at_one_end_stay_apart():
    for names in (("<b>A&B</b> front", "<b>A&B</b> rear"), ("front <b>A&B</b> 1", "rear <b>A&B</b> 1")):
        for room in (20.0, 25.0, 30.0):
            assert len({lettering.fitting(name, lettering.SMALL, room) for name in names}) == 2
    long = [f"{'counterweight ' * 5}{end}" for end in ("front", "rear")]
    assert lettering.plain(long[0]) != lettering.plain(long[1])
    assert not re.search("…\u0301", lettering.fitting("a" * 20 + "z\u0301" * 10, 4.0, 30.0))


def test_a_label_with_room_stays_where_it_is_wanted():
    assert placing.apart([10.0, 50.0, 52.0], [4.0, 6.0, 6.0], 0.0, 100.0) == pytest.approx([10.0, 48.0, 54.0])


@given(st.lists(st.floats(0, 360), max_size=20), st.floats(1, 18))
def test_labels_in_a_circle_are_apart(wanted, width):
    placed = sorted(angle % 360 for angle in placing.around(wanted, width))
    gaps = [(after - before) % 360 for before, after in itertools.pairwise([*placed, *placed[:1]])]
    if len(placed) > 1:
        assert all(min(gap, 360 - gap) >= width - 1e-6 for gap in gaps)


@given(st.text(max_size=400))
def test_any_text_can_be_held(text):
    drawing = pen.Drawing(100.0, 20.0)
    drawing.text((50.0, 10.0), text)
    (held,) = ElementTree.fromstring(str(drawing)).iter(f"{SVG}text")
    assert (held.text or "") == lettering.plain(text, 120)
    assert len(held.text or "") <= 120


def test_marks_do_not_grow_out_of_their_line():
    assert lettering.plain("z" + "\u0301" * 50 + "z") == "z\u0301\u0301z"


@given(st.text(max_size=100), st.floats(8, 60))
def test_a_fitted_text_is_no_wider_than_its_room(text, room):
    assert lettering.wide_mm(lettering.fitting(text, 4.0, room), 4.0) <= room


def test_widths_are_not_less_than_those_of_the_font():
    # Of B612, regular and bold alike, in thousandths of the size, as its tables say.
    for advance, characters in {
        250: ",;·",
        300: ".:Ii°",
        350: "! l",
        400: "frt",
        450: "-J",
        550: "−eF",
        600: "±CZoTPSabdeghknpqu",
        650: "0123456789B",
        750: "w…",
        800: "×ØNO",
        900: "MmQ",
        1050: "@W",
    }.items():
        for character in characters:
            assert lettering.wide_mm(character, 1000.0) >= advance - 100 * (advance == 1050), character
