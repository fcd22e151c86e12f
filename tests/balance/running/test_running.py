"""A job's engine running: what it shakes, against plain sums, and how sure that is."""

import cmath
import math

import invented
import numpy as np
import pytest
from invented import worked
from lopsided import LOPSIDED

from truethrow.balance.base.formulas import omega
from truethrow.balance.engine import shaking
from truethrow.balance.result.work import work
from truethrow.balance.running import running


def test_one_gram_more_changes_the_residual_by_its_vector():
    """+1 g on cylinder 5's big end (throw 3, 270°, z 224 of 336 mm), hung as before: 46 g·mm at 270°, a third
    of it in front, two thirds in the rear; in the running engine 46e-6 kg·m · ω² turning with the crank."""
    hang = {"bobweight": {"hang": "1866.5 g", "oil": 4.0}}
    before = worked(**hang)
    after = worked(invented.cylinders(big_end={5: 453.3}), **hang)
    vector = cmath.rect(46.0, math.radians(270))
    for plane, part in (("static", 1.0), ("front", 1 / 3), ("rear", 2 / 3)):
        change = getattr(after.cost, plane).vector_gmm - getattr(before.cost, plane).vector_gmm
        assert change == pytest.approx(part * vector, abs=1e-6)
    one, other = (running.shake(r, 5600).curve for r in (before, after))
    pulled = other.force_n - one.force_n
    turning = 46e-6 * omega(5600) ** 2 * np.exp(1j * (other.crank_rad + math.radians(270)))
    assert pulled == pytest.approx(turning, abs=1e-7)


def test_one_gram_of_piston_leaves_its_own_force_on_its_bank():
    before, after = (
        worked(),
        worked(invented.cylinders(piston={1: 539.4}), bobweight={"hang": "1866.5 g", "oil": 4}),
    )
    change = running.shake(after, 5600).curve.force_n - running.shake(before, 5600).curve.force_n
    bank = math.radians(45)
    along = shaking.slider_acceleration(shaking.crank_angles() - bank, 46 / 155)
    assert change == pytest.approx(46e-6 * omega(5600) ** 2 * along * np.exp(1j * bank), abs=1e-7)


def test_mounts_carry_the_force_and_the_couple():
    engine = dict(invented.V8, mounts={"front": -50.0, "rear": 400.0})
    found = running.shake(worked(invented.cylinders(piston={1: 545.0}), engine=engine), 5600)
    front, rear = found.mounts
    assert (front.z_mm, rear.z_mm) == (-50.0, 400.0)
    # A force at the front throw alone, by statics: (400 − 0)/450 of it in front.
    single = running.shake(
        worked(
            invented.cylinders(1),
            engine=dict(invented.V8, layout="inline-1", mounts={"front": -50.0, "rear": 400.0}),
        ),
        5600,
    )
    assert single.mounts[0].peak.amount == pytest.approx(single.force.amount * 400 / 450)
    assert single.mounts[1].peak.amount == pytest.approx(single.force.amount * 50 / 450)


def by_hand(parts, steps=720, about=100.0, oil=4.0, speed=5600):
    """A V8 in plain Python: slider positions differentiated numerically, forces summed cylinder by cylinder."""
    r, rod, omega = 46.0, 155.0, speed * 2 * math.pi / 60
    alpha, z, psi = (0, 90, 270, 180), (0, 112, 224, 336), (45, -45)

    def slider(phi):
        return r * math.cos(phi) + math.sqrt(rod**2 - (r * math.sin(phi)) ** 2)

    hung = round(sum(rotating(p) + reciprocating(p) / 2 for p in parts) / 4 + oil, 1)
    h = 1e-3
    force, couple = [], []
    for k in range(steps):
        theta = 2 * math.pi * k / steps
        f = m = 0j
        for p in parts:
            throw, bank = divmod(p["number"] - 1, 2)
            axis, a = math.radians(psi[bank]), math.radians(alpha[throw])
            phi = theta + a - axis
            second = (slider(phi + h) - 2 * slider(phi) + slider(phi - h)) / h**2
            pull = -reciprocating(p) * second * cmath.exp(1j * axis)
            pull += rotating(p) * r * cmath.exp(1j * (theta + a))
            f, m = f + pull, m + pull * (z[throw] - about) / 1000
        for a, place in zip(alpha, z, strict=True):
            pull = (oil - hung) * r * cmath.exp(1j * (theta + math.radians(a)))
            f, m = f + pull, m + pull * (place - about) / 1000
        force.append(f * omega**2 * 1e-6)
        couple.append(m * omega**2 * 1e-6)
    return force, couple


def rotating(p):
    return p["big_end"] + p["bearings"]


def reciprocating(p):
    return sum(p[k] for k in ("piston", "pin", "locks", "rings", "small_end"))


