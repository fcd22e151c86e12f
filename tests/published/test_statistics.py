"""Readings and slips: JCGM 100, ISO 5725-6 and the NIST handbook."""

import math
import statistics

import numpy as np
import pytest
from scipy import stats

from truethrow.balance.base.fields import MOST_CYLINDERS, MOST_REPEATS
from truethrow.balance.base.parts import way_of
from truethrow.balance.base.quantiles import f_quantile, t_factor, t_quantile
from truethrow.balance.base.readings import (
    CRITICAL_RANGE,
    Certainty,
    Mass,
    Reading,
    Scale,
    certainty,
    combine,
)
from truethrow.balance.base.scatter import Scatter, cochran
from truethrow.balance.result.slips import CRITICAL_DEVIATE

NOTHING = Scatter(0.0)


def reading(*values):
    return Reading(1, "piston", values, tuple(map(str, values)))


def test_resolution_is_a_rectangle(checked):
    """JCGM 100:2008, F.2.2.1: a digital indication of step d stands for a rectangle of variance d²/12,
    u = 0.29 d."""
    sure = Certainty(Scale(1.0, tared=False), NOTHING, NOTHING)
    checked(
        *(
            "JCGM 100:2008",
            "F.2.2.1",
            "a display that steps by d = 1",
            "standard uncertainty of a reading",
            "0.29",
        ),
        sure.standard_g(reading(5.0)),
        *("d",),
        within=0.002,
    )


def test_mean_of_repeats(checked):
    """JCGM 100:2008, 4.4.3: 20 temperatures, mean 100.145 °C, s = 1.489, u = s/√20 = 0.333 (Table 1). With no
    other part to pool with, ours is the same; the readings are the table's, from memory, checked by their own
    mean and deviation."""
    table = (96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07)
    table += (100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72)
    assert statistics.mean(table) == pytest.approx(100.145, abs=5e-4)
    sure = certainty(Scale(1e-9), [reading(*table)])
    example = "JCGM 100:2008", "4.4.3, Table 1", "20 temperatures, mean 100.145 °C (the readings from memory)"
    checked(*example, "standard deviation", "1.489", sure.pan.standard_g, "°C", within=5e-4, from_memory=True)
    of_mean = sure.standard_g(reading(*table))
    checked(*example, "uncertainty of the mean", "0.333", of_mean, "°C", within=5e-4, from_memory=True)


def test_sum_and_difference_of_correlated_readings(checked):
    """JCGM 100:2008, 5.2.2 note 1 and example: ten resistors compared with one standard are fully correlated,
    so the uncertainty of their sum is the sum of the uncertainties (1 Ω, not 0.32 Ω), and in a difference the
    shared part vanishes."""
    sure = Certainty(Scale(1e-12, calibration_g=0.1), NOTHING, NOTHING)
    ten = [Reading(i, "piston", (1000.0,), ("1000",)) for i in range(10)]
    checked(
        *(
            "JCGM 100:2008",
            "5.2.2, example",
            "ten resistors of 1000 Ω, each compared with one standard, u = 0.1 Ω",
        ),
        *(
            "standard uncertainty of the sum",
            "1",
            sure.expanded_g(combine((1.0, Mass.read(r)) for r in ten)) / 2,
            "Ω",
        ),
        within=1e-6,
    )
    apart = combine([(1.0, Mass.read(ten[0])), (-1.0, Mass.read(ten[1]))])
    assert sure.expanded_g(apart) == pytest.approx(0.0, abs=1e-9)


def test_the_tables_hold_all_that_a_job_may_have():
    """Critical ranges for 2 to as many repeats as a part may have, deviates for 3 to as many cylinders as an
    engine may have: none is missing, and none is there that no job asks for."""
    assert set(CRITICAL_RANGE) == set(range(2, MOST_REPEATS + 1))
    assert set(CRITICAL_DEVIATE) == set(range(3, MOST_CYLINDERS + 1))


