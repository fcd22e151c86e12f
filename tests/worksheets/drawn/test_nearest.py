"""The turn at the least distance, as it is drawn."""

import math
import xml.etree.ElementTree as ET

import pytest

from truethrow.balance.crank.crank import Arc, Crank, Member
from truethrow.balance.engine.declared import ClearanceTable, EngineTable
from truethrow.balance.engine.engine import build
from truethrow.balance.running.clearance import gaps, scene
from truethrow.worksheets.drawn import nearest
from truethrow.worksheets.shown.display import Display

ENGINE = build(
    EngineTable.model_validate(
        {"layout": "v8-90-crossplane", "bore": 105, "stroke": 92, "rod_length": 155, "cylinder_spacing": 112}
    ),
    [],
)
CRANK = Crank(
    (Member("1 front", -22.0, 24.0, 90.0, 52.0, (Arc(120.0, 120.0),), 7.85e-3, "front", math.inf, math.inf),)
)
TABLE = ClearanceTable.model_validate(
    {
        "skirt_below_pin": 14.0,
        "rod": [{"distance": 36.0, "angle": 62.0, "radius": 7.5}],
        "circle": [{"name": "cam lobes", "distance": 122.0, "radius": 24.0}],
        "line": [{"name": "pan rail", "distance": 98.0, "angle": 100.0}],
    }
)


def kinds():
    found = {}
    for gap in gaps(ENGINE, CRANK, TABLE):
        found.setdefault((gap.mover, gap.against), gap)
    return list(found.values())


@pytest.mark.parametrize("gap", kinds(), ids=lambda gap: f"{gap.mover} {gap.against}")
def test_the_nearest_points_are_as_far_apart_as_it_says(gap):
    one, other = scene(ENGINE, CRANK, TABLE, gap).near
    assert abs(one - other) == pytest.approx(gap.least_mm, abs=0.02)


@pytest.mark.parametrize("gap", kinds(), ids=lambda gap: f"{gap.mover} {gap.against}")
def test_every_kind_is_drawn_inside_its_frame(gap):
    drawn = ET.fromstring(nearest.drawn(ENGINE, CRANK, TABLE, gap, Display("g", "mm", 0.1)))
    words = [text.text for text in drawn.iter("{http://www.w3.org/2000/svg}text")]
    assert f"{gap.least_mm:.2f} mm with throw 1 turned {gap.crank_deg:.1f}° from straight up" in words
    for circle in drawn.iter("{http://www.w3.org/2000/svg}circle"):
        x, y, r = (float(circle.get(key)) for key in ("cx", "cy", "r"))
        assert x - r >= 0
        assert x + r <= nearest.WIDE_MM
        assert y - r >= 0
        assert y + r <= nearest.HIGH_MM


def test_what_touches_is_told_in_white_on_black_and_in_inches():
    table = TABLE.model_copy(update={"skirt_below_pin": 22.0})
    gap = gaps(ENGINE, CRANK, table)[0]
    drawn = nearest.drawn(ENGINE, CRANK, table, gap, Display("oz", "in", 0.1))
    assert "TOUCHES" in drawn
    assert f"{gap.least_mm / 25.4:.3f} in with throw 1" in drawn


@pytest.mark.parametrize("below", [22.0, 30.0, 45.0])
def test_how_deep_they_overlap_is_drawn_where_it_is(below):
    """The rim's highest point in the skirt and the edge below it: never a corner that happens to be near the end
    of a rim."""
    table = TABLE.model_copy(update={"skirt_below_pin": below})
    gap = next(gap for gap in gaps(ENGINE, CRANK, table) if gap.mover == "skirt")
    assert gap.least_mm < 0
    edge, rim = scene(ENGINE, CRANK, table, gap).near
    assert abs(edge - rim) == pytest.approx(-gap.least_mm, abs=0.02)
    assert abs(rim) == pytest.approx(90.0)
    assert abs(edge) < abs(rim)
