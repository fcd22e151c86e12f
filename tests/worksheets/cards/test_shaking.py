"""What the engine shakes, on the report."""

from __future__ import annotations

import re
from types import SimpleNamespace

import invented
import pytest
from invented import worked
from lopsided import LOPSIDED

from truethrow.balance.running.running import job_shares, shake
from truethrow.worksheets.cards import shaking
from truethrow.worksheets.cards.card import Lines, Picture, flat
from truethrow.worksheets.cards.figures import Figures
from truethrow.worksheets.shown.display import Display

METRIC, INCH = Display("g", "mm", 0.1), Display("oz", "in", 0.0035)


def told(result, speed_rpm=5600, show=METRIC):
    """What is told of a job, with what it is told from."""
    found, shares = shake(result, speed_rpm), job_shares(result, speed_rpm)
    data = {
        "shake": shaking.data(found),
        "share": shaking.share_data(SimpleNamespace(shares=shares, result=result)),
    }
    figures = Figures(data, show)
    return found, figures, [*flat(shaking.told(found, shares, figures))]


def test_without_a_top_speed_it_says_so():
    (lines,) = shaking.told(None, None, Figures({}, METRIC))
    assert isinstance(lines, Lines)
    assert "no top speed" in lines.lines[0]


def test_each_peak_is_told_with_how_sure_it_is_beside_the_curve():
    found, figures, (said, *curves) = told(worked(invented.cylinders(**LOPSIDED)))
    (text,) = said.lines
    assert text.startswith("What shakes at 5600 r/min, over one turn of the crank: largest force ")
    most, sure = re.search(r"largest force ([0-9.]+) N ± ([0-9.]+) N", text).groups()
    assert float(most) == pytest.approx(found.force.amount, rel=0.01)
    assert float(sure) == pytest.approx(found.force_expanded_n, rel=0.1)
    assert figures.value("shake", "force", "peak_n") == pytest.approx(found.force.amount)
    assert "on the front mount" in text and "on the rear mount" in text
    assert all(isinstance(one, Picture) for one in curves)
    assert [one.name for one in curves] == ["shaking-force", "shaking-couple", "share"]


def test_in_inch_forces_are_in_pounds_and_couples_in_pound_feet():
    """1 lbf = 4.4482216152605 N (exact: ISO 80000-4)."""
    found, _, (said, force, couple, share) = told(worked(invented.cylinders(**LOPSIDED)), show=INCH)
    (text,) = said.lines
    assert " N" not in text
    lbf = float(re.search(r"largest force ([0-9.]+) lbf ±", text)[1])
    assert lbf == pytest.approx(found.force.amount / 4.4482216152605, rel=0.01)
    lbf_ft = float(re.search(r"largest couple ([0-9.]+) lbf·ft ±", text)[1])
    assert lbf_ft == pytest.approx(found.couple.amount / 4.4482216152605 / 0.3048, rel=0.02)
    assert "force [lbf]" in force.svg
    assert "couple [lbf·ft]" in couple.svg and "couple [lbf·ft]" in share.svg


def test_the_best_share_of_a_cross_plane_v8_is_one_half():
    """Any textbook of balancing: half of the reciprocating mass balances the primary couple of a 90-degree V8."""
    _, figures, (*_, share) = told(worked())
    assert figures.value("share") == {"aim": "couple", "best_from": 0.5, "best_to": 0.5, "own": 0.5}
    assert "best 0.500" in share.svg and "bobweights 0.500" in share.svg


def test_what_cancels_is_told_as_none_and_its_angle_is_not_in_the_data():
    """All parts alike: the couples of a cross-plane V8 with its bobweights cancel but for rounding, whose angle
    would be another on each machine and make the report look old."""
    found, _, (said, *curves) = told(worked())
    assert "shaking-couple" not in {one.name for one in curves}
    assert "largest couple none" in said.lines[0]
    data = shaking.data(found)
    assert not any(key.endswith("_deg") for part in (data, data["force"], data["couple"]) for key in part)
