"""Spin readings as vectors, how sure they are, and the index check."""

from __future__ import annotations

import math
import random

import kept
import pytest
from hypothesis import given
from hypothesis import strategies as st
from station_shop import polar

from truethrow.balance.base import units
from truethrow.balance.base.amounts import METRIC, ToldIn
from truethrow.balance.base.errors import BadInput
from truethrow.balance.station import spin, stationlog
from truethrow.balance.station.spin import Average, Instrument, indexed, measured, scatter

GRAMS = Instrument("g", 100.0, True, amount_part=0.02, angle_deg=2.0, floor_gmm=30.0)
amounts = st.floats(0.01, 1000)
angles = st.floats(-360, 360)


def close(left, right, within=1e-9):
    return abs(left - right) <= within * max(1.0, abs(left))


# The instrument's unit, sense and zero


@pytest.mark.parametrize(
    ("unit", "radius_mm", "gmm"),
    [
        ("oz·in", None, 720.077887375),  # 28.349523125 g · 25.4 mm, exact since 1959
        ("g·in", None, 25.4),
        ("g·cm", None, 10.0),
        ("gcm", None, 10.0),
        ("g·mm", None, 1.0),
        ("g", 100.0, 100.0),
        ("oz", 101.6, 28.349523125 * 101.6),
        ("kg", 100.0, 100_000.0),
    ],
)
def test_units_are_exact(unit, radius_mm, gmm):
    assert Instrument(unit, radius_mm, True).gmm == pytest.approx(gmm, rel=1e-15)


def test_every_unit_of_the_house_does():
    for unit in units.UNBALANCE.factors:
        assert Instrument(unit, None, True).gmm == float(units.UNBALANCE.factors[unit])


@pytest.mark.parametrize(
    ("with_rotation", "zero", "shows", "is_at"),
    [
        (True, 0, 37, 37),
        (False, 0, 37, 323),
        (True, 90, 90, 0),
        (False, 90, 90, 0),
        (True, 90, 120, 30),
        (False, 90, 120, 330),
    ],
)
def test_sense_and_zero(with_rotation, zero, shows, is_at):
    """What the instrument shows where throw 1 is, is our 0; it counts on with or against the rotation."""
    vector = Instrument("g", 100.0, with_rotation, zero).vector_gmm(12.4, shows)
    assert close(vector, polar(1240.0, is_at))


@given(amounts, angles, st.booleans(), angles)
def test_there_and_back(amount, angle, with_rotation, zero):
    own = Instrument("g", 100.0, with_rotation, zero)
    shown, at = own.shows(own.vector_gmm(amount, angle))
    assert close(polar(shown, at), polar(amount, angle), 1e-9)


@given(amounts, angles, angles)
def test_the_other_sense_is_the_mirror(amount, angle, zero):
    one, other = (Instrument("g", 100.0, sense, zero) for sense in (True, False))
    assert close(one.vector_gmm(amount, angle), other.vector_gmm(amount, angle).conjugate(), 1e-9)


# Runs and their text


