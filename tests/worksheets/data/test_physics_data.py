"""The engine's physics as data."""

import cmath
import math

import invented
import pytest
from invented import worked
from lopsided import LOPSIDED

from truethrow.balance.base.formulas import omega
from truethrow.balance.running import running


def test_orders_have_angles_and_units_in_the_data():
    from truethrow.worksheets.data import physics_data

    found = running.shake(worked(invented.cylinders(**LOPSIDED)), 5600)
    first = physics_data.shake(found)["orders"][0]
    phasor = found.orders[0].force_forward
    assert first["force_forward_n"] == pytest.approx(abs(phasor))
    assert first["force_forward_deg"] == pytest.approx(math.degrees(cmath.phase(phasor)) % 360)
    assert first["force_forward_gmm"] == pytest.approx(abs(phasor) / (46e-6 * omega(5600) ** 2) * 46)
    assert physics_data.shake(found)["force"]["equals_gmm"] == pytest.approx(
        found.force.amount / omega(5600) ** 2 * 1e6
    )
    assert physics_data.shake(found)["couple"]["equals_gmm2"] == pytest.approx(
        found.couple.amount / omega(5600) ** 2 * 1e9
    )
