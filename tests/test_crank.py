"""The crank of a job file: what it means, and what it must not say."""

import math

import cranks
import pytest

from truethrow.balance import document
from truethrow.balance.crank import Arc, CrankTable


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
    document.validate(CrankTable, {"counterweight": [weight]}, "crank", document.Units(), faults)
    assert any("did you mean from?" in fault.found for fault in faults)
