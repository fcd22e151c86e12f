"""The crank of a job file: what it means, and what it must not say."""

import math

import cranks
import invented
import pytest
import shavings

from truethrow.balance.base import fields
from truethrow.balance.crank.crank import Arc, CrankTable, to_depth
from truethrow.balance.crank.holes import Hole, radial_hole


def test_a_crank_in_full():
    weights = cranks.v8_weights()
    weights[0]["hole"] = [
        {"kind": "radial", "angle": 170.0, "diameter": 10.0, "depth": 12.0},
        {"kind": "axial", "angle": 200.0, "diameter": 8.0, "depth": 24.0, "radius": 75.0},
    ]
    damper = {"name": "damper", "at": -90.0, "radius": 60.0, "thickness": 12.0, "arc": [{"from": 350, "to": 20}]}
    plate = {"name": "flexplate", "at": 400.0, "radius": 120.0, "thickness": 5.0, "density": 7.2}
    made = cranks.crank(weights, external=[damper, plate], material="iron", wall=2.5, deepest_radial=30.0)
    assert [member.name for member in made.members] == [
        *("damper", "1a", "1b", "2a", "2b", "3a", "3b", "4a", "4b", "flexplate")
    ]
    first = made.member("1a")
    assert first.arcs == (Arc(120.0, 120.0),)
    assert (first.bore, made.member("2a").bore, made.member("4b").bore) == ("front", None, "rear")
    assert (first.density_g_mm3, made.wall_mm, first.deepest_radial_mm) == (0.0072, 2.5, 30.0)
    radial, axial = first.holes
    assert (radial.radius_mm, radial.point_deg, radial.z_mm) == (90.0, 118.0, -22.0)
    assert axial.mass_g == pytest.approx(0.0072 * math.pi * 16 * 24)
    assert axial.removes_gmm == pytest.approx(axial.mass_g * 75)
    assert made.member("damper").arcs == (Arc(350.0, 30.0),)
    assert made.member("flexplate").arcs == (Arc(0.0, 360.0),)
    assert (made.member("damper").bore, made.member("flexplate").bore) == ("front", "rear")


def test_steel_walls_and_limits_without_being_told():
    made = cranks.crank()
    assert made.wall_mm == 3.0
    assert made.members[0].density_g_mm3 == 0.00785
    assert made.members[0].deepest_radial_mm == math.inf


def test_an_arc_may_pass_the_top():
    weights = [cranks.weight("1", 0.0, 0.0, 100.0)]
    assert cranks.crank(weights).members[0].arcs[0] == Arc(310.0, 100.0)
    assert Arc(310.0, 100.0).holds(40.0)
    assert not Arc(310.0, 100.0).holds(60.0)
    assert Arc(310.0, 100.0).overlaps(Arc(49.0, 5.0))
    assert not Arc(310.0, 100.0).overlaps(Arc(50.0, 5.0))


def hole(**figures):
    return {"kind": "radial", "angle": 180.0, "diameter": 10.0, "depth": 12.0} | figures


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        ({"to": 120.0}, "counterweight 1a, to: 120 degrees is where it starts; allowed: an arc above 0 degrees"),
        ({"inner_radius": 90.0}, "inner_radius: 90 mm; allowed: below the outer radius, 90 mm"),
        ({"name": "4b"}, "crank: 4b is there 2 times; allowed: a name of its own for each"),
        ({"at": 22.0}, "counterweight 1b: lies in 1a; allowed: counterweights apart"),
        ({"hole": [hole(angle=90.0)]}, "1a, hole 1, angle: 90 degrees; allowed: an angle on the arc"),
        ({"hole": [hole(offset=8.0)]}, "hole 1, offset: the hole ends 13 mm off; allowed: inside the thickness"),
        ({"hole": [hole(depth=89.0)]}, "hole 1, depth: 89 mm; allowed: short of the crank's axis"),
        ({"hole": [hole(diameter=91.0)]}, "diameter: 91 mm; allowed: smaller than the counterweight"),
        ({"hole": [hole(kind="axial")]}, "hole 1, radius: missing; allowed: the radius that the hole's axis"),
        ({"hole": [hole(kind="axial", radius=88.0)]}, "hole 1, radius: 88 mm; allowed: inside the rim, 90 mm"),
        ({"hole": [hole(point=60.0)]}, "hole, entry 1, point: 60.0 is out of reach; allowed: 90 to 180"),
        ({"bore": "side"}, "bore: 'side' is not known"),
        ({"thickness": -1.0}, "thickness: -1.0 is out of reach"),
    ],
)
def test_what_a_counterweight_must_not_say(change, fault):
    weights = cranks.v8_weights()
    weights[0] |= change
    assert fault in "\n".join(cranks.faults_of(weights))


