"""What really happened at the crank is not what the plan says: another angle, another drill, too deep, a plug
welded in, or a hole that nobody wrote down. It is in the crank, so it is recorded, and all that follows reckons
with it.

What a hand would have done wrong: go on by a plan that nothing is true of any more, drill again where a hole is
already, calibrate a sound station because a hole was forgotten, sign a crank whose wall is too thin to hold."""

from __future__ import annotations

import cmath
import math
import re
import shlex

import pytest
from demo_shop import SECOND, DemoShop

ELSEWHERE = "2 rear, 250 deg, 12 mm drill, 14.5 mm deep"


@pytest.fixture
def shop(tmp_path):
    made = DemoShop(tmp_path)
    made.spun()
    return made


def should_read(said):
    """What the station is told to read next: front and rear."""
    found = re.search(r"should then read about (\S+) front and (\S+) rear", said)
    return found[1], found[2]


def test_a_hole_at_another_angle_ends_the_plan_and_the_next_spin_is_told(shop):
    planned = should_read(shop.at_station("holes"))
    said = shop.at_station("holes", "--did", ELSEWHERE, "--by", "AB")
    assert "done, not in the plan: 2 rear, at station 250.0°, crank 250.0°" in said
    assert "Spin before going on: something was done to the crank that is not in the plan" in said
    assert should_read(said) != planned
    assert "spin before going on" in shop.refused_at_station("holes", "--done")
    # The crank reads as it was told it would: nothing is in doubt, and the next plan keeps clear of that hole.
    front, rear = should_read(said)
    shop.at_station("spin", front, rear)
    state = shop.state()
    assert state["withheld"] == []
    assert [len(one["drilled_before"]) for one in state["spins"]] == [0, 1]
    assert all(
        one["member"] != "2 rear" or abs(one["crank_angle_deg"] - 250) > 8 for one in state["plan"]["operations"]
    )


def test_a_hole_of_the_plan_that_is_told_in_words_is_the_plans_own(shop):
    one = shop.state()["plan"]["operations"][0]
    text = (
        f"{one['member']}, {one['crank_angle_deg']} deg, {one['diameter_mm']} mm drill, {one['depth_mm']} mm deep"
    )
    said = shop.at_station("holes", "--did", text)
    assert "not in the plan" not in said
    assert [one["done"] is not None for one in shop.state()["plan"]["operations"]] == [True, False]
    shop.at_station("holes", "--done")
    assert len(shop.ids("hole")) == 2


def test_the_same_hole_told_twice_is_refused_and_deeper_counts_what_is_between(shop):
    shop.at_station("holes", "--did", ELSEWHERE)
    said = shop.refused_at_station("holes", "--did", ELSEWHERE)
    assert "2 rear, the crank's 250°: is in the crank already" in said
    once = shop.records()[-1]["removes_gmm"]
    shop.at_station("holes", "--did", ELSEWHERE.replace("14.5", "20"))
    assert 0 < shop.records()[-1]["removes_gmm"] < once


def test_several_things_told_at_once_are_one_step_and_one_wrong_keeps_out_all(shop):
    wrong = shop.refused_at_station("holes", "--did", ELSEWHERE, "--did", "9 rear, 10 deg, took 3 g, 80 mm radius")
    assert "the [crank] has no '9 rear'; allowed: 1 front" in wrong
    did = ("--did", ELSEWHERE, "--did", "4 rear, 10 deg, took 3 g, 80 mm radius")
    shop.at_station("holes", *did, "--did", "1 front, 150 deg, added 2 g, 80 mm radius")
    assert [one["kind"] for one in shop.records()[-3:]] == ["radial", "took", "added"]
    shop.must("strike", "--last", "--yes")
    assert shop.ids("hole") == []


def test_a_slug_is_recorded_by_what_the_scale_says(shop):
    text = "1 front, 180 deg, 16 mm slug, 20 mm long, 78 mm radius, {} g"
    shop.at_station("holes", "--did", text.format(70))
    light = shop.records()[-1]["removes_gmm"]
    shop.must("strike", "--last", "--yes")
    shop.at_station("holes", "--did", text.format(71))
    assert light - shop.records()[-1]["removes_gmm"] == pytest.approx(78.0)  # a gram at its radius


