"""Drawings in text: what must be seen is there, at its place."""

import cmath
import math
from types import SimpleNamespace

import invented
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from typer.testing import CliRunner

from truethrow.balance import demo
from truethrow.balance.engine.layout import GENERIC, generic_layout
from truethrow.balance.result.work import work
from truethrow.balance.station import balancing, stationwork
from truethrow.balance.station.spin import Measured
from truethrow.cli.main import app
from truethrow.worksheets.shown import strokes
from truethrow.worksheets.shown.display import Display

SHOW = Display("g", "mm", 0.1)


def find(lines, text):
    return next((line.index(text), y) for y, line in enumerate(lines) if text in line)


def test_end_view_has_throws_where_they_are():
    lines = strokes.end_view(generic_layout("v8-90-crossplane"))
    at = {name: find(lines, name) for name in "1234"}
    assert at["1"][1] < at["2"][1] < at["4"][1]
    assert at["3"][0] < at["1"][0] == at["4"][0] < at["2"][0]
    assert at["2"][1] == at["3"][1]


@pytest.mark.parametrize("name", sorted(GENERIC))
def test_every_layout_is_drawn_whole(name):
    layout = generic_layout(name, 100.0)
    end, side = strokes.end_view(layout), strokes.side_view(layout)
    for throw in layout.throws:
        assert any(throw.name in line for line in end)
        assert any(f"({throw.name})" in line for line in side)
    carried = "".join(side[-1].split()).split(",")
    assert sum(len(layout.cylinders_on(throw)) for throw in layout.throws) == len(layout.places)
    assert carried
    assert max(map(len, side)) <= 120


def test_side_view_goes_from_the_front_to_the_rear():
    side = strokes.side_view(generic_layout("inline-6", 100.0))
    places = [find(side, f"({n})")[0] for n in range(1, 7)]
    assert places == sorted(places)
    assert find(side, "(1)")[1] < find(side, "(2)")[1]


def test_polar_puts_up_up_and_right_where_angles_grow():
    up, right = strokes.polar([10 + 0j]), strokes.polar([10j])
    assert find(up, "o") == (19, 1)
    assert find(right, "o") == (37, 10)


def test_polar_of_nothing_is_an_empty_ring():
    assert not any("o" in line for line in strokes.polar([0j, 0j]))


def test_polar_of_a_circle_is_round():
    lines = strokes.polar([cmath.exp(1j * math.radians(a)) for a in range(360)])
    marks = [(x, y) for y, line in enumerate(lines) for x, c in enumerate(line) if c == "o"]
    assert all(math.hypot((x - 19) / 2, y - 10) == pytest.approx(9, abs=0.8) for x, y in marks)


def test_beside_keeps_tops_level():
    assert strokes.beside(["a", "bb"], ["c"], gap=1) == ["a  c", "bb"]


def spread_of(pistons, limit=1.0):
    limits = {"piston": limit} if limit else {}
    cylinders = invented.cylinders(piston=dict(enumerate(pistons, start=1)))
    result = work(invented.build(invented.document(cylinders, limits=limits)))
    found = next(one for one in result.spreads if one.quantity == "piston")
    return found, {name: result.certainty.expanded_g(mass) for name, mass in found.members.items()}


@given(st.lists(st.integers(5300, 5400), min_size=8, max_size=8), st.sampled_from([None, 0.5, 3.0]))
def test_a_strip_has_every_member_over_its_mass(tenths, limit):
    assume(len(set(tenths)) > 1)
    spread, sure = spread_of([g / 10 for g in tenths], limit)
    lines = strokes.strip(spread, sure, SHOW)
    above = len(lines) - (3 if limit else 2)
    names, marks, ends = lines[:above], lines[above], lines[-1]
    assert max(map(len, lines)) <= 70
    assert all("".join(names).count(str(n)) == 1 for n in range(1, 9))
    low, high = strokes.reach(spread, sure)
    for name, mass in spread.members.items():
        column = round(round((mass.value_g - low) / (high - low) * 69, 6))
        assert marks[column] == "o"
        assert name in "".join(row[column : column + 1] for row in names)
    assert marks.count("o") == len({marks_at(spread, low, high, name) for name in spread.members})
    assert f"{max(tenths) / 10:.1f} g" in ends and (f"{min(tenths) / 10:.1f}" in ends)


def marks_at(spread, low, high, name):
    return round(round((spread.members[name].value_g - low) / (high - low) * 69, 6))


def test_parts_that_all_weigh_the_same_are_one_line():
    assert strokes.strip(*spread_of([538.0] * 8, 1.0), SHOW) == ["all 538.0 g"]