def test_what_an_external_plane_must_not_say():
    arcs = [{"from": 0, "to": 40}, {"from": 30, "to": 50}]
    plate = {"name": "plate", "at": 400.0, "radius": 120.0, "thickness": 20.0, "arc": arcs}
    assert "external plate, arc 2: overlaps arc 1; allowed: arcs apart from each other" in cranks.faults_of(
        None, external=[plate]
    )
    radial = plate | {"arc": [], "hole": [hole()]}
    assert "external plate, hole 1, kind: radial; allowed: axial, on a damper or flexplate" in cranks.faults_of(
        None, external=[radial]
    )


def test_nothing_to_drill_and_every_fault_at_once():
    assert cranks.faults_of([]) == [
        "crank: has nothing to drill; allowed: at least one counterweight or external plane"
    ]
    weights = cranks.v8_weights()
    weights[0] |= {"to": 120.0, "inner_radius": 95.0, "name": "4b"}
    assert len(cranks.faults_of(weights)) == 3


def test_a_key_is_hinted_at_by_the_name_that_files_use():
    faults = []
    weight = {"name": "1", "at": 0, "thickness": 20, "outer_radius": 90, "inner_radius": 50, "frm": 0, "to": 90}
    fields.validate(CrankTable, {"counterweight": [weight]}, "crank", fields.Units(), faults)
    assert any("did you mean from?" in fault.wrong for fault in faults)


@pytest.mark.parametrize("bore", ["front", "rear"])
@pytest.mark.parametrize("depth", [2.0, 6.5, 9.0, 11.0, 12.0])
def test_an_axial_hole_to_another_depth_is_what_integration_in_space_says(bore, depth):
    """Both planes, so amount and z; from 9 mm on the point leaves the back face of 12 mm, a corner that Gauss's
    nodes see to a part in a thousand."""
    plate = {"name": "plate", "at": 420.0, "radius": 110.0, "thickness": 12.0, "bore": bore}
    made = cranks.crank(external=[plate])
    planned = Hole("plate", "axial", 30.0, 110.0, 420.0, 12.0, 5.0, 500.0, 5.0, 118.0)
    hole = to_depth(made.member("plate"), planned, depth)
    front, rear = shavings.taken(made, hole, cranks.PLANES_MM)
    exact = 1e-9 if depth < 8 else 1e-3
    assert -hole.change_gmm == pytest.approx(front + rear, rel=exact)
    z = 336.0 * abs(rear) / abs(front + rear)
    assert hole.z_mm == pytest.approx(z, abs=1e-6 if depth < 8 else 0.01)
    assert (hole.depth_mm, hole.angle_deg, hole.point_deg) == (depth, 30.0, 118.0)


def test_a_radial_hole_to_another_depth_leaves_its_point_inside_the_metal():
    member = cranks.crank().member("1a")
    planned = Hole("1a", "radial", 180.0, 90.0, -22.0, 10.0, 20.0, 1.0, 1.0, 118.0)
    deep = to_depth(member, planned, 34.9)
    assert (deep.mass_g, deep.removes_gmm) == radial_hole(member.density_g_mm3, 90.0, 10.0, 34.9)
    assert deep.z_mm == -22.0
    for depth, most in ((35.1, "34.99 mm at most"), (0.0, "34.99 mm at most"), (math.nan, ".")):
        with pytest.raises(ValueError, match=most):  # 90 − 52 less a point of 3.0 mm
            to_depth(member, planned, depth)


def test_grinding_goes_to_another_depth_and_a_slug_does_not():
    member = cranks.crank().member("1a")
    ground = Hole("1a", "grind", 180.0, 90.0, -22.0, 0.0, 1.0, 1.0, 1.0, arc_deg=20.0)
    taken = shavings.taken(cranks.crank(), to_depth(member, ground, 2.0), cranks.PLANES_MM)
    assert to_depth(member, ground, 2.0).removes_gmm == pytest.approx(abs(sum(taken)), rel=1e-9)
    with pytest.raises(ValueError, match="a slug is as long as it is"):
        to_depth(member, ground._replace(kind="slug"), 2.0)


@pytest.mark.parametrize(("at", "bore"), [(-60.0, "front"), (380.0, "rear")])
def test_a_crank_without_counterweights_is_bored_from_the_side_away_from_its_throws(at, bore):
    """A flexplate alone: its other face is against the crank, and no drill comes there."""
    plate = {"name": "flexplate", "at": at, "radius": 120.0, "thickness": 5.0, "deepest": 4.0}
    job = invented.build(invented.document(crank={"external": [plate]}, station={"limit": 130.5}))
    assert job.crank.member("flexplate").bore == bore
