"""The engine room's tables: digits that mean something, and nothing told that is only rounding."""

import math

import pytest
from invented import cylinders, worked

from truethrow.balance.engine.layout import generic_layout
from truethrow.balance.engine.share import AIMS
from truethrow.balance.running import running
from truethrow.cli.show import Screen
from truethrow.cli.why import why_tables
from truethrow.worksheets.shown.display import Display


@pytest.fixture
def lines(capsys):
    def shown():
        return [" ".join(line.split()) for line in capsys.readouterr().out.splitlines()]

    return shown


def test_a_layout_is_told_with_its_inherent_balance_and_its_firing(lines):
    """A cross-plane V8 has no inherent force; its first order couple turns with the crank, which bobweights and
    counterweights take out. Order 1-8-4-3-6-5-7-2 fires every 90 degrees."""
    order = (1, 8, 4, 3, 6, 5, 7, 2)
    why_tables.layout(Screen(), "v8-90-crossplane", generic_layout("v8-90-crossplane", 112.0), order)
    told = lines()
    assert told[0] == "Layout v8-90-crossplane"
    first = next(line.split() for line in told if line.startswith("1 0 0 "))
    assert float(first[3]) > 0
    assert first[4] == "0"
    assert told[-1] == ", ".join(["90"] * 8)


def test_the_shares_are_told_aim_by_aim_and_in_tenths(lines):

    found = running.job_shares(worked(), 5600)
    why_tables.shares(Screen(), "launch-7", found, Display("g", "mm", 0.1))
    told = lines()
    assert "Best share: 0.500000 (largest couple)" in told  # the forces of a cross-plane V8 cancel by themselves
    tenths = [line for line in told if line[:4] in {f"{i / 10:.1f} " for i in range(11)}]
    assert len(tenths) == 11
    assert all(len(line.split()) == 1 + len(AIMS) for line in tenths)


def test_a_running_engine_is_told_with_what_was_hung(lines):
    result = worked()
    why_tables.shake(Screen(), result, running.shake(result, 5600), Display("g", "mm", 0.1))
    told = lines()
    assert told[0] == "Job launch-7 at 5600 r/min"
    assert "1866.5 g hung" in told[1]


def test_in_inches_forces_are_in_pounds_and_couples_in_foot_pounds(lines):
    """1 lbf = 4.4482216152605 N, 1 lbf·ft = 1.3558179483314 N·m (international pound and foot, standard gravity:
    exact)."""
    result = worked(cylinders(big_end={1: 460.0}))
    found = running.shake(result, 5600)
    why_tables.shake(Screen(), result, found, Display("g", "in", 0.1))
    told = lines()
    for head, newtons in (
        ("force [lbf]", found.force.amount / 4.4482216152605),
        ("vertical [lbf]", found.vertical_n / 4.4482216152605),
        ("couple [lbf·ft]", found.couple.amount / 1.3558179483314),
    ):
        line = next(line for line in told if line.startswith(head))
        assert float(line.removeprefix(head).split()[0]) == pytest.approx(newtons, rel=2e-3)
    assert not any("N]" in line or " N " in line or "N·m" in line for line in told)
    shares = running.job_shares(result, 5600)
    why_tables.shares(Screen(), "launch-7", shares, Display("g", "in", 0.1))
    told = lines()
    none = {o.aim: o.at_none for o in shares.optima}
    row = next(line for line in told if line.startswith("largest couple"))
    assert row.endswith(" lbf·ft")
    assert float(row.split()[-2]) == pytest.approx(none["couple"] / 1.3558179483314, rel=1e-3)
    assert float(next(line for line in told if line.startswith("0.0 ")).split()[-1]) == pytest.approx(
        none["bearing"] / 4.4482216152605, rel=1e-3
    )


@pytest.mark.parametrize(
    ("values", "text"),
    [((1234.5, 1.0), ["1234", "1"]), ((12.345, 0.5), ["12.35", "0.50"]), ((0.12345, 0.0), ["0.1235", "0.0000"])],
)
def test_a_column_has_the_decimals_of_its_largest_figure(values, text):
    assert why_tables._alike(values) == text


@pytest.mark.parametrize(
    ("value", "text"), [(1e-10, "0"), (123456.7, "123457"), (1.23456, "1.235"), (0.00123456, "0.001235")]
)
def test_a_figure_has_four_digits_and_no_exponent(value, text):
    assert why_tables._figure(value) == text
    assert why_tables._figure(-value) == (f"-{text}" if text != "0" else "0")


def test_a_figure_that_is_unsure_has_two_digits_of_that():
    assert why_tables._with_expanded(1866.4567, 0.2345, 1.0) == ("1866.46", "0.23")
    assert why_tables._with_expanded(1866.4567, 0.0, 1.0) == ("1866", "")
    assert math.isclose(float(why_tables._multiple(4.47213595)), 4.4721)


def test_what_cancels_out_is_told_and_not_drawn(lines):
    """An in-line six of equal parts has no first nor second order, and no couple at all (from memory); what a
    computer makes of nothing, some 1e-14, is no curve and equals nothing."""
    engine = {"layout": "inline-6", "stroke": 90.0, "rod_length": 150.0, "cylinder_spacing": 100.0}
    result = worked(cylinders(6), engine=engine)
    why_tables.shake(Screen(), result, running.shake(result, 5000), Display("g", "mm", 0.1))
    told = lines()
    assert any(line.endswith("no couple: it cancels out") for line in told)
    assert next(line for line in told if line.startswith("couple [N·m]")).endswith(" 0 g·mm²")
    assert not any("e-" in line for line in told)