def test_a_lopsided_v8_against_plain_sums():
    """Every figure that shake prints of one engine with nothing alike, from the sums above; the numerical second
    difference is good to 1e-6."""
    parts = invented.cylinders(**LOPSIDED)
    force, couple = by_hand(parts)
    engine = dict(invented.V8, mounts={"front": -60.0, "rear": 390.0})
    found = running.shake(worked(parts, engine=engine), 5600, about_mm=100.0, steps=720)
    at = max(range(720), key=lambda k: abs(force[k]))
    assert found.force.amount == pytest.approx(abs(force[at]), rel=2e-5)
    assert found.force.crank_deg == pytest.approx(at / 2)
    assert found.force.direction_deg == pytest.approx(math.degrees(cmath.phase(force[at])) % 360, abs=0.01)
    assert found.vertical_n == pytest.approx(max(abs(f.real) for f in force), rel=2e-5)
    assert found.horizontal_n == pytest.approx(max(abs(f.imag) for f in force), rel=2e-4)
    assert found.couple.amount == pytest.approx(max(map(abs, couple)), rel=2e-5)
    rear = [(m + f * (100 + 60) / 1000) / 0.45 for f, m in zip(force, couple, strict=True)]
    front = [f - b for f, b in zip(force, rear, strict=True)]
    assert found.mounts[0].peak.amount == pytest.approx(max(map(abs, front)), rel=2e-5)
    assert found.mounts[1].peak.amount == pytest.approx(max(map(abs, rear)), rel=2e-5)
    heaviest = max(parts, key=reciprocating)
    assert found.pulls.cylinder == heaviest["number"]
    assert found.pulls.reciprocating_g == pytest.approx(reciprocating(heaviest))


def test_couples_are_about_the_middle_without_a_z():
    result = worked(invented.cylinders(**LOPSIDED))
    assert running.shake(result, 5600).curve.about_mm == 168.0
    assert running.shake(result, 5600).couple == running.shake(result, 5600, 168.0).couple


@pytest.mark.parametrize(
    "scale",
    [
        {"resolution": 0.1},
        {"resolution": 0.1, "tared": False, "calibration": 0.2},
        {"resolution": 0.1, "calibration_percent": 0.05},
    ],
)
def test_uncertainties_of_the_peaks_match_engines_drawn_by_hand(scale):
    """2,000 engines drawn by their readings and worked with plain sums at the peak's own place. Vertical,
    horizontal, force and couple; 2,000 draws know a deviation to 1.6 %, three times that is allowed."""
    parts = invented.cylinders(piston={1: 575.0}, big_end={8: 480.0})
    result = worked(parts, scale=scale)
    found = running.shake(result, 5600, about_mm=0.0, steps=72)
    random = np.random.default_rng(2)
    u = 0.1 / math.sqrt(12) * (math.sqrt(2) if scale.get("tared", True) else 1)
    curve = found.curve
    amounts = {"force": [], "vertical": [], "horizontal": [], "couple": []}
    places = {
        "force": (np.abs(curve.force_n).argmax(), "f", curve.force_n),
        "vertical": (np.abs(curve.force_n.real).argmax(), "f", curve.force_n.real + 0j),
        "horizontal": (np.abs(curve.force_n.imag).argmax(), "f", 1j * curve.force_n.imag),
        "couple": (np.abs(curve.couple_nm).argmax(), "c", curve.couple_nm),
    }
    pull = 46e-6 * omega(5600) ** 2
    banks = np.radians([45, -45] * 4)
    throws = np.radians(np.repeat([0, 90, 270, 180], 2))
    arms = np.repeat([0, 112, 224, 336], 2) / 1000
    sliding = np.array([sum(p[kind] for kind in ("piston", "pin", "locks", "rings", "small_end")) for p in parts])
    turning = np.array([p["big_end"] + p["bearings"] for p in parts])
    for _ in range(2000):
        shared = random.normal(0, scale.get("calibration", 0) or 1e-12)
        gain = random.normal(0, scale.get("calibration_percent", 0) / 100 or 1e-12)
        slide = random.normal(0, u, (8, 5)).sum(axis=1) + 5 * shared + gain * sliding
        turn = random.normal(0, u, (8, 2)).sum(axis=1) + 2 * shared + gain * turning
        for name, (at, which, vectors) in places.items():
            theta = curve.crank_rad[at]
            along = shaking.slider_acceleration(theta + throws - banks, 46 / 155)
            moved = slide * along * np.exp(1j * banks) + turn * np.exp(1j * (theta + throws))
            moved = (moved * (arms if which == "c" else 1)).sum() * pull
            amounts[name].append((moved * np.conj(vectors[at] / abs(vectors[at]))).real)
    for name, expanded in (
        ("force", found.force_expanded_n),
        ("vertical", found.vertical_expanded_n),
        ("horizontal", found.horizontal_expanded_n),
        ("couple", found.couple_expanded_nm),
    ):
        assert expanded == pytest.approx(2 * np.std(amounts[name]), rel=0.05), name


def test_a_vanishing_couple_is_as_unsure_as_it_can_be():
    """All alike, an error in all readings: the couple is nothing, but what it may be is not one direction's."""
    scale = {"resolution": 0.1, "tared": False, "calibration": 0.2}
    found = running.shake(worked(scale=scale), 5600)
    assert found.couple.amount == pytest.approx(0, abs=1e-9)
    one_direction = running.shake(worked(invented.cylinders(big_end={1: 520.0}), scale=scale), 5600)
    assert found.couple_expanded_nm >= 0.9 * one_direction.couple_expanded_nm
    assert found.couple_expanded_nm == pytest.approx(20.7, rel=0.03)


NO_NUMBER = (math.nan, math.inf, -math.inf)


@pytest.mark.parametrize("speed", [0.0, -5600.0, *NO_NUMBER])
def test_no_engine_runs_at_an_impossible_speed(speed):
    result = work(invented.build(invented.document()))
    for figures in (running.shake, running.job_shares):
        with pytest.raises(ValueError, match="speed_rpm"):
            figures(result, speed)


@pytest.mark.parametrize("about", NO_NUMBER)
def test_no_couple_about_no_place(about):
    with pytest.raises(ValueError, match="about_mm"):
        running.shake(work(invented.build(invented.document())), 5600, about)
