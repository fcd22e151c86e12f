"""Turned counterweights, against numerical integration in space."""

import cmath
import math

import numpy as np
import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import dblquad, quad

from truethrow.balance.base.errors import BadInput
from truethrow.balance.crank import turning
from truethrow.balance.crank.crank import Arc, Crank, Member, to_depth
from truethrow.balance.crank.holes import Hole, Slug, axial_hole, ground_arc, radial_hole, slug_gain

STEEL = 7.85e-3  # g/mm³


def counterweight(*holes, outer=90.0, thickness=24.0, span=120.0, bore="front", name="1 front"):
    return Member(
        name,
        -22.0,
        thickness,
        outer,
        52.0,
        (Arc(120.0, span),),
        STEEL,
        bore,
        math.inf,
        math.inf,
        None,
        tuple(holes),
    )


def radial(diameter, depth, point=118.0, angle=170.0, rim=90.0, member="1 front"):
    removed = radial_hole(STEEL, rim, diameter, depth, point)
    return Hole(member, "radial", angle, rim, -22.0, diameter, depth, removed.unbalance_gmm, removed.mass_g, point)


def axial(diameter, depth, radius, point=118.0, angle=200.0, thickness=24.0):
    removed = axial_hole(STEEL, radius, diameter, depth, point, thickness)
    hole = Hole("1 front", "axial", angle, radius, 0.0, diameter, depth, *reversed(removed), point)
    return to_depth(counterweight(thickness=thickness), hole, depth)


def integrated_radial(hole, to_mm):
    """Mass and first moment of a radial hole beyond a radius: scipy's adaptive quadrature over (across, along) of
    its section, between the highest of floor and new rim, and the old rim."""
    half = hole.diameter_mm / 2
    cone = half / math.tan(math.radians(hole.point_deg / 2))

    def over(power):
        def column(along, across):
            floor = hole.radius_mm - hole.depth_mm - cone * (1 - math.hypot(along, across) / half)
            bottom = max(floor, math.sqrt(to_mm**2 - across**2))
            top = math.sqrt(hole.radius_mm**2 - across**2)
            return max(top**power - bottom**power, 0.0) / power

        return 4 * dblquad(column, 0, half, 0, lambda x: math.sqrt(half**2 - x**2), epsabs=1e-5, epsrel=1e-8)[0]

    return STEEL * over(1), STEEL * over(2)


def integrated_axial(member, hole, to_mm):
    """Mass, first moment and its place along the crank of an axial hole beyond a radius: rings about the crank's
    axis, each as far round as the slice of the hole goes there; slice after slice."""
    half = hole.diameter_mm / 2
    cone = half / math.tan(math.radians(hole.point_deg / 2))

    def slice_of(down, power):
        a = half if down <= hole.depth_mm else half * (1 - (down - hole.depth_mm) / cone)

        def ring(rho):
            cosine = (rho**2 + hole.radius_mm**2 - a**2) / (2 * rho * hole.radius_mm)
            angle = math.acos(min(1.0, max(-1.0, cosine)))
            return 2 * rho * angle if power == 0 else 2 * rho**2 * math.sin(angle)

        low, high = max(to_mm, hole.radius_mm - a), hole.radius_mm + a
        return quad(ring, low, high, epsabs=1e-10, epsrel=1e-10, limit=200)[0] if low < high else 0.0

    def along(power, moment):
        deepest = min(hole.depth_mm + cone, member.thickness_mm)
        pieces = ((0.0, hole.depth_mm), (hole.depth_mm, deepest))
        weigh = (lambda d: d) if moment else (lambda d: 1.0)
        return sum(quad(lambda d: weigh(d) * slice_of(d, power), *piece, epsrel=1e-9)[0] for piece in pieces)

    first = along(1, moment=False)
    return STEEL * along(0, moment=False), STEEL * first, member.below_face_mm(along(1, moment=True) / first)