@pytest.mark.parametrize("count", range(2, MOST_REPEATS + 1))
def test_critical_range(count):
    """ISO 5725-6:1994, Table 1, critical range factors f(n); recomputed as the 95 % point of the range of n
    normal values (studentized range with infinite freedom, scipy), which the table gives to a tenth."""
    assert CRITICAL_RANGE[count] == pytest.approx(stats.studentized_range.ppf(0.95, count, math.inf), abs=0.051)


def critical_deviate(m, alpha):
    """Generalized ESD critical value for m values left: t·(m−1)/√((m−2+t²)·m), t at 1 − α/2m with m−2 freedoms."""
    t = stats.t.ppf(1 - alpha / (2 * m), m - 2)
    return (m - 1) * t / math.sqrt((m - 2 + t**2) * m)


@pytest.mark.parametrize(("m", "handbook"), [(54, 3.158), (53, 3.151), (52, 3.143)])
def test_critical_deviates_of_the_handbooks_example(m, handbook):
    """NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.3, Rosner's 54 values at α = 0.05, the first
    three critical values (from memory), cut at the thousandth."""
    assert critical_deviate(m, 0.05) == pytest.approx(handbook, abs=1e-3)


@pytest.mark.parametrize("m", range(3, MOST_CYLINDERS + 1))
def test_our_table_of_critical_deviates(m):
    """The same formula at α = 0.01; our table gives a thousandth."""
    assert pytest.approx(critical_deviate(m, 0.01), abs=5.1e-4) == CRITICAL_DEVIATE[m]


# JCGM 100:2008, Table G.2: t for the fraction 95.45 % (in print rounded to two decimals).
G2 = {1: 13.97, 2: 4.53, 3: 3.31, 4: 2.87, 5: 2.65, 6: 2.52, 7: 2.43, 8: 2.37, 9: 2.32, 10: 2.28}
G2 |= {11: 2.25, 12: 2.23, 13: 2.21, 14: 2.20, 15: 2.18, 16: 2.17, 17: 2.16, 18: 2.15, 19: 2.14, 20: 2.13}
G2 |= {25: 2.11, 30: 2.09, 35: 2.07, 40: 2.06, 45: 2.06, 50: 2.05, 100: 2.025, math.inf: 2.000}


@pytest.mark.parametrize("freedom", G2)
def test_the_factor_of_few_repeats(freedom):
    """JCGM 100:2008, Table G.2, column 95.45 % (from memory, recomputed with scipy's t): half a unit of its last
    digit is allowed."""
    assert t_factor(freedom) == pytest.approx(G2[freedom], abs=0.0051)
    if freedom != math.inf:
        assert t_factor(freedom) == pytest.approx(stats.t.ppf((1 + math.erf(2 / math.sqrt(2))) / 2, freedom))


def test_the_end_gauge(checked):
    """JCGM 100:2008, H.1.6: ν = 16 at 99 %: t = 2.92, and U = 2.92 · 32 nm = 93 nm."""
    example = "JCGM 100:2008", "H.1.6, end gauge", "u = 32 nm, 16 degrees of freedom, 99 %"
    factor = t_quantile(0.995, 16)
    checked(*example, "coverage factor", "2.92", factor, within=0.005, from_memory=True)
    checked(*example, "expanded uncertainty", "93", factor * 32, "nm", within=0.5, from_memory=True)


# ISO 5725-2:1994, Table 4, critical values of Cochran's test at 1 % for 2 to 5 weighings, by the number of parts
# (from memory).
COCHRAN = {
    2: {3: 0.993, 4: 0.968, 5: 0.928, 6: 0.883, 7: 0.838, 8: 0.794, 9: 0.754, 10: 0.718},
    3: {2: 0.995, 3: 0.942, 4: 0.864, 5: 0.788, 6: 0.722, 7: 0.664, 8: 0.615, 9: 0.573, 10: 0.536},
    4: {2: 0.979, 3: 0.883, 4: 0.781, 5: 0.696, 6: 0.626, 7: 0.568, 8: 0.521, 9: 0.481, 10: 0.447},
    5: {2: 0.959, 3: 0.834, 4: 0.721, 5: 0.633, 6: 0.564, 7: 0.508, 8: 0.463, 9: 0.425, 10: 0.393},
}


