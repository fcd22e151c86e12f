"""Averaged runs of a good crank read next to nothing, and scatter by as much: that says how sure the floor is, and
nothing of readings hundreds of times larger."""

from __future__ import annotations

import pytest
from balancing_shop import Station

ON = ("--mass", "100g", "--radius", "100mm", "--plane", "front", "--at", 30)


@pytest.fixture
def shop(tmp_path):
    """It reads grams at 100 mm, sure to 30 g·mm at best."""
    made = Station(tmp_path, unit="g")
    made.edit(unit="g", more="radius = 100")
    made.profile.write_text(made.profile.read_text("utf-8").replace("floor = 20.0", "floor = 30.0"), "utf-8")
    return made


def test_a_good_crank_can_still_be_proved_and_signed(shop):
    shop.spin("0.30@330", "0.20@60")
    assert shop.run("test-mass", *ON, "100.15@29.9", "0.20@60")[0] == 0
    shop.spin("0.415@330", "0.153@22", "0.272@340", "0.267@64", "0.358@330", "0.256@72")
    shop.spin("0.18@0", "0.05@187", "0.20@15", "0.12@232", "0.21@350", "0.18@312")
    status, said = shop.run("test-mass", *ON, "100.17@29.9", "0.09@260")
    assert status == 0, said
    assert "hardly moved" not in said
    status, said = shop.run("sign", "--by", "AB")
    assert status == 0, said