def test_the_sectors_formula_has_its_published_centroid():
    """Area of an annular sector of half-angle a between r and R: a·(R² − r²); its centroid from the centre:
    2·sin a·(R³ − r³) / (3·a·(R² − r²)). Source: Gere & Goodno, Mechanics of Materials, 8th edition, appendix D
    (circular sector, x̄ = 2r·sin a/3a; the ring by subtraction), from memory. As printed there for a half circle,
    4r/3π = 0.4244·r: a half ring from 80 to 100 mm lies at 57.5316 mm."""
    found = turning.shell(STEEL, 100.0, 80.0, 10.0, 180.0)
    assert found.unbalance_gmm / found.mass_g == pytest.approx(
        4 / (3 * math.pi) * (100**3 - 80**3) / (100**2 - 80**2)
    )
    assert found.unbalance_gmm / found.mass_g == pytest.approx(57.5316, abs=5e-5)
    wedge = turning.shell(STEEL, 90.0, 86.0, 24.0, 120.0)
    a = math.radians(60)
    assert wedge.mass_g == pytest.approx(STEEL * 24 * a * (90**2 - 86**2))
    centroid = 2 * math.sin(a) * (90**3 - 86**3) / (3 * a * (90**2 - 86**2))
    assert wedge.unbalance_gmm == pytest.approx(wedge.mass_g * centroid)


@pytest.mark.parametrize(
    ("diameter", "depth", "point", "to"),
    [
        (12.0, 25.0, 118.0, 86.0),  # the shoulder well below the new rim
        (16.0, 4.2, 118.0, 86.0),  # the shoulder crosses it
        (16.0, 3.0, 118.0, 86.0),  # only the point is below
        (8.0, 0.9, 118.0, 86.0),  # all of it comes off
        (20.0, 12.0, 135.0, 70.0),
    ],
)
def test_what_a_radial_hole_had_taken_of_the_shell_is_what_integration_says(diameter, depth, point, to):
    hole, member = radial(diameter, depth, point), counterweight()
    mass, moment = integrated_radial(hole, to)
    gone, whole = turning.in_shell(member, hole, to), turning.shell(STEEL, 90.0, to, 24.0, 120.0)
    assert abs(gone.unbalance_gmm - moment) < 1e-6 * whole.unbalance_gmm
    assert abs(gone.mass_g - mass) < 2e-6 * whole.mass_g
    assert gone.z_mm == hole.z_mm


@pytest.mark.parametrize(
    ("diameter", "depth", "radius", "point", "to"),
    [
        (12.0, 14.0, 78.0, 118.0, 86.0),  # below the new rim: nothing
        (12.0, 14.0, 82.0, 118.0, 86.0),  # opened, and its point with it
        (12.0, 24.0, 82.0, 180.0, 80.0),  # right through, more than half of it
        (10.0, 14.0, 83.0, 118.0, 76.0),  # all of it beyond
        (14.0, 22.0, 80.0, 118.0, 80.0),  # its point leaves the back face
    ],
)
def test_what_a_hole_along_the_crank_had_taken_of_the_shell_is_what_integration_says(
    diameter, depth, radius, point, to
):
    hole, member = axial(diameter, depth, radius, point), counterweight()
    gone, whole = turning.in_shell(member, hole, to), turning.shell(STEEL, 90.0, to, 24.0, 120.0)
    if radius + diameter / 2 <= to:
        assert gone.mass_g == gone.unbalance_gmm == 0
        return
    mass, moment, z = integrated_axial(member, hole, to)
    assert gone.mass_g == pytest.approx(mass, abs=1e-6 * whole.mass_g)
    assert gone.unbalance_gmm == pytest.approx(moment, abs=1e-6 * whole.unbalance_gmm)
    assert gone.z_mm == pytest.approx(z, abs=1e-4)


