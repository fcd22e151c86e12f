"""What must clear, against brute force: a skirt and a rim of many points, at 36,000 crank angles."""

import math

import numpy as np
import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.base.errors import BadInput
from truethrow.balance.base.fields import Units, validate
from truethrow.balance.crank.crank import Arc, Crank, Member
from truethrow.balance.engine.declared import ClearanceTable, EngineTable
from truethrow.balance.engine.engine import build
from truethrow.balance.engine.lengths import NotDeclared
from truethrow.balance.running import clearance

TURN = np.arange(36_000) * (2 * math.pi / 36_000)


def engine(**changes):
    faults = []
    table = {"layout": "v8-90-crossplane", "bore": 105, "stroke": 92, "rod_length": 155, "cylinder_spacing": 112}
    made = build(EngineTable.model_validate(table | changes), faults)
    assert not faults
    return made


def weight(angle_from=120.0, span=120.0, outer=90.0, z=-22.0, name="1 front"):
    return Member(name, z, 24.0, outer, 52.0, (Arc(angle_from, span),), 7.85e-3, "front", math.inf, math.inf)


def pins(made, number, rad):
    """Big end and pin of a cylinder: where the bore's axis meets a circle about the big end, the outer of the two;
    in x and y, by the quadratic formula."""
    place = next(p for p in made.layout.places if p.cylinder == number)
    throw = next(t for t in made.layout.throws if t.name == place.throw)
    psi, alpha = math.radians(made.layout.banks[place.bank]), math.radians(throw.angle_deg)
    up, beside = np.array([math.cos(psi), math.sin(psi)]), np.array([-math.sin(psi), math.cos(psi)])
    end = made.stroke_mm / 2 * np.stack([np.cos(rad + alpha), np.sin(rad + alpha)], axis=-1)
    foot = made.desaxe_mm * beside
    b = ((foot - end) * up).sum(axis=-1)
    c = ((foot - end) ** 2).sum(axis=-1) - made.rod_length_mm**2
    pin = foot + (-b + np.sqrt(b**2 - c))[:, None] * up
    return end, pin, up, beside


def brute_skirt(made, number, member, below, half, turn=TURN, points=301):
    """The skirt's lower edge as points, and the rim with its ends as points: each edge point by its radius where
    the sector covers its angle, else to the sector's sides; each end of the rim against the skirt's block."""
    _, pin, up, beside = pins(made, number, turn)
    middle = math.radians(member.arcs[0].from_deg + member.arcs[0].span_deg / 2) + turn
    phi = math.radians(member.arcs[0].span_deg / 2)
    least = np.full(turn.size, np.inf)
    for across in np.linspace(-half, half, points):
        at = pin - below * up + across * beside
        radius, angle = np.hypot(*at.T), np.arctan2(at[:, 1], at[:, 0]) - middle
        angle = np.abs((angle + math.pi) % (2 * math.pi) - math.pi)
        sector = radius - member.outer_mm
        for i in np.flatnonzero(angle > phi):
            corner = member.outer_mm * np.array([math.cos(angle[i] - phi), math.sin(angle[i] - phi)])
            own = radius[i] * np.array([1.0, 0.0])
            t = np.clip(own @ corner / member.outer_mm**2, 0, 1)
            sector[i] = np.hypot(*(own - t * corner))
        least = np.minimum(least, sector)
    for side in (-phi, phi):
        corner = member.outer_mm * np.stack([np.cos(middle + side), np.sin(middle + side)], axis=-1) - pin
        along, across = corner @ up + below, np.abs(corner @ beside) - half
        least = np.minimum(least, np.hypot(np.maximum(across, 0), np.maximum(-along, 0)))
    return least


@pytest.mark.parametrize(
    ("changes", "number", "member", "below", "half"),
    [
        ({}, 1, weight(), 12.0, 52.5),
        ({}, 2, weight(), 14.0, 30.0),
        ({"desaxe": 8}, 1, weight(150.0, 60.0), 10.0, 45.0),  # an end of the rim comes nearest
        ({"stroke": 100, "rod_length": 150}, 7, weight(300.0, 120.0, 84.0), 9.0, 52.5),
    ],
)
def test_a_skirt_clears_as_36000_positions_say(changes, number, member, below, half):
    """Brute force, to a micrometre: 36,000 positions of the turn round the place that it finds, 301 points of the
    skirt, of which the nearest is at most 0.18 mm from the true one: 0.0002 mm of distance."""
    made = engine(**changes)
    place = next(p for p in made.layout.places if p.cylinder == number)
    least, at = clearance.lowest(clearance._over_rim(made, place, member, half, below))
    coarse = brute_skirt(made, number, member, below, half, TURN[::100], 101)
    start = TURN[::100][coarse.argmin()]
    fine = start + (np.arange(36_000) - 18_000) * (math.radians(3) / 18_000)
    found = brute_skirt(made, number, member, below, half, fine[::20])
    assert least == pytest.approx(found.min(), abs=1e-3)
    assert least > 0, "the brute force knows no inside of a block"
    gap = abs((at - math.degrees(fine[::20][found.argmin()]) + 180) % 360 - 180)
    assert gap < 0.2 or found[np.abs(np.degrees(fine[::20]) % 360 - at).argmin()] < found.min() + 1e-3


