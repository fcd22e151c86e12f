"""What a hole does that is not as it is recorded, against the vectors of plain statics: a mass times its radius at
its angle, shared between two planes by the law of the lever (Newton; any textbook of statics)."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace

import cranks
import kept
import pytest

from truethrow.balance.correction import TwoPlanes
from truethrow.balance.crank.holes import Hole, Tools
from truethrow.balance.station.mishaps import Scene
from truethrow.balance.station.slips import Slip, explaining, slips
from truethrow.balance.station.stationlog import HoleRecord

AMOUNT_GMM, Z_MM = 1500.0, 90.0
# In the counterweight 2a of the invented V8, about 270 degrees, 112 - 22 mm from the front plane.
HOLE = Hole("2a", "radial", 250.0, 90.0, Z_MM, 12.0, 15.0, AMOUNT_GMM, 17.0)


def shared(amount_gmm, angle_deg, z_mm):
    whole = cmath.rect(amount_gmm, math.radians(angle_deg))
    rear = z_mm / 336.0
    return whole * (1 - rear), whole * rear


@pytest.fixture
def told():
    record = HoleRecord(replace(kept.drilled("s-1"), step=3), HOLE)
    tools = Tools((cranks.drill(12.0), cranks.drill(10.0)))
    return {one.said: one.change for one in slips(cranks.crank(), tools, [record], cranks.PLANES_MM)}


def test_a_hole_that_is_not_there_leaves_its_metal(told):
    assert told["hole 3 (2a at the crank's 250°) is recorded but not drilled"] == pytest.approx(
        shared(AMOUNT_GMM, 250.0, Z_MM)
    )


def test_a_mirrored_hole_takes_its_metal_as_far_beyond_the_middle(told):
    lacks, takes = shared(AMOUNT_GMM, 250.0, Z_MM), shared(AMOUNT_GMM, 290.0, Z_MM)
    wanted = [one - other for one, other in zip(lacks, takes, strict=True)]
    assert told["hole 3 (2a at the crank's 250°) is drilled at the crank's 290°"] == pytest.approx(wanted)


def test_a_smaller_drill_leaves_what_its_disc_is_smaller_by(told):
    """A cylinder of the steel, its middle half its depth below the rim: within a twentieth, for point and rim."""
    front, _ = told["hole 3 (2a at the crank's 250°) is drilled with a 10 mm drill"]
    takes_gmm = math.pi / 4 * 10.0**2 * 15.0 * 7.85e-3 * (90.0 - 7.5)
    wanted = shared(AMOUNT_GMM - takes_gmm, 250.0, Z_MM)[0]
    assert abs(front - wanted) < 0.05 * takes_gmm


def test_only_a_counterweight_with_metal_there_is_tried(told):
    """Of the neighbors of 2a, 2b lies about the same angle, and 1b about 180: it ends at 240 degrees."""
    assert [said for said in told if "drilled in" in said] == ["hole 3 (2a at the crank's 250°) is drilled in 2b"]


def test_what_is_expected_needs_no_slip_and_what_fits_none_has_none():
    tried = [Slip("one", TwoPlanes(500 + 0j, 0j)), Slip("other", TwoPlanes(0j, 500j))]

    def found(front, rear):
        scene = Scene(TwoPlanes(0j, 0j), (50.0, 50.0), TwoPlanes(front, rear), (0.0, 0.0))
        return explaining(scene, tried)

    assert found(30 + 0j, 0j) == ()
    assert found(520 + 0j, 10j) == ("one",)
    assert found(0j, 480j) == ("other",)
    assert found(500 + 0j, 500j) == ()
