"""One job worked through: the engine's plain figures, and whether a shop may go on."""

import math

import invented
import pytest
from invented import worked


def test_the_engines_facts_are_those_of_its_lengths():
    """Bore 105, stroke 92, eight cylinders: π/4 · 10.5² · 9.2 · 8 cm³; 2 · 0.092 m a turn at 5,600 turns a minute;
    at the top of the stroke, r·ω²·(1 + r/l)."""
    facts = worked().facts
    assert facts.displacement_cm3 == pytest.approx(math.pi / 4 * 10.5**2 * 9.2 * 8)
    assert facts.mean_piston_speed_m_s == pytest.approx(2 * 0.092 * 5600 / 60)
    omega = 2 * math.pi * 5600 / 60
    assert facts.peak_piston_acceleration_m_s2 == pytest.approx(0.046 * omega**2 * (1 + 46 / 155))


@pytest.mark.parametrize(
    ("left_out", "none"), [("bore", "displacement_cm3"), ("top_speed", "mean_piston_speed_m_s")]
)
def test_what_is_not_declared_is_not_told(left_out, none):
    engine = {name: value for name, value in invented.V8.items() if name != left_out}
    assert getattr(worked(engine=engine).facts, none) is None


def test_inside_is_nothing_to_do():
    result = worked(limits={"piston": 1.0})
    assert (result.outside, result.is_held, result.trim) == (False, False, None)


def test_a_spread_outside_its_limit_has_a_trim():
    result = worked(invented.cylinders(piston={3: [541.0] * 2}), limits={"piston": 1.0}, trim={"piston": 5.0})
    assert (result.outside, result.is_held) == (True, False)
    assert [part.cylinder for part in result.trim.parts] == [3]


def test_a_slip_holds_the_trim_back_but_not_one_of_the_check_alone():
    """An outlier says that a part is not what it reads. A rod in one go that is not like the others' is no doubt
    by itself, since no metal hangs on it; that it does not agree with its ends is one."""
    slip = worked(invented.cylinders(piston={3: 18.99}), limits={"piston": 1.0})
    assert slip.is_held
    assert slip.trim.parts == ()
    checked = [own | {"rod_total": 623.5} for own in invented.cylinders()]
    checked[2]["rod_total"] = 640.0
    result = worked(checked)
    assert [slip.check for slip in result.slips] == ["outlier", "closure"]
    assert [slip.check for slip in result.doubts] == ["closure"]


@pytest.mark.parametrize("held_by", ["doubts", "unsure"])
def test_nothing_is_planned_by_readings_that_are_in_doubt_or_not_sure_enough(held_by):
    """Each holds the plan back alone, where there is metal enough for one: a piston that is out of the row, and a
    spread far outside its limit on a scale of which nobody knows how it scatters."""
    pads, limits = {"piston": 30.0}, {"piston": 1.0}
    if held_by == "doubts":
        result = worked(invented.cylinders(piston={3: 541.0}), limits=limits, trim=pads)
    else:
        parts = invented.cylinders(piston={n: 538.0 + 0.6 * n for n in range(1, 9)})
        scale = {"resolution": 0.1, "repeatability": None, "rod_end_repeatability": None}
        result = worked(parts, limits=limits, trim=pads, scale=scale)
    assert {name for name in ("doubts", "unsure") if getattr(result, name)} == {held_by}
    assert result.outside
    assert result.trim is not None
    assert result.trim.parts == ()
