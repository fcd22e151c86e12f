"""What the engine shakes, on the report."""

import re

import invented
import pytest
from invented import worked
from lopsided import LOPSIDED

from truethrow.balance.running.running import shake
from truethrow.worksheets.cards import shaking
from truethrow.worksheets.cards.card import Lines, Picture
from truethrow.worksheets.cards.figures import Figures
from truethrow.worksheets.shown.display import Display


def told(found):
    figures = Figures({"shake": shaking.data(found)}, Display("g", "mm", 0.1))
    return figures, shaking.told(found, figures)


def test_without_a_top_speed_it_says_so():
    (lines,) = shaking.told(None, Figures({}, Display("g", "mm", 0.1)))
    assert isinstance(lines, Lines)
    assert "no top speed" in lines.lines[0]


def test_each_peak_is_told_with_how_sure_it_is_beside_the_curve():
    found = shake(worked(invented.cylinders(**LOPSIDED)), 5600)
    figures, (said, picture) = told(found)
    (text,) = said.lines
    assert text.startswith("What shakes at 5600 r/min: largest force ")
    most, sure = re.search(r"largest force ([0-9.]+) N ± ([0-9.]+) N", text).groups()
    assert float(most) == pytest.approx(found.force.amount, rel=0.01)
    assert float(sure) == pytest.approx(found.force_expanded_n, rel=0.1)
    assert figures.value("shake", "force", "peak_n") == pytest.approx(found.force.amount)
    assert "on the front mount" in text and "on the rear mount" in text
    assert isinstance(picture, Picture)


def test_what_cancels_is_told_as_none_and_its_angle_is_not_in_the_data():
    """All parts alike: the couples of a cross-plane V8 with its bobweights cancel but for rounding, whose angle
    would be another on each machine and make the report look old."""
    found = shake(worked(), 5600)
    _, (said, _) = told(found)
    assert "largest couple none" in said.lines[0]
    data = shaking.data(found)
    assert not any(key.endswith("_deg") for part in (data, data["force"], data["couple"]) for key in part)
