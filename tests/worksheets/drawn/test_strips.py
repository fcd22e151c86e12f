"""A kind's parts on a strip: linear in grams, each with its name."""

from __future__ import annotations

import math

import invented
import pytest
from drawings import SVG, centre_of, checked, job_of

from truethrow.balance.crank.crank import Arc, Member
from truethrow.balance.engine.layout import GENERIC, generic_layout
from truethrow.balance.result.work import work
from truethrow.worksheets.drawn import strips
from truethrow.worksheets.drawn.lettering import TEXT, wide_mm
from truethrow.worksheets.shown.display import Display

METRIC = Display("g", "mm", 0.1)


INCH = Display("oz", "in", 0.0035)


def parts(root, name, tag=None):
    """The elements of a drawing that stand for something."""
    return [one for one in root.iter() if one.get("data-part") == name and tag in (None, one.tag)]


def member(name="2 rear", middle_deg=180.0, span_deg=120.0, **more):
    arc = Arc((middle_deg - span_deg / 2) % 360, span_deg)
    return Member(name, 22.0, 24.0, 90.0, 52.0, (arc,), 0.00785, "rear", math.inf, math.inf, **more)


def expanded(result, spread):
    return {name: result.certainty.expanded_g(mass) for name, mass in spread.members.items()}


@pytest.mark.parametrize("show", [METRIC, INCH])
@pytest.mark.parametrize("name", [name for name in GENERIC if name not in ("inline-1", "v8-90-flatplane")])
def test_a_strip_is_linear_in_grams(name, show):
    result = work(job_of(name))
    for spread in result.spreads:
        sure = expanded(result, spread)
        wide = checked(strips.strip(spread, sure, show, 165.0))
        assert len(parts(wide, "member")) == len(spread.members)
        root = checked(strips.strip(spread, sure, show))
        marks = sorted(centre_of(one)[0] for one in parts(root, "member"))
        grams = sorted(mass.value_g for mass in spread.members.values())
        left, right = marks[0], marks[-1]
        for x, value in zip(marks, grams, strict=True):
            wanted = (value - grams[0]) * (right - left)
            assert (x - left) * (grams[-1] - grams[0]) == pytest.approx(
                wanted, abs=0.02 * (grams[-1] - grams[0]) + 1e-9
            )
        if spread.limit_g is not None and spread.spread_g:
            (band,) = parts(root, "limit")
            mm_for_a_gram = (right - left) / spread.spread_g
            assert float(band.get("width")) == pytest.approx(spread.limit_g * mm_for_a_gram, abs=0.02)
            assert float(band.get("x")) + float(band.get("width")) / 2 == pytest.approx(
                (left + right) / 2, abs=0.02
            )
            ticks = [float(one.get("x1")) for one in parts(root, "tick")]
            said = [float(one.text) for one in root.iter(f"{SVG}text") if one.get("class") == "scale"]
            factor = {"g": 1.0, "oz": 28.349523125}[show.mass_unit]
            for x, text in zip(ticks, said, strict=True):
                assert (x - left) / mm_for_a_gram == pytest.approx(text * factor - grams[0], abs=0.01)


def test_members_that_are_all_alike_keep_their_names_apart():
    job = invented.build(invented.document(limits={"piston": 1.0}))
    result = work(job)
    spread = next(one for one in result.spreads if one.quantity == "piston")
    assert spread.spread_g == 0
    root = checked(strips.strip(spread, expanded(result, spread), METRIC))
    marks = [centre_of(one) for one in parts(root, "member")]
    assert len({x for x, _ in marks}) == 1 and len(set(marks)) == 8
    assert not parts(root, "heaviest")
    assert {str(n) for n in range(1, 9)} <= {one.text for one in root.iter(f"{SVG}text")}


@pytest.mark.parametrize("name", ["v8-90-crossplane", "v10-72", "v12-60", "inline-6", "v6-60-even"])
@pytest.mark.parametrize("of", [3, 4, 5, 8, 12])
def test_no_leader_is_near_a_name_that_it_is_not_of(name, of):
    """A line before a 6 is read as 16. of: how many masses there are."""
    layout = generic_layout(name)
    changes = {"piston": {n: 538.0 + 0.3 * ((5 * n) % of) for n in layout.cylinders}}
    engine = invented.V8 | {"layout": name, "cylinder_spacing": 112.0}
    result = work(
        invented.build(invented.document(invented.cylinders(len(layout.cylinders), **changes), engine=engine))
    )
    spread = next(one for one in result.spreads if one.quantity == "piston")
    root = checked(strips.strip(spread, expanded(result, spread), METRIC))
    leaders = [
        [tuple(map(float, at.split(","))) for at in one.get("points").split()] for one in parts(root, "leader")
    ]
    named = [one for one in root.iter(f"{SVG}text") if one.text in spread.members]
    assert len(named) == len(spread.members) and 1 <= len(leaders) <= len(named)
    for one in named:
        left, y = float(one.get("x")), float(one.get("y"))
        triangle_mm = 3.4 if one.get("font-weight") == "bold" else 0.0
        right = left + wide_mm(one.text, TEXT)
        for (x, from_y), (_, to_y), *_ in leaders:
            if from_y < y < to_y:
                assert x <= left - triangle_mm - 0.5 or right + 0.5 <= x, (one.text, x)


def test_all_that_are_the_heaviest_say_so():
    changes = {
        "piston": {n: 538.0 + (0.1 + 0.2 if n in (2, 4, 5) else 0.3 if n == 6 else 0.0) for n in range(1, 9)}
    }
    result = work(invented.build(invented.document(invented.cylinders(**changes))))
    spread = next(one for one in result.spreads if one.quantity == "piston")
    root = checked(strips.strip(spread, expanded(result, spread), METRIC))
    assert (len(parts(root, "heaviest")), len(parts(root, "lightest"))) == (4, 4)


@pytest.mark.parametrize(("limit", "fill"), [(None, None), (0.1, "#000000"), (1.0, None)])
def test_the_verdict_of_a_strip_is_told_by_its_weight(limit, fill):
    changes = {"piston": {n: 538.0 + 0.1 * n for n in range(1, 9)}}
    limits = {"piston": limit} if limit else {}
    result = work(invented.build(invented.document(invented.cylinders(**changes), limits=limits)))
    spread = next(one for one in result.spreads if one.quantity == "piston")
    root = checked(strips.strip(spread, expanded(result, spread), METRIC))
    said = [one.text for one in root.iter(f"{SVG}text")]
    assert (spread.verdict in said) == (limit is not None)
    black = [one for one in root.iter(f"{SVG}rect") if one.get("fill") == "#000000"]
    assert bool(black) == (fill is not None)
    assert len(parts(root, "lightest")) == len(parts(root, "heaviest")) == 1