@given(
    st.floats(60.0, 89.0), st.floats(4.0, 20.0), st.floats(0.5, 30.0), st.sampled_from([90.0, 118.0, 135.0, 180.0])
)
@examples(200)
def test_what_is_beyond_and_what_is_left_are_the_whole_hole(to, diameter, depth, point):
    """Whatever part of a radial hole is beyond the new rim: never more than the whole, nor less than nothing; and
    a smaller radius holds no less of it."""
    hole, member = radial(diameter, depth, point), counterweight()
    gone = turning.in_shell(member, hole, to)
    whole_gmm = hole.removes_gmm
    if depth < diameter**2 / 8 / 90.0:
        # So shallow that its shoulder comes out of the round rim: the formula, which goes on there as if it did
        # not, says a trace less than there is.
        whole_gmm = turning.in_shell(member, hole, 52.5).unbalance_gmm
        assert whole_gmm == pytest.approx(hole.removes_gmm, rel=1e-3)
    assert -1e-6 * hole.removes_gmm <= gone.unbalance_gmm <= whole_gmm * (1 + 1e-6) + 0.01
    deeper = turning.in_shell(member, hole, to - 1.0)
    assert deeper.unbalance_gmm >= gone.unbalance_gmm - 2e-4 * hole.removes_gmm


def test_a_turned_counterweight_is_its_shell_less_its_holes_by_points():
    """A counterweight with a radial hole, one along the crank, a ground arc and a slug, turned from 90 to 84 mm:
    the shell less what was gone, by a grid of points that know only which metal is there."""
    ground = ground_arc(STEEL, 90.0, 24.0, 20.0, 2.0)
    grind = Hole("1 front", "grind", 225.0, 90.0, -22.0, 0.0, 2.0, *reversed(ground), arc_deg=20.0)
    gain = slug_gain(STEEL, 70.0, Slug(16.0, 16.0))
    slug = Hole("1 front", "slug", 150.0, 70.0, -26.0, 16.0, 16.0, *reversed(gain))
    member = counterweight(radial(12.0, 10.0, 180.0), axial(12.0, 24.0, 81.0, 180.0), grind, slug)
    (found,) = turning.turn(Crank((member,)), 84.0)
    rho = np.linspace(84.0, 90.0, 1201)
    rho = (rho[1:] + rho[:-1]) / 2
    angle = np.radians(np.linspace(120.0, 240.0, 12001))
    angle = (angle[1:] + angle[:-1]) / 2
    at = rho[:, None] * np.exp(1j * angle)[None, :]
    seen = at * np.exp(-1j * math.radians(170.0))  # from the radial hole
    chord = np.where(abs(seen.imag) < 6.0, 2 * np.sqrt(np.maximum(36.0 - seen.imag**2, 0.0)), 0.0)
    thick = 24.0 - np.where(seen.real > 80.0, chord, 0.0)
    thick = np.where(abs(at - 81.0 * np.exp(1j * math.radians(200.0))) < 6.0, 0.0, thick)
    beside = np.degrees(np.angle(at * np.exp(-1j * math.radians(225.0))))
    thick = np.where((abs(beside) < 10.0) & (abs(at) > 88.0), 0.0, thick)
    cell = rho[:, None] * (rho[1] - rho[0]) * (angle[1] - angle[0])
    moment = complex((STEEL * thick * cell * at).sum())
    assert abs(-found.change_gmm - moment) < 2e-5 * abs(moment)  # as fine as the grid is at the holes' edges
    assert found.mass_g == pytest.approx(float((STEEL * thick * cell).sum()), rel=2e-5)
    assert [hole.kind for hole in found.opened] == ["axial"]
    assert found.after.outer_mm == 84.0
    assert [(hole.kind, hole.radius_mm, hole.depth_mm) for hole in found.after.holes if hole.kind != "axial"] == [
        ("radial", 84.0, 4.0),
        ("slug", 70.0, 16.0),
    ]


def test_a_slug_whose_wall_gets_too_thin_is_refused_with_the_radius_that_keeps_it():
    gain = slug_gain(STEEL, 79.0, Slug(16.0, 16.0))
    slug = Hole("1 front", "slug", 150.0, 79.0, -26.0, 16.0, 16.0, *reversed(gain))
    crank = Crank((counterweight(slug), counterweight(name="2 front")))
    with pytest.raises(BadInput) as error:
        turning.turn(crank, 89.0)
    (fault,) = error.value.faults
    assert str(fault) == (
        "counterweight 1 front, slug at 150 degrees: 2.0 mm of wall outside it at 89 mm: it would leave at speed; "
        "allowed: at least 3 mm, so a radius of at least 90.0 mm"
    )
    (one,) = turning.turn(crank, 86.0, ("2 front",))
    assert one.member.name == "2 front"