def test_a_hole_too_deep_is_recorded_and_nothing_is_signed_before_somebody_qualified_looked(shop):
    plan = shop.state()["plan"]["operations"]
    depth = "44"
    said = shop.at_station("holes", "--did", f"4 front, 35 deg, 12 mm drill, {depth} mm deep")
    assert "below 52.0 mm there may be fillets or oil ways" in said
    assert "can break at speed: nobody runs it before" in said
    assert plan
    shop.at_station("spin", *SECOND)
    shop.at_station("test-mass", "--mass", 50, "--radius", 100, "--plane", "front", "--at", 120, *hung(120))
    refused = shop.refused_at_station("sign", "--by", "AB")
    assert "whoever is qualified has to look at it" in refused
    command = re.search(r"(holes \S+ --station \S+ --looked-at \S+) --by", refused)[1]
    assert "blank" in shop.run(*shlex.split(command))[1]
    assert "breaks no limit" in shop.refused_at_station(
        "holes", "--looked-at", shop.ids("spin")[0], "--by", "QA", "--why", "sound"
    )
    status, said = shop.run(*shlex.split(command), "--by", "QA", "--why", "dye check: clear of the oil way")
    assert status == 0, said
    shop.at_station("sign", "--by", "AB")
    assert shop.state()["signed"]
    # What let it be is taken back: the signature does not outlive it.
    shop.must("strike", "--last", "--yes")
    shop.must("strike", "--last", "--yes")
    assert "whoever is qualified" in shop.refused_at_station("sign", "--by", "AB")


def hung(at_deg):
    """What the station shows of SECOND's crank with 50 g at 100 mm on the front plane."""
    own = sum(cmath.rect(0.4, math.radians(one)) for one in (20, 25)) / 2
    both = own + cmath.rect(50, math.radians(at_deg))
    return f"{abs(both):.3f}@{math.degrees(cmath.phase(both)) % 360:.2f}", "0.3@228"


def test_outside_the_counterweight_is_recorded_and_told_for_what_it_means(shop):
    said = shop.at_station("holes", "--did", "1 front, 10 deg, 12 mm drill, 10 mm deep")
    assert "the [crank] has no metal of 1 front: the angle is wrong, or the [crank] is" in said


def test_a_forgotten_hole_is_one_of_the_causes_and_recorded_late_it_explains_the_spin(tmp_path):
    honest, forgetful = DemoShop(make(tmp_path / "a")), DemoShop(make(tmp_path / "b"))
    for one in (honest, forgetful):
        one.spun()
        one.at_station("holes", "--done")
    # One hole more is in both cranks; only one of them has it in its log.
    front, rear = should_read(honest.at_station("holes", "--did", "4 front, 30 deg, 16 mm drill, 15 mm deep"))
    for one in (honest, forgetful):
        one.at_station("spin", front, rear)
    assert honest.state()["withheld"] == []
    said = forgetful.at_station("spins")
    assert "was a hole drilled that is not recorded" in said
    command = re.search(r"not recorded: truethrow (holes .*)", said)[1]
    words = shlex.split(command)
    words[words.index("--did") + 1] = "4 front, 30 deg, 16 mm drill, 15 mm deep"
    status, said = forgetful.run(*words)
    assert status in (0, 1), said
    state = forgetful.state()
    assert state["withheld"] == []
    assert [len(one["drilled_before"]) for one in state["spins"]] == [0, 3]
    assert state["plan"]["operations"] == honest.state()["plan"]["operations"]
    assert "there is no such spin; allowed: 1, 2" in forgetful.refused_at_station(
        "holes", "--did", ELSEWHERE, "--before", 7
    )


def make(folder):
    folder.mkdir()
    return folder


def test_a_hole_recorded_late_ends_what_was_signed_without_it(shop):
    shop.at_station("holes", "--done")
    shop.at_station("spin", *SECOND)
    shop.at_station("sign", "--by", "AB")
    shop.at_station("holes", "--did", "4 front, 30 deg, took 0.2 g, 80 mm radius", "--before", 2)
    assert shop.state()["signed"] is None
    shop.at_station("sign", "--by", "AB")
    assert shop.state()["signed"]["names"]


def test_what_cannot_be_said_together_is_refused(shop):
    assert "can't be combined" in shop.refused_at_station("holes", "--did", ELSEWHERE, "--done")
    assert "goes with --did only" in shop.refused_at_station("holes", "--before", 1)


def test_a_note_from_the_bench_is_recorded_as_it_was_meant_and_a_bare_word_is_not(shop):
    """In a shop of millimeters a half-inch drill is typed as a fraction, and as .500: that is no drill of half a
    millimeter. What says nothing certain is refused with what to type, and nothing is written."""
    shop.at_station("holes", "--did", '2 rear at 250, 1/2" drill, 14.5 deep')
    hole = shop.state()["drilled_since"][0]
    assert (hole["member"], hole["crank_angle_deg"], hole["diameter_mm"]) == ("2 rear", 250.0, pytest.approx(12.7))
    for note, mend in (
        ("2 rear at 200, .500 drill, 14.5 deep", "0.500 in drill"),
        ("2 rear at 200, plugged", "added 6.5 g, 80 mm radius"),
        ("2 rear at 200, ground", "took 4.2 g, 80 mm radius"),
        ("2 rear at 160 ccw, 12 drill, 8 deep", "200 deg, if it is against it"),
    ):
        assert mend in shop.refused_at_station("holes", "--did", note)
