"""What the masses pull at speed."""

import math

import invented
import pytest
from invented import worked

from truethrow.balance.base.formulas import omega
from truethrow.balance.running import running
from truethrow.balance.running.inertia import rod_bolt_tension_n


def test_what_the_masses_pull():
    """Newton by hand: 865.9 g at 20 513.6 m/s², two bolts; a gram at 46 mm and 5600 r/min."""
    pulls = running.shake(worked(), 5600).pulls
    omega = 5600 * 2 * math.pi / 60
    acceleration = 0.046 * omega**2 * (1 + 46 / 155)
    assert pulls.acceleration_m_s2 == pytest.approx(acceleration)
    assert pulls.pull_n == pytest.approx(0.8659 * acceleration)
    assert pulls.bolt_n == pytest.approx(0.8659 * acceleration / 2)
    assert pulls.gram_n == pytest.approx(0.001 * 0.046 * omega**2)


def test_how_sure_the_pull_and_the_mounts_are():
    """Of one cylinder at z = 0, mounts 50 mm before and 400 mm behind it. Five readings to 0.1 g with a rounded
    zero are sure to 2·√5·0.1/√6 g (JCGM 100:2008, 5.2, k = 2), which times the acceleration is what the pull is
    sure to; and a mount carries the same part of the force's uncertainty as of the force."""
    engine = dict(invented.V8, layout="inline-1", mounts={"front": -50.0, "rear": 400.0})
    found = running.shake(worked(invented.cylinders(1), engine=engine), 5600)
    acceleration = 0.046 * omega(5600) ** 2 * (1 + 46 / 155)
    sure_g = 2 * math.sqrt(5) * 0.1 / math.sqrt(6)
    assert found.pulls.pull_expanded_n == pytest.approx(sure_g / 1000 * acceleration)
    front, rear = found.mounts
    assert front.expanded_n == pytest.approx(found.force_expanded_n * 400 / 450)
    assert rear.expanded_n == pytest.approx(found.force_expanded_n * 50 / 450)


def test_no_bolt_holds_nothing():
    with pytest.raises(ValueError, match="at least one bolt"):
        rod_bolt_tension_n(860.0, 20_000.0, 0)
