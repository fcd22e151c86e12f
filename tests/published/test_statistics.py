"""Readings and slips: JCGM 100, ISO 5725-6 and the NIST handbook."""

import math
import statistics

import pytest
from scipy import stats

from truethrow.balance.base.fields import MOST_CYLINDERS, MOST_REPEATS
from truethrow.balance.base.readings import (
    CRITICAL_RANGE,
    Certainty,
    Mass,
    Reading,
    Scale,
    combine,
    pooled_repeatability_g,
)
from truethrow.balance.result.slips import CRITICAL_DEVIATE


def reading(*values):
    return Reading(1, "piston", values, tuple(map(str, values)))


def test_resolution_is_a_rectangle():
    """JCGM 100:2008, F.2.2.1: a digital indication of step d stands for a rectangle of variance d²/12,
    u = 0.29 d."""
    sure = Certainty(Scale(1.0, tared=False), 0.0)
    assert sure.standard_g(reading(5.0)) == pytest.approx(0.29, abs=0.002)


def test_mean_of_repeats():
    """JCGM 100:2008, 4.4.3: 20 temperatures, mean 100.145 °C, s = 1.489, u = s/√20 = 0.333 (Table 1). With no
    other part to pool with, ours is the same; the readings are the table's, from memory, checked by their own
    mean and deviation."""
    table = (96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07)
    table += (100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72)
    assert statistics.mean(table) == pytest.approx(100.145, abs=5e-4)
    spread = pooled_repeatability_g([reading(*table)])
    assert spread == pytest.approx(1.489, abs=5e-4)
    assert Certainty(Scale(1e-9), spread).standard_g(reading(*table)) == pytest.approx(0.333, abs=5e-4)


def test_sum_and_difference_of_correlated_readings():
    """JCGM 100:2008, 5.2.2 note 1 and example: ten resistors compared with one standard are fully correlated,
    so the uncertainty of their sum is the sum of the uncertainties (1 Ω, not 0.32 Ω), and in a difference the
    shared part vanishes."""
    sure = Certainty(Scale(1e-12, calibration_g=0.1), 0.0)
    ten = [Reading(i, "piston", (1000.0,), ("1000",)) for i in range(10)]
    assert sure.combined_g(combine((1.0, Mass.read(r)) for r in ten).sensitivity) == pytest.approx(1.0)
    apart = combine([(1.0, Mass.read(ten[0])), (-1.0, Mass.read(ten[1]))])
    assert sure.combined_g(apart.sensitivity) == pytest.approx(0.0, abs=1e-9)


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