def test_radii_and_names_that_make_no_sense_are_named():
    crank = Crank((counterweight(),))
    for to, names, said in [
        (90.0, (), "radius: 90 mm takes nothing off any counterweight"),
        (52.0, (), "counterweight 1 front, radius: 52 mm"),
        (86.0, ("9 rear",), "counterweight: 9 rear is none of the job's"),
    ]:
        with pytest.raises(BadInput, match=said):
            turning.turn(crank, to, names)
    with pytest.raises(BadInput, match="a job with counterweights"):
        turning.turn(Crank(()), 86.0)
    for outer, to in [(90.0, 90.0), (90.0, -1.0), (math.nan, 80.0)]:
        with pytest.raises(ValueError, match="mm"):
            turning.shell(STEEL, outer, to, 24.0, 120.0)


def test_grams_of_no_shape_count_where_their_radius_is():
    took = Hole("1 front", "took", 130.0, 88.0, -22.0, 0.0, 0.0, 5.0 * 88.0, 5.0)
    (found,) = turning.turn(Crank((counterweight(took),)), 86.0)
    whole = turning.shell(STEEL, 90.0, 86.0, 24.0, 120.0)
    assert found.mass_g == pytest.approx(whole.mass_g - 5.0)
    expected = -whole.unbalance_gmm * cmath.exp(1j * math.pi) + 440.0 * cmath.exp(1j * math.radians(130))
    assert found.change_gmm == pytest.approx(expected)
    assert found.after.holes == ()
    deeper = took._replace(radius_mm=70.0)
    (found,) = turning.turn(Crank((counterweight(deeper),)), 86.0)
    assert found.mass_g == pytest.approx(whole.mass_g)
    assert found.after.holes == (deeper,)


def test_the_turned_crank_has_the_other_counterweights_as_they_were():
    crank = Crank((counterweight(), counterweight(name="2 front", outer=84.0)))
    turned = turning.turn(crank, 86.0)
    assert [one.member.name for one in turned] == ["1 front"]
    assert [member.outer_mm for member in turning.after(crank, turned).members] == [86.0, 84.0]


DRILLED = [
    radial(16.0, 20.0),
    radial(12.0, 5.0, angle=130.0),
    axial(16.0, 18.0, 80.0),
    Hole("1 front", "grind", 220.0, 90.0, -22.0, 0.0, 5.0, 0.0, 0.0, arc_deg=20.0),
]


@pytest.mark.parametrize("hole", DRILLED, ids=["deep", "short", "along", "ground"])
@pytest.mark.parametrize("middle", [88.0, 86.5, 84.5])
def test_in_two_steps_the_lathe_takes_what_it_takes_in_one(hole, middle):
    """A law. The second step meets what is left of the hole, or all of it as the log of the first has it, drilled
    from a rim that is not there any more."""
    member = counterweight(hole)
    (once,) = turning.turn(Crank((member,)), 83.0)
    (first,) = turning.turn(Crank((member,)), middle)
    by_log = member._replace(outer_mm=middle)
    # Of a hole whose shoulder is gone, the tip of its point is not kept.
    for between in (first.after, by_log) if first.after.holes else (by_log,):
        (second,) = turning.turn(Crank((between,)), 83.0)
        assert first.mass_g + second.mass_g == pytest.approx(once.mass_g, abs=1e-6)
        assert first.change_gmm + second.change_gmm == pytest.approx(once.change_gmm, abs=1e-4)
        twice = [act for one in (first, second) for act in one.acts]
        moment = sum(change * z_mm for change, z_mm in twice)
        assert moment == pytest.approx(sum(change * z_mm for change, z_mm in once.acts), abs=1e-2)


def test_what_is_left_of_a_hole_weighs_what_was_taken_below_the_new_rim():
    (left,) = turning.turn(Crank((counterweight(radial(16.0, 20.0)),)), 86.0)[0].after.holes
    removed = radial_hole(STEEL, 86.0, 16.0, 16.0, 118.0)
    assert (left.radius_mm, left.depth_mm) == (86.0, 16.0)
    assert (left.mass_g, left.removes_gmm) == pytest.approx(removed)
