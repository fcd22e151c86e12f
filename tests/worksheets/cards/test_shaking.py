"""What the engine shakes, on the report."""

import invented
import pytest
from card_texts import flat, shown
from invented import worked
from lopsided import LOPSIDED

from truethrow.balance.running.running import shake
from truethrow.worksheets.cards import shaking
from truethrow.worksheets.cards.card import CardTable, Lines, Picture
from truethrow.worksheets.cards.figures import Figures
from truethrow.worksheets.shown.display import Display


def told(found):
    figures = Figures({"shake": shaking.data(found)}, Display("g", "mm", 0.1))
    return figures, shaking.told(found, figures)


def test_without_a_top_speed_it_says_so():
    (lines,) = shaking.told(None, Figures({}, Display("g", "mm", 0.1)))
    assert isinstance(lines, Lines)
    assert "no top speed" in lines.lines[0]


def test_each_peak_stands_with_how_sure_it_is_and_leads_to_its_figure():
    found = shake(worked(invented.cylinders(**LOPSIDED)), 5600)
    figures, blocks = told(found)
    (table,) = (block for block in flat(blocks) if isinstance(block, CardTable))
    rows = {row[0]: row[1:] for row in table.rows}
    most, sure = rows["largest force"]
    assert most.value == pytest.approx(found.force.amount)
    assert sure.value == pytest.approx(found.force_expanded_n)
    assert figures.value(*most.path) == most.value
    assert shown(most).endswith(" N")
    assert {"on the front mount", "on the rear mount"} <= rows.keys()
    assert any(isinstance(block, Picture) for block in flat(blocks))


def test_what_cancels_is_told_as_none_and_its_angle_is_not_in_the_data():
    """All parts alike: the couples of a cross-plane V8 with its bobweights cancel but for rounding, whose angle
    would be another on each machine and make the report look old."""
    found = shake(worked(), 5600)
    _, blocks = told(found)
    (table,) = (block for block in flat(blocks) if isinstance(block, CardTable))
    assert shown({row[0]: row[1] for row in table.rows}["largest couple"]) == "none"
    data = shaking.data(found)
    assert not any(key.endswith("_deg") for part in (data, data["force"], data["couple"]) for key in part)
