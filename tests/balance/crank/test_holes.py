"""What holes take away, against numerical integration in space."""

import cmath
import math

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import dblquad, quad, tplquad

from truethrow.balance.crank import holes

STEEL = 7.85e-3  # g/mm³


def integrated_radial(rim, diameter, depth, point):
    """Mass and first moment along the drill's axis, point by point: r round the axis, angle, height y."""
    cone = diameter / 2 / math.tan(math.radians(point / 2))

    def bottom(r):
        return rim - depth - cone * (1 - 2 * r / diameter)

    def over(weight):
        value, _ = tplquad(
            lambda y, theta, r: weight(y) * r,
            *(0, diameter / 2, 0, math.pi / 2),
            lambda r, theta: bottom(r),
            lambda r, theta: math.sqrt(rim**2 - (r * math.cos(theta)) ** 2),
            epsabs=1e-7,
            epsrel=1e-9,
        )
        return 4 * STEEL * value

    return over(lambda y: 1.0), over(lambda y: y)


@pytest.mark.parametrize(
    ("rim", "diameter", "depth", "point"),
    [(95.0, 12.0, 25.0, 118.0), (80.0, 16.0, 0.5, 118.0), (60.0, 20.0, 12.0, 135.0), (90.0, 6.0, 3.0, 90.0)],
)
def test_a_radial_hole_is_what_integration_in_space_says(rim, diameter, depth, point):
    """scipy's adaptive quadrature over (r, angle, height) with the curved rim and the drill's cone. The moment is
    exact, so held to quadrature's 1e-8; the mass is a series, held to the millionth that it claims."""
    mass, moment = integrated_radial(rim, diameter, depth, point)
    hole = holes.radial_hole(STEEL, rim, diameter, depth, point)
    assert hole.unbalance_gmm == pytest.approx(moment, rel=1e-8)
    assert hole.mass_g == pytest.approx(mass, rel=1e-6)


def test_a_hole_no_deeper_than_the_rims_fall_is_told_a_little_short():
    """The bound that the docstring states: at 0.1 mm, a quarter of the fall of a 16 mm drill on an 80 mm rim,
    what is missing is metal of less than the fall over the hole's area."""
    rim, diameter, depth = 80.0, 16.0, 0.1
    cone = holes.cone_height_mm(diameter, 118.0)

    def there(theta, r):
        top = math.sqrt(rim**2 - (r * math.cos(theta)) ** 2)
        return max(0.0, top - (rim - depth - cone * (1 - 2 * r / diameter))) * r

    mass = 4 * STEEL * dblquad(there, 0, diameter / 2, 0, math.pi / 2)[0]
    told = holes.radial_hole(STEEL, rim, diameter, depth).mass_g
    fall = diameter**2 / 8 / rim
    assert told < mass < told + STEEL * fall * holes.disc_mm2(diameter)


def test_an_axial_hole_and_where_it_acts_against_integration():
    """Disc by disc along the drill: mass, first moment about the crank (offset of the axis, every disc's own
    centroid being on it), and the depth of the centroid. Quadrature's 1e-8."""
    diameter, depth, point, radius = 18.0, 14.0, 118.0, 70.0
    cone = holes.cone_height_mm(diameter, point)

    def over(weight):
        def height(r):
            return depth + cone * (1 - 2 * r / diameter)

        value, _ = tplquad(
            lambda y, theta, r: weight(y, theta, r) * r,
            *(0, diameter / 2, 0, 2 * math.pi),
            lambda r, theta: 0.0,
            lambda r, theta: height(r),
        )
        return STEEL * value

    hole = holes.axial_hole(STEEL, radius, diameter, depth, point)
    assert hole.mass_g == pytest.approx(over(lambda y, theta, r: 1.0), rel=1e-8)
    assert hole.unbalance_gmm == pytest.approx(over(lambda y, t, r: radius + r * math.cos(t)), rel=1e-8)
    centroid = over(lambda y, theta, r: y) / hole.mass_g
    assert holes.axial_centroid_mm(diameter, depth, point) == pytest.approx(centroid, rel=1e-8)
    assert holes.axial_centroid_mm(diameter, depth) == depth / 2


