"""The lathe and what must clear, in sentences."""

import math

import pytest

from truethrow.balance.correction.ordering import DrillingRange
from truethrow.balance.crank.holes import Hole
from truethrow.balance.running.clearance import Gap
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import planning_words as words

METRIC = Display("g", "mm", 0.1)


@pytest.mark.parametrize(
    ("least", "wanted", "said"),
    [
        (1.0, None, "no limit"),
        (1.0, 1.0, "inside"),
        (0.99, 1.0, "OUTSIDE"),
        (0.0, None, "TOUCHES"),
        (-1.0, 1.0, "TOUCHES"),
    ],
)
def test_a_verdict_needs_something_to_be_wanted_unless_it_touches(least, wanted, said):
    assert words.gap_verdict(Gap("rod", "bolt head", "cam", 1, least, 0.0), wanted) == said


def test_each_is_named_by_whose_it_is():
    assert words.gap_names(Gap("skirt", "skirt", "1 front", 3, 1.0, 0.0)) == (
        "piston 3, skirt",
        "counterweight 1 front",
    )
    assert words.gap_names(Gap("rod", "bolt head", "cam", 2, 1.0, 0.0)) == ("rod 2, bolt head", "cam")
    assert words.gap_names(Gap("counterweight", "1 front", "rail", None, 1.0, 0.0)) == (
        "counterweight 1 front",
        "rail",
    )


def test_a_hole_that_the_lathe_opens_is_told():
    hole = Hole("1 front", "axial", 200.0, 80.0, 0.0, 12.0, 24.0, 100.0, 1.0)
    assert words.opened("1 front", hole, 85.0, METRIC) == (
        "1 front: the hole along the crank at crank 200° is opened at the rim"
    )
    assert words.opened("1 front", hole, 88.0, METRIC).endswith("keeps 2 mm of wall to the rim")


@pytest.mark.parametrize(
    ("taken", "said"),
    [
        ((50.0, 7.0, 4, 1), "takes parts from 1750 g (4 holes) to 1807 g (1 hole)."),
        ((50.0, math.inf, 4, 8), "takes parts from 1750 g (4 holes) to any weight (8 holes)."),
        ((math.inf, math.inf, 0, 0), "This crank does not feel what all throws carry alike"),
    ],
)
def test_how_far_drilling_does_is_told_by_what_the_parts_weigh(taken, said):
    assert said in words.drilling_alone(1800.0, DrillingRange(*taken), METRIC).replace(".0 g", " g")
