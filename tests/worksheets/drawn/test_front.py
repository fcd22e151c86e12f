"""The crank from the front: whole, to scale, with every throw and every hole told apart."""

from __future__ import annotations

import itertools
import math
import re

import cranks
import pytest
from drawings import SVG, at, centre_of, checked, drilled

from truethrow.balance.crank.crank import Arc, Member
from truethrow.balance.engine.layout import GENERIC, CylinderAt, Layout, Throw, generic_layout
from truethrow.balance.station.spin import Instrument
from truethrow.worksheets.drawn import pen
from truethrow.worksheets.drawn.face import face
from truethrow.worksheets.drawn.front import RADIUS_MM, end_view
from truethrow.worksheets.drawn.side import side_view
from truethrow.worksheets.shown.display import Display

# It counts against the rotation, from 30 where throw 1 is: it shows 213 for the crank's 177.
AGAINST = Instrument("g·mm", None, False, 30.0)
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
        checked(face(one, numbered, [2], METRIC, AGAINST))
        checked(face(one, numbered, [2], INCH, AGAINST))


@pytest.mark.parametrize("name", HOSTILE)
def test_no_name_does_harm(name):
    layout = LAYOUTS["v8-90-crossplane"]
    names = [f"{at}{name}"[:300] if at else name for at in range(8)]
    own = [member(one, 45.0 * at) for at, one in enumerate(names)]
    made = cranks.crank(weights(layout))._replace(members=tuple(own))
    numbered = {at: drilled(one, 45.0 * at) for at, one in enumerate(own, start=1)}
    checked(end_view(layout, made, numbered, []))
    checked(side_view(layout, made, (0.0, 336.0), numbered, []))
    checked(face(own[0], numbered, [], METRIC, AGAINST))
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
    checked(face(one, numbered, [1], METRIC, AGAINST))
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
    scale = RADIUS_MM / largest
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


def test_throws_stand_at_their_angles_and_radius():
    layout, made = LAYOUTS["v6-90-even"], cranks.crank()
    root = checked(end_view(layout, made, {}, [], 46.0))
    scale = scale_of(root)
    found = sorted(place(root, *centre_of(one), scale) for one in parts(root, "throw"))
    wanted = sorted((throw.angle_deg, 46.0) for throw in layout.throws)
    for one, other in zip(found, wanted, strict=True):
        assert one == pytest.approx(other, abs=0.05)