@pytest.mark.parametrize(("weighings", "parts"), [(n, p) for n, row in COCHRAN.items() for p in row])
def test_one_bad_pair(weighings, parts):
    """ISO 5725-2:1994, Table 4 (from memory), recomputed by C = 1/(1 + (p−1)/F) with scipy's F at 1 − 0.01/p; the
    table gives three decimals."""
    own = weighings - 1
    largest_f = stats.f.ppf(1 - 0.01 / parts, own, (parts - 1) * own)
    made = cochran(parts, own, (parts - 1) * own)
    assert made == pytest.approx(1 / (1 + (parts - 1) / largest_f), rel=1e-9)
    assert made == pytest.approx(COCHRAN[weighings][parts], abs=0.001)
    assert f_quantile(1 - 0.01 / parts, own, (parts - 1) * own) == pytest.approx(largest_f, rel=1e-9)


def weighed(random, step_g, scatter_g, grams, times):
    """What a scale shows of a load, tared before each: both rounded to its step."""
    zeros = random.uniform(-step_g / 2, step_g / 2, times)
    loads = grams + zeros + random.normal(0.0, scatter_g, times)
    return tuple((np.round(loads / step_g) * step_g).tolist())


@pytest.mark.parametrize(
    ("step_g", "scatter_g", "pairs"),
    [
        *((0.01, 0.05, 1), (0.01, 0.05, 3), (0.01, 0.05, 8), (0.1, 0.15, 1), (0.1, 0.15, 3), (0.1, 0.15, 8)),
        *((0.1, 0.03, 1), (0.1, 0.05, 3), (0.1, 0.1, 4)),
    ],
)
def test_the_uncertainty_of_a_bobweight_covers_the_truth(as_many, step_g, scatter_g, pairs):
    """What a ± claims, 95.45 %, is held against simulated loads of which the truth is known: JCGM 101:2008 of the
    whole way from the scale to the bobweight. At least 94 % of the bobweights of a throw lie within it, whatever
    the step, the scatter, and the number of parts weighed twice on the pan and of rod ends; by a factor of 2 it
    would be less than 85 % with one pair of each."""
    random = np.random.default_rng(round(1e4 * step_g + 1e3 * scatter_g) * 10 + pairs)
    runs = as_many(20_000, 3_000)
    kinds = {"piston": 0.5, "pin": 0.5, "rings": 0.5, "small_end": 0.5, "big_end": 1.0, "bearings": 1.0}
    covered = by_two = 0
    for _ in range(runs):
        true_g, readings, weights = 0.0, [], []
        left = {"pan": pairs, "support": pairs}
        for cylinder in range(1, 9):
            for kind, weight in kinds.items():
                grams = random.uniform(100, 600)
                twice = left[way_of(kind)] > 0
                left[way_of(kind)] -= twice
                loads = weighed(random, step_g, scatter_g, grams, 2 if twice else 1)
                readings.append(Reading(cylinder, kind, loads, ()))
                counts = weight if cylinder in (7, 8) else 0.0
                weights.append((counts, Mass.read(readings[-1])))
                true_g += counts * grams
        sure = certainty(Scale(step_g), readings)
        mass = combine(weights)
        off_g = abs(mass.value_g - true_g)
        covered += off_g <= sure.expanded_g(mass)
        by_two += off_g <= 2 * math.hypot(*(c * sure.standard_g(r) for r, c in mass.sensitivity.items()))
    assert covered / runs >= 0.94
    if (step_g, pairs) == (0.01, 1):
        assert by_two / runs < 0.85