@pytest.mark.parametrize(("thickness", "point"), [(14.0, 118.0), (16.0, 118.0), (19.4, 118.0), (20.0, 90.0)])
def test_a_point_beyond_the_back_face_takes_nothing_there(thickness, point):
    """Slice by slice down to the back face. Quadrature's 1e-8."""
    diameter, depth = 18.0, 14.0
    cone = holes.cone_height_mm(diameter, point)
    assert depth + cone > thickness

    def slice_mm2(y):
        return math.pi * (diameter / 2 * min(1.0, (depth + cone - y) / cone)) ** 2

    volume, moment = (quad(f, 0, thickness, points=[depth])[0] for f in (slice_mm2, lambda y: y * slice_mm2(y)))
    hole = holes.axial_hole(STEEL, 70.0, diameter, depth, point, thickness)
    assert hole.mass_g == pytest.approx(STEEL * volume, rel=1e-8)
    assert hole.unbalance_gmm == pytest.approx(70.0 * STEEL * volume, rel=1e-8)
    down = holes.axial_centroid_mm(diameter, depth, point, thickness)
    assert down == pytest.approx(moment / volume, rel=1e-8)


@given(st.floats(40, 120), st.floats(5, 60), st.floats(2, 170), st.floats(0.1, 20))
@examples(30)
def test_a_ground_arc_against_integration(rim, thickness, arc, depth):
    mass = STEEL * thickness * dblquad(lambda r, a: r, 0, math.radians(arc), rim - depth, rim)[0]
    x, y = (
        STEEL * thickness * dblquad(lambda r, a, f=f: r * r * f(a), 0, math.radians(arc), rim - depth, rim)[0]
        for f in (math.cos, math.sin)
    )
    ground = holes.ground_arc(STEEL, rim, thickness, arc, depth)
    assert ground.mass_g == pytest.approx(mass, rel=1e-8)
    assert cmath.rect(ground.unbalance_gmm, math.radians(arc / 2)) == pytest.approx(complex(x, y), rel=1e-8)


def test_a_slug_brings_what_it_is_heavier_than_its_bore():
    slug = holes.Slug(20.0, 22.0, 3)
    gain = holes.slug_gain(STEEL, 70.0, slug)
    assert slug.mass_g == pytest.approx(0.018 * math.pi * 100 * 22)
    assert -gain.unbalance_gmm == pytest.approx((0.018 - STEEL) * math.pi * 100 * 22 * 70)
    assert gain.mass_g == pytest.approx(holes.axial_hole(STEEL, 70.0, 20.0, 22.0).mass_g - slug.mass_g)


def test_a_hole_says_what_it_changes_and_how_deep_its_tip_is():
    hole = holes.Hole("1", "radial", 90.0, 90.0, 0.0, 10.0, 20.0, 500.0, 6.0, 118.0)
    assert hole.change_gmm == pytest.approx(-500j)
    assert hole.tip_mm == pytest.approx(20 + 3.0043, abs=1e-4)
    assert hole._replace(removes_gmm=-500.0).change_gmm == pytest.approx(500j)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
@pytest.mark.parametrize(
    ("formula", "figures"),
    [
        (holes.disc_mm2, (10.0,)),
        (holes.cone_height_mm, (10.0, 118.0)),
        (holes.radial_hole, (STEEL, 90.0, 10.0, 12.0, 118.0)),
        (holes.axial_hole, (STEEL, 70.0, 10.0, 12.0, 118.0)),
        (holes.axial_centroid_mm, (10.0, 12.0, 118.0)),
        (
            lambda density, radius, *slug: holes.slug_gain(density, radius, holes.Slug(*slug)),
            (STEEL, 70.0, 16.0, 16.0),
        ),
        (holes.ground_arc, (STEEL, 90.0, 24.0, 20.0, 2.0)),
    ],
)
def test_no_hole_of_an_impossible_figure(formula, figures, bad):
    """Whichever of the figures it is; with all of them possible there is an answer."""
    formula(*figures)
    for at in range(len(figures)):
        with pytest.raises(ValueError, match=r"number|degrees"):
            formula(*figures[:at], bad, *figures[at + 1 :])


def test_what_is_beyond_the_metal_is_refused():
    with pytest.raises(ValueError, match="at most 180"):
        holes.cone_height_mm(10.0, 181.0)
    for thickness in (0.0, math.nan):
        with pytest.raises(ValueError, match="thickness_mm"):
            holes.axial_hole(STEEL, 70.0, 10.0, 12.0, 118.0, thickness)
    for arc, depth in ((361.0, 2.0), (20.0, 91.0)):
        with pytest.raises(ValueError, match="cannot be ground"):
            holes.ground_arc(STEEL, 90.0, 24.0, arc, depth)