@given(
    st.lists(st.tuples(st.integers(0, 99999), st.integers(-3600, 3600)), min_size=2, max_size=12), st.booleans()
)
def test_runs_come_back_from_the_log(found, by_mass):
    texts = [f"{a / 100}@{d / 10}" for a, d in found[: len(found) // 2 * 2]]
    own = GRAMS if by_mass else Instrument("oz in", None, True)
    runs = spin.typed_runs(texts, own)
    back = stationlog.runs_of(stationlog.kept_runs(runs), own)
    assert back.readings == runs.readings
    for one, other in zip(spin.averages(back, own), spin.averages(runs, own), strict=True):
        assert one == other


def test_a_reading_knows_its_decimals():
    front, rear = spin.typed_runs(["11.80@203", "9@169.5"], GRAMS).readings[0]
    assert (front.places, rear.places) == (2, 0)


def test_runs_keep_the_unit_that_they_were_typed_in_and_are_read_by_the_instrument_that_is_asked_for():
    runs = spin.typed_runs(["12.4@37", "8.1@210"], GRAMS)
    assert runs.told(METRIC) == "12.4@37 8.1@210 in g at 100 mm"
    assert runs.told(ToldIn("oz", "oz", "in")) == "12.4@37 8.1@210 in g at 100 mm"
    ounces = Instrument("oz·in", None, True)
    (as_ounces, _), (as_grams, _) = spin.averages(runs, ounces), spin.averages(runs, GRAMS)
    assert abs(as_grams.vector_gmm) == pytest.approx(1240)
    assert abs(as_ounces.vector_gmm) == pytest.approx(12.4 * 720.077887375)


def test_every_fault_at_once():
    with pytest.raises(BadInput) as caught:
        spin.typed_runs(["12.4", "8.1.@210", "1@400"], GRAMS)
    assert caught.value.lines() == [
        "run 1, front: '12.4' is no reading; allowed: amount@angle, such as 12.4@37",
        "run 1, rear: '8.1.@210' is no reading; allowed: amount@angle, such as 12.4@37",
        "run 2, front: '1@400' is out of reach; allowed: amount@angle, such as 12.4@37",
        "runs: 3 readings; allowed: front and rear of each run",
    ]


@pytest.mark.parametrize(
    ("typed", "reads"),
    [
        ("6,1@203", "6.1@203"),
        ("6,10@203,5", "6.10@203.5"),
        (",4@9", ".4@9"),
        ("0,125@20", "0.125@20"),  # no thousands begin with 0
        ("12,3456@20", "12.3456@20"),
        ("6,1 g@203", "6.1@203"),
        ("1,234@203,5", "1.234@203.5"),  # who writes degrees so writes amounts so
        ("6.1@-3,125", "6.1@-3.125"),  # there are no thousands of degrees
    ],
)
def test_a_decimal_comma_is_read_as_a_point(typed, reads):
    assert str(spin.typed_runs([typed, "5@169"], GRAMS).readings[0][0]) == reads


@pytest.mark.parametrize(
    ("typed", "allowed"),
    [
        ("1,234@203", "1.234@203, or 1234@203, whichever it is"),
        ("1,234 g@203", "1.234 g@203, or 1234 g@203, whichever it is"),
        ("1.234,5@203", "1234.5@203"),
        ("1,234.5@203", "1234.5@203"),
        ("1,234,567@203", "1234567@203"),
        ("12.4@37,8.1@210", "a blank between them: 12.4@37 8.1@210"),
    ],
)
def test_what_can_be_read_in_two_ways_is_refused_with_what_to_type(typed, allowed):
    with pytest.raises(BadInput) as caught:
        spin.typed_runs([typed, "5@169"], GRAMS)
    (fault,) = caught.value.faults
    assert fault.allowed == allowed


def test_a_unit_of_unbalance_is_typed_with_a_dot_or_without():
    own = Instrument("g·cm", None, True)
    for unit in ("g·cm", "gcm", "g-cm", "g*cm", "g cm"):
        runs = spin.typed_runs([f"12.4{unit}@37", "8@210"], own)
        assert runs.typed_unit == "g·cm"
    assert abs(spin.averages(runs, own)[0].vector_gmm) == pytest.approx(124.0)
    with pytest.raises(BadInput, match="typed in gcm, and the profile reads g·mm"):
        spin.typed_runs(["12.4gcm@37", "8@210"], own._replace(unit="gmm"))


@pytest.mark.parametrize(("unit", "radius_mm"), [("g", None), ("oz·in", 5.0), ("N·m", None), ("", 100.0)])
def test_runs_in_no_unit_of_a_station_are_refused(unit, radius_mm):
    with pytest.raises(ValueError, match=r"no unit|at none"):
        stationlog.Basis.of(kept.READ_BY._replace(unit=unit, radius_mm=radius_mm))


# How sure it is


def test_several_runs_are_averaged_as_vectors():
    """359 and 1 degrees make 0, not 180."""
    front, rear = spin.averages(spin.typed_runs(["10@359", "5@90", "10@1", "5@270"], GRAMS), GRAMS)
    assert close(front.vector_gmm, 1000 * math.cos(math.radians(1)))
    assert abs(rear.vector_gmm) < 1e-9


def test_the_mean_of_runs_is_as_sure_as_jcgm_says():
    """JCGM 100:2008, 4.2.3: s/√n per direction. Monte Carlo over 4 runs with 30 g·mm in each direction: what
    scatter pools is 30, and the mean scatters by 15."""
    random.seed(1)
    means, pools = [], []
    for _ in range(4000):
        vectors = [complex(random.gauss(500, 30), random.gauss(200, 30)) for _ in range(4)]
        made = spin._average(vectors)
        means.append(made.vector_gmm)
        pools.append(made)
    found = scatter(pools)
    assert found.of(0.0) == pytest.approx(30, rel=0.02)
    assert found.part == 0.0
    mean = sum(means) / len(means)
    spread = math.sqrt(sum(abs(m - mean) ** 2 for m in means) / 2 / len(means))
    assert spread == pytest.approx(found.of(500.0) / math.sqrt(4), rel=0.03)


def test_one_run_has_no_scatter_of_its_own():
    assert scatter([Average(5 + 0j, 1, 0.0)]) == (0.0, 0.0, math.inf)


def spins_of(amounts, floor, part, runs=5):
    """Spins of these amounts whose runs scatter so."""
    found = []
    for amount in amounts:
        sigma = math.hypot(floor, part * amount)
        found.append(
            spin._average([complex(random.gauss(amount, sigma), random.gauss(0, sigma)) for _ in range(runs)])
        )
    return found


def test_scatter_that_grows_with_the_amount_is_told_from_the_floor():
    """One degree is 0.01745 of an amount. Against numpy's own weighted least squares, the true variances known."""
    import numpy as np

    random.seed(2)
    amounts = [40.0, 90.0, 300.0, 1_000.0, 5_000.0, 30_000.0] * 60
    found = scatter(spins_of(amounts, 6.0, 0.01745))
    assert found.floor_gmm == pytest.approx(6.0, rel=0.05)
    assert found.part == pytest.approx(0.01745, rel=0.05)
    made = spins_of(amounts, 6.0, 0.01745)
    true = np.array([36 + (0.01745 * a) ** 2 for a in amounts])
    rows = np.array([[1.0, abs(one.vector_gmm) ** 2] for one in made]) / true[:, None]
    told = np.linalg.lstsq(rows, np.array([one.squares / one.freedom for one in made]) / true, rcond=None)[0]
    assert scatter(made)[:2] == pytest.approx(tuple(np.sqrt(told)), rel=0.03)


def test_a_gross_spin_does_not_make_a_good_crank_unsure():
    """30,000 g·mm that scatter by a degree, then 36: it was told as 36 ± 97."""
    random.seed(3)
    gross, good = spins_of([30_000.0, 36.0], 2.0, 0.01745)
    assert scatter([gross]).of(36.0) > 300, "as long as nothing smaller was seen to scatter less"
    both = scatter([gross, good])
    assert both.of(36.0) < 5
    assert both.of(30_000.0) == pytest.approx(scatter([gross]).of(30_000.0), rel=0.05)


def test_no_part_is_below_zero():
    falling = [Average(100 + 0j, 5, 8 * 400.0), Average(1_000 + 0j, 5, 8 * 100.0)]
    assert scatter(falling).part == 0.0
    steep = [Average(100 + 0j, 5, 8 * 0.5), Average(1_000 + 0j, 5, 8 * 100.0)]
    assert scatter(steep)[:2] == (0.0, pytest.approx(math.sqrt(0.75e-4), rel=0.01)), "the mean of both, as parts"


def test_no_part_is_told_by_readings_near_zero():
    """Amounts of one, two and four times their scatter: all of it is floor, as the runs pool it."""
    near = [Average(10 + 0j, 3, 4 * 100.0), Average(20 + 0j, 3, 4 * 150.0), Average(40 + 0j, 3, 4 * 400.0)]
    found = scatter(near)
    assert found.part == 0.0
    assert found.of(10_000.0) == found.floor_gmm == pytest.approx(math.sqrt(650 / 3))
    assert scatter([*near, Average(1_000 + 0j, 3, 4 * 2_500.0)]).part > 0


def test_a_part_is_not_told_far_beyond_what_was_repeated():
    found = scatter([Average(40 + 0j, 5, 8 * 4.0), Average(1_000 + 0j, 5, 8 * 400.0)])
    assert found.of(2_000.0) == pytest.approx(2 * found.of(1_000.0), rel=0.02)
    assert found.of(100_000.0) == found.of(3_000.0)


def test_what_is_declared():
    """k = 2: 2 % of 1240 is 24.8, 2° of it 43.28, both with the floor of 30 in quadrature."""
    found = measured(polar(1240, 37), 0.0, GRAMS)
    assert found.expanded_gmm == pytest.approx(math.hypot(24.8, 30))
    across = math.hypot(math.radians(2) * 1240, 30)
    assert found.expanded_deg == pytest.approx(math.degrees(math.asin(across / 1240)))


def test_what_is_too_small_has_no_angle():
    found = measured(polar(20, 37), 0.0, GRAMS)
    assert found.expanded_deg is None
    assert found.expanded_gmm == pytest.approx(30, rel=0.01)


@given(amounts, angles, amounts, angles)
def test_the_index_check_takes_the_fixture_out(crank, at, fixture, on):
    """The crank's own stays where it is; what the fixture has changes sides with it."""
    own, theirs = polar(crank, at), polar(fixture, on)
    found = indexed(own + theirs, own - theirs)
    assert close(found[0], own, 1e-9)
    assert close(found[1], theirs, 1e-9)