def test_the_band_of_a_strip_is_as_wide_as_the_limit():
    spread, sure = spread_of([538.0, 538.1, 538.2, 538.3, 538.4, 538.5, 538.6, 540.0], 1.0)
    low, high = strokes.limit_band(spread)
    assert (low, high) == pytest.approx((538.5, 539.5))
    band = strokes.strip(spread, sure, SHOW)[-2]
    first, last = strokes.reach(spread, sure)
    for grams, bracket in ((low, "["), (high, "]")):
        assert band.index(bracket) == pytest.approx((grams - first) / (last - first) * 69, abs=0.51)


def test_a_strip_without_a_limit_has_no_band():
    assert not any("[" in line for line in strokes.strip(*spread_of([538.0 + n for n in range(8)], None), SHOW))


def spun(*vectors, limit=130.0):
    found = tuple(
        SimpleNamespace(number=n, front=Measured(v, 15.0, 15.0), rear=Measured(-v, 15.0, 15.0))
        for n, v in enumerate(vectors, start=1)
    )
    return SimpleNamespace(counted=found, limits_gmm=(limit, limit))


def test_spins_are_at_their_angles_and_amounts():
    _, rings, *lines = strokes.spins(spun(600 + 0j, 300j, -100 + 0j, limit=130.59), "front", SHOW)
    assert "outer ring (·) 600 g·mm" in rings and "inner ring (:) 130.5 g·mm, the tolerance" in rings
    assert find(lines, "0°") == (20, 0)
    assert find(lines, "1") == (21, 1)
    assert find(lines, "2") == (30, 10)
    x, y = find(lines, "3")
    assert x == 21 and y in (11, 12)
    turned = strokes.spins(spun(600 + 0j), "rear", SHOW)[2:]
    assert find(turned, "1") == (21, 19)


def test_the_tolerance_is_a_ring_of_its_size():
    lines = strokes.spins(spun(260 + 0j), "front", SHOW)[2:]
    ring = [(x, y) for y, line in enumerate(lines) for x, c in enumerate(line) if c == ":"]
    assert all(math.hypot((x - 21) / 2, y - 10) == pytest.approx(4.5, abs=0.8) for x, y in ring)


def test_no_spin_is_the_tolerance_alone():
    _, rings, _, *lines = strokes.spins(spun(), "front", SHOW)
    assert "outer ring (·) 169" in rings and not any(c.isdigit() for line in lines for c in line)


@pytest.fixture
def launch(tmp_path):
    """The demo's launch with its readings and a spin."""
    job, sheet = demo.copy_into(tmp_path)
    assert CliRunner().invoke(app, ["enter", str(job), str(sheet)]).exit_code == 0
    station = tmp_path / "station.toml"
    stationwork.spin(job, balancing.load(job, station), ["6.1@203", "5.0@169", "6.0@204", "5.1@169"])
    return job, station


def test_check_shows_the_strips_beside_the_tables(launch):
    job, _ = launch
    done = CliRunner().invoke(app, ["check", str(job), "--picture"])
    plain = CliRunner().invoke(app, ["check", str(job)])
    assert done.exit_code == plain.exit_code == 1
    tables, next_step = plain.stdout[: (ends := plain.stdout.index("Next: "))], plain.stdout[ends:]
    assert done.stdout.startswith(tables) and done.stdout.endswith(next_step)
    pictures = done.stdout.removeprefix(tables).removesuffix(next_step)
    assert pictures.count(", by cylinder") + pictures.count(", by throw") == 8
    assert "piston, by cylinder, OUTSIDE" in pictures and "534.1" in pictures and "538.9 g" in pictures


def test_spins_shows_both_planes_above_the_tables(launch):
    job, station = launch
    done = CliRunner().invoke(app, ["spins", str(job), "--station", str(station), "--picture"])
    plain = CliRunner().invoke(app, ["spins", str(job), "--station", str(station)])
    assert done.exit_code == plain.exit_code == 1
    assert done.stdout.endswith(plain.stdout)
    picture = done.stdout.removesuffix(plain.stdout)
    assert "front plane, " in picture and "rear plane, " in picture
    assert "outer ring (·) 605 g·mm" in picture and "outer ring (·) 505 g·mm" in picture


@pytest.mark.parametrize("command", ["check", "spins"])
def test_a_picture_is_no_data(launch, command):
    job, station = launch
    more = ["--station", str(station)] if command == "spins" else []
    done = CliRunner().invoke(app, [command, str(job), *more, "--picture", "--json"])
    assert "--picture" in str(done.exception) and not done.stdout