@pytest.mark.parametrize("number", [1, 4, 8])
def test_a_rods_bolt_clears_as_36000_positions_say(number):
    """Brute force over 36,000 positions, to a micrometre: its head against a camshaft and a pan rail."""
    made = engine()
    table = ClearanceTable.model_validate(
        {
            "rod": [{"name": "bolt head", "distance": 34.0, "angle": 68.0, "radius": 7.0}],
            "circle": [{"name": "cam lobes", "distance": 128.0, "radius": 26.0}],
            "line": [{"name": "pan rail", "distance": 96.0, "angle": 100.0}],
        }
    )
    found = {g.against: g for g in clearance.gaps(made, None, table) if g.cylinder == number}
    end, pin, *_ = pins(made, number, TURN)
    line = (pin - end) / made.rod_length_mm
    heads = []
    for side in (-1, 1):
        c, s = math.cos(math.radians(68)), side * math.sin(math.radians(68))
        heads.append(
            end + 34.0 * np.stack([c * line[:, 0] - s * line[:, 1], s * line[:, 0] + c * line[:, 1]], axis=-1)
        )
    cam = np.array([np.hypot(head[:, 0] - 128.0, head[:, 1]) - 26.0 - 7.0 for head in heads])
    g = math.radians(100)
    rail = np.array([96.0 - head @ np.array([math.cos(g), math.sin(g)]) - 7.0 for head in heads])
    for name, brute in (("cam lobes", cam), ("pan rail", rail)):
        assert found[name].least_mm == pytest.approx(brute.min(), abs=1e-3)
        told = round(found[name].crank_deg * 100) % 36_000
        assert brute[:, told].min() == pytest.approx(brute.min(), abs=1e-3)


def test_at_bottom_dead_centre_it_is_the_sum_by_hand():
    """Rod less throw, less the skirt, less the rim: 155 − 46 − 14 − 90 = 5 mm, where the counterweight's middle is
    opposite its throw. By hand."""
    made = engine()
    table = ClearanceTable.model_validate({"skirt_below_pin": 14.0})
    first = clearance.gaps(made, Crank((weight(),)), table)[0]
    assert first.least_mm == pytest.approx(5.0)
    assert (first.mover, first.against, first.cylinder) == ("skirt", "1 front", 1)
    # The left bank is 45 degrees round: throw 1 is at its bottom half a turn on.
    assert first.crank_deg == pytest.approx(225.0, abs=0.05)


def test_a_counterweight_clears_a_rail_by_hand():
    table = ClearanceTable.model_validate({"line": [{"name": "rail", "distance": "94 mm", "angle": 100.0}]})
    (gap,) = clearance.gaps(engine(), Crank((weight(),)), table)
    assert (gap.least_mm, gap.crank_deg) == (4.0, pytest.approx(280.0))


def test_a_skirt_that_reaches_into_a_rim_is_below_zero():
    made = engine()
    table = ClearanceTable.model_validate({"skirt_below_pin": 22.0})
    assert clearance.gaps(made, Crank((weight(),)), table)[0].least_mm == pytest.approx(-3.0)


def test_only_counterweights_below_the_skirt_are_looked_at():
    made = engine()
    table = ClearanceTable.model_validate({"skirt_below_pin": 14.0, "skirt_along": 50.0})
    crank = Crank((weight(), weight(z=90.0, name="2 front")))
    found = {(gap.cylinder, gap.against) for gap in clearance.gaps(made, crank, table)}
    assert found == {(1, "1 front"), (2, "1 front"), (3, "2 front"), (4, "2 front")}


@given(st.floats(0.0, 2 * math.pi), st.floats(1.0, 200.0), st.floats(0.1, math.pi), st.floats(40.0, 120.0))
@examples(200)
def test_a_point_is_as_far_from_a_sector_as_from_the_nearest_of_its_edge(angle, radius, half, rim):
    """Its edge as many points; inside it the distance is below zero."""
    point = radius * np.exp(1j * angle)
    spokes = np.linspace(0, rim, 4001)[:, None] * np.exp(1j * np.array([-half, half]))[None, :]
    arc = rim * np.exp(1j * np.linspace(-half, half, 8001))
    edge = np.abs(np.concatenate([spokes.ravel(), arc]) - point).min()
    inside = radius < rim and abs((angle + math.pi) % (2 * math.pi) - math.pi) < half
    found = float(clearance.point_to_sector(np.array([point]), rim, half)[0])
    if half > math.pi - 1e-3:
        return
    if inside and half > math.pi / 2:  # across the middle, the other side may be the nearer one
        assert -found >= edge - 0.03
        return
    assert found == pytest.approx(-edge if inside else edge, abs=0.03)


def test_what_is_not_there_is_named():
    bare = engine(stroke="", rod_length="", cylinder_spacing="")
    table = ClearanceTable.model_validate({"skirt_below_pin": 14.0})
    with pytest.raises(NotDeclared):
        clearance.gaps(bare, Crank((weight(),)), table)
    with pytest.raises(BadInput, match="skirt_width and skirt_along"):
        clearance.gaps(engine(bore=""), Crank((weight(),)), table)
    named = clearance.not_looked_at(engine(), None, table)
    assert [line.split(":")[0] for line in named] == [
        "skirts against counterweights",
        "rods",
        "the camshaft",
        "pan and block",
    ]


def test_more_than_anybody_declares_is_refused_before_it_takes_for_ever():
    many = [{"name": f"rail {n}", "distance": 98.0, "angle": n} for n in range(9)]
    faults = []
    assert validate(ClearanceTable, {"line": many}, "clearance", Units(), faults) is None
    assert str(faults[0]) == "clearance, line: 9 of them; allowed: at most 8"
