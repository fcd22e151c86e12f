"""Lengths of what must clear, with the point in the wrong place or in another unit. What is usual is common
practice, no source: held here are engines as they are built, from small to large (invented figures)."""

import pytest

from truethrow.balance.base.fields import Units, validate
from truethrow.balance.crank.crank import Arc, Crank, Member
from truethrow.balance.engine.declared import ClearanceTable, EngineTable
from truethrow.balance.engine.engine import build
from truethrow.balance.running.plausible_clearance import doubts

# bore, stroke; skirt below, wide, along; a bolt's head from the big end, its radius; cam, its lobes; pan rail; rim
ENGINES = {
    "launch V8": (105, 92, 16.2, 62, 70, 36, 7.5, 122, 24, 98, 90),
    "motorcycle four": (67, 42.5, 9, 40, 45, 24, 5.5, 60, 14, 62, 48),
    "truck six": (131, 158, 68, 118, 120, 62, 13, 190, 34, 150, 125),
    "stationary single": (200, 280, 130, 195, 195, 110, 22, 420, 60, 320, 260),
    "old long-stroke four": (73, 100, 45, 70, 70, 38, 8, 115, 20, 110, 85),
}


def table(figures, **changes):
    _, _, below, wide, along, head, head_radius, cam, lobes, rail, _ = figures
    made = {
        "least": 1.5,
        "skirt_below_pin": below,
        "skirt_width": wide,
        "skirt_along": along,
        "rod": [{"distance": head, "angle": 62.0, "radius": head_radius}],
        "circle": [{"name": "cam", "distance": cam, "radius": lobes}],
        "line": [{"name": "rail", "distance": rail, "angle": 100}],
    }
    faults = []
    found = validate(ClearanceTable, made | changes, "clearance", Units(), faults)
    assert not faults
    return found


def engine(figures, **changes):
    bore, stroke = figures[:2]
    faults = []
    own = {"layout": "v8-90-crossplane", "bore": bore, "stroke": stroke, "rod_length": 1.7 * stroke} | changes
    made = build(EngineTable.model_validate({key: value for key, value in own.items() if value}), faults)
    assert not faults
    return made


def crank(rim):
    arc = (Arc(120.0, 120.0),)
    return Crank((Member("1 front", -22.0, 24.0, float(rim), 5.0, arc, 7.85e-3, "front", 9.0, 9.0),))


def named(figures, **changes):
    return [one.name for one in doubts(engine(figures), crank(figures[-1]), table(figures, **changes))]


@pytest.mark.parametrize("name", ENGINES)
def test_engines_as_they_are_built_are_not_doubted(name):
    assert named(ENGINES[name]) == []


@pytest.mark.parametrize("factor", [10, 0.1, 25.4, 1 / 25.4])
@pytest.mark.parametrize("key", ["skirt_below_pin", "skirt_width", "skirt_along"])
@pytest.mark.parametrize("name", ENGINES)
def test_a_skirt_ten_times_as_long_or_in_another_unit_is_doubted(name, key, factor):
    at = 2 + ("skirt_below_pin", "skirt_width", "skirt_along").index(key)
    assert named(ENGINES[name], **{key: ENGINES[name][at] * factor}) == [key]


@pytest.mark.parametrize("factor", [10, 0.1])
@pytest.mark.parametrize("name", ENGINES)
def test_so_is_what_is_round_the_crank_and_what_sticks_out_of_a_rod(name, factor):
    _, _, _, _, _, head, radius, cam, lobes, rail, rim = ENGINES[name]
    rod = [{"distance": head * factor, "radius": radius}]
    assert named(ENGINES[name], rod=rod) == ["bolt head, distance"]
    assert named(ENGINES[name], rod=[{"distance": head, "radius": radius * factor}]) == ["bolt head, radius"]
    circle = [{"name": "cam", "distance": cam * factor, "radius": lobes}]
    assert named(ENGINES[name], circle=circle) == ["cam, distance"]
    circle = [{"name": "cam", "distance": cam, "radius": lobes * factor}]
    assert named(ENGINES[name], circle=circle) == ["cam, radius"]
    line = [{"name": "rail", "distance": rail * factor, "angle": 100}]
    assert named(ENGINES[name], line=line) == ["rail, distance"]
    odd = doubts(engine(ENGINES[name]), crank(rim * factor), table(ENGINES[name]))
    assert [one.name for one in odd] == ["counterweight 1 front, outer_radius"]


def test_a_doubt_has_what_is_usual_and_beside_what():
    (odd,) = doubts(engine(ENGINES["launch V8"]), None, table(ENGINES["launch V8"], skirt_below_pin=1.62))
    assert (odd.beside, odd.beside_mm, odd.length_mm) == ("bore", 105, 1.62)
    assert (odd.least_mm, odd.most_mm) == (pytest.approx(8.4), pytest.approx(126.0))


def test_without_a_bore_the_stroke_will_do_and_without_both_nothing_is_said():
    figures = ENGINES["launch V8"]
    bare = engine(figures, bore=None, stroke=None)
    assert doubts(bare, None, table(figures, skirt_below_pin=1.62)) == ()
    (odd,) = doubts(engine(figures, bore=None), None, table(figures, skirt_below_pin=1.62))
    assert (odd.beside, odd.beside_mm) == ("stroke", 92)


def test_a_length_that_was_looked_at_again_is_not_doubted_and_its_neighbor_is():
    figures = ENGINES["launch V8"]
    odd = {"skirt_below_pin": 1.62, "least": 30.0, "circle": [{"name": "cam", "distance": 1220, "radius": 24}]}
    assert named(figures, **odd) == ["least", "skirt_below_pin", "cam, distance"]
    assert named(figures, **odd, checked=["least", "cam, distance"]) == ["skirt_below_pin"]
    assert named(figures, **odd, checked=["cam, radius", "Least"]) == named(figures, **odd)
