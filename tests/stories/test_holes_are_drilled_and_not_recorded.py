"""A plan is drilled, and nobody records it; or a hole is recorded where it cannot be. A 90-degree V6 in a shop of
inches and ounces, whose station counts against the rotation: each through the command line."""

from __future__ import annotations

import cmath
import math
import re
import shlex

import inch_shop
import invented
import pytest
from engine_shop import DAMPER, Engine, member, true_crank

from truethrow.balance.correction import changed_by

WEIGHTS = (
    ("nose", -1.0, 200),
    ("A", 1.0, 180),
    ("B", 3.3, 60),
    ("C", 5.2, 300),
    ("D", 7.4, 150),
    ("tail", 9.4, 20),
)


def v6():
    made = inch_shop.document(
        job={"id": "six-in", "title": "Six in inches", "mass_unit": "oz", "length_unit": "in"},
        bobweight={"share": 0.5, "oil": 0.14, "hang": "own"},
        station={"limit": "0.25 oz in", "front_plane": -1.0, "rear_plane": 9.4},
    )
    made["engine"] |= {"layout": "v6-90-even", "cylinder_spacing": 4.2}
    made["cylinder"] = made["cylinder"][:6]
    size = {"thickness": 0.9, "outer_radius": 3.5, "inner_radius": 2.0}
    made["crank"] = {
        "counterweight": [
            {"name": name, "at": at, "from": (middle - 60) % 360, "to": (middle + 60) % 360} | size
            for name, at, middle in WEIGHTS
        ]
    }
    return made


@pytest.fixture
def shop(tmp_path):
    """Spun and proved: holes are planned."""
    made = inch_shop.Shop(tmp_path, invented.text(v6()))
    made.hidden = [cmath.rect(1500.0, 0.9), cmath.rect(1100.0, 4.1)]
    made.at("spin", *made.shows())
    assert "agree" in made.prove(made.at("next"))
    assert len(made.state().plan.operations) > 1
    return made


def the_record_that_next_offers(shop):
    (line,) = (one for one in shop.at("next").splitlines() if "--did" in one)
    assert re.match(r"Next: look at the crank: if (this one was|these \d were) drilled by the plan, record", line)
    return shlex.split(line[line.index("truethrow") :])


@pytest.mark.parametrize("spins", [1, 2])
def test_a_drilled_plan_that_nobody_recorded_is_offered_hole_by_hole(shop, spins):
    """Spun again it would only be confirmed: a second spin agrees, and the holes are in no record."""
    planned = shop.state().plan.operations
    shop.drilled()
    for _ in range(spins):
        said = shop.at("spin", *shop.shows())
        assert f"looks like: {len(planned)} holes are drilled but not recorded" in said
    assert "not signed: " in shop.at("sign", "--by", "AB")
    _, command, job, *more = the_record_that_next_offers(shop)
    assert (command, job, more[-2:]) == ("holes", str(shop.job), ["--before", "2"])
    shop.run(command, *more)
    state = shop.state()
    assert [len(spin.drilled) for spin in state.spins] == [0, len(planned), *[0] * (spins - 1)]
    for done, hole in zip(state.drilled, planned, strict=True):
        assert done.hole.removes_gmm == pytest.approx(hole.removes_gmm, rel=1e-4)
        assert (done.hole.member, done.hole.angle_deg) == (hole.member, hole.angle_deg)
    assert "Signed by AB" in shop.at("sign", "--by", "AB")


def test_holes_are_offered_behind_the_last_spin_that_was_without_them(shop):
    """Spun twice before the drill and twice after it: they are in no metal of the second spin."""
    shop.at("spin", *shop.shows())
    planned = shop.state().plan.operations
    shop.drilled()
    shop.at("spin", *shop.shows())
    shop.at("spin", *shop.shows())
    _, command, _, *more = the_record_that_next_offers(shop)
    assert more[-2:] == ["--before", "3"]
    shop.run(command, *more)
    assert [len(spin.drilled) for spin in shop.state().spins] == [0, 0, len(planned), 0]
    assert "Signed by AB" in shop.at("sign", "--by", "AB")


def some_drilled(shop, some):
    """Only some of the plan's holes, by their places."""
    planned = shop.state().plan.operations
    drilled = [planned[at] for at in some]
    change = changed_by(drilled, shop.state().planes_mm)
    shop.hidden = [was + by for was, by in zip(shop.hidden, change, strict=True)]
    return [(one.member, one.angle_deg) for one in drilled]


@pytest.fixture
def shop_of_many(tmp_path):
    made = inch_shop.Shop(tmp_path, invented.text(v6()))
    made.hidden = [cmath.rect(2600.0, 2.0), cmath.rect(2100.0, 5.0)]
    made.at("spin", *made.shows())
    made.prove(made.at("next"))
    assert len(made.state().plan.operations) == 5
    return made


@pytest.mark.parametrize("spins", [1, 2])
@pytest.mark.parametrize("some", [(0, 4), (1, 2), (0, 2, 3), (3,), (0, 1, 2, 3)])
def test_some_of_a_plans_holes_that_nobody_recorded_are_offered_and_no_other(shop_of_many, some, spins):
    """The shift ended after two of five: nothing was offered, and the spin could only be confirmed."""
    shop = shop_of_many
    drilled = some_drilled(shop, some)
    for _ in range(spins):
        said = shop.at("spin", *shop.shows())
        assert ("a hole is" if len(some) == 1 else f"{len(some)} holes are") + " drilled but not recorded" in said
    _, command, _, *more = the_record_that_next_offers(shop)
    shop.run(command, *more)
    state = shop.state()
    assert [(one.hole.member, one.hole.angle_deg) for one in state.drilled] == drilled
    assert [len(spin.drilled) for spin in state.spins] == [0, len(some), *[0] * (spins - 1)]


@pytest.mark.parametrize("some", [(0, 4), (1, 2, 3)])
def test_some_holes_that_are_recorded_and_were_not_drilled_are_named_to_be_canceled(shop_of_many, some):
    """The whole plan was ticked off at once; two of its holes were never made."""
    shop = shop_of_many
    drilled = some_drilled(shop, some)
    shop.at("holes", "--done")
    said = shop.at("spin", *shop.shows())
    assert f"{5 - len(some)} holes are recorded but not drilled" in said
    (line,) = (one for one in shop.at("next").splitlines() if "truethrow strike" in one)
    assert f"if these {5 - len(some)} are recorded and were not drilled, cancel them: " in line
    for one in line[line.index("truethrow strike") :].split("; "):
        _, command, _, *more = shlex.split(one)
        shop.run(command, *more)
    state = shop.state()
    assert [(one.hole.member, one.hole.angle_deg) for one in state.drilled] == drilled
    assert not any(one["why"] == "unanswered" for one in inch_shop.data(shop.at("spins", "--json"))["withheld"])


def test_ground_arcs_that_are_pasted_twice_are_recorded_once_unless_each_is_a_second_pass(tmp_path):
    """Pasted again, six arcs were recorded of the three that are ground."""
    profile = inch_shop.PROFILE[: inch_shop.PROFILE.index("[[drill]]")]
    grind = '[grind]\neach_pass = "0.01 in"\ndeepest = "0.25 in"\n'
    shop = inch_shop.Shop(tmp_path, invented.text(v6()), profile + grind)
    shop.hidden = [cmath.rect(1500.0, 0.9), cmath.rect(1100.0, 4.1)]
    shop.at("spin", *shop.shows())
    shop.prove(shop.at("next"))
    planned = shop.state().plan.operations
    assert {hole.kind for hole in planned} == {"grind"}
    shop.drilled()
    shop.at("spin", *shop.shows())
    _, command, _, *more = the_record_that_next_offers(shop)
    shop.run(command, *more)
    for _ in range(2):
        told = shop.run(command, *more)
        assert told.count("is this a second pass?") == len(planned)
        assert [len(spin.drilled) for spin in shop.state().spins] == [0, len(planned)]
    assert "Signed by AB" in shop.at("sign", "--by", "AB")
    again = next(line for line in told.splitlines() if "if each is a second pass: " in line)
    _, command, _, *more = shlex.split(again[again.index("truethrow") :])
    assert more[-3:] == ["--before", "2", "--sure"]
    shop.run(command, *more)
    assert [len(spin.drilled) for spin in shop.state().spins] == [0, 2 * len(planned)]


def test_nothing_is_offered_where_nothing_of_the_plan_explains_the_spin(shop):
    shop.hidden = [one * cmath.rect(1.0, 0.7) for one in shop.hidden]
    shop.at("spin", *shop.shows())
    assert "--did" not in shop.at("next")
    assert "truethrow spin" in shop.at("next")


def test_a_hole_that_was_recorded_at_the_wrong_counterweight_is_no_matter_for_whoever_looks_at_it_alone(shop):
    """There is no metal at that angle: the way on is to cancel it, too, and not only to have it let be."""
    hole = shop.state().plan.operations[0]
    other = "C" if hole.member == "B" else "B"
    words = f"{{}}, {hole.angle_deg:g} deg crank, 5/8 in drill, 1.2 in deep"
    assert f"has no metal of {other}" in shop.at("holes", "--did", words.format(other))
    looked_at, struck = shop.at("next").splitlines()[:2]
    assert looked_at.startswith("Next: if it is so, once whoever is qualified has looked at it: truethrow holes ")
    assert struck.startswith(
        "Next: if it was recorded wrong, cancel it, and record it as it is: truethrow strike "
    )
    _, command, job, number = shlex.split(struck[struck.index("truethrow") :])
    assert (command, job) == ("strike", str(shop.job))
    shop.run(command, number)
    shop.at("holes", "--did", words.format(hole.member))
    assert [one.hole.member for one in shop.state().drilled] == [hole.member]
    assert shop.state().beyond_limits == ()


def test_a_hole_in_the_crank_that_is_recorded_at_the_damper_which_is_off(tmp_path):
    """What the damper brings would be told without a hole that it does not have; the crank has it, and reads
    otherwise than before although nothing on it was drilled by the records."""
    damper = member(DAMPER, 900, 40, one_way=True)
    engine = Engine(tmp_path, [damper], [one + cmath.rect(700, 0.9) for one in true_crank(damper)])
    engine.spin_with()
    assert engine.hang_both(front=400, rear=240)[0] == 0
    hole = engine.state()["plan"]["operations"][0]
    at = f"{hole['crank_angle_deg']:g} deg crank, {hole['diameter_mm']:g} mm drill, {hole['depth_mm']:g} mm deep"
    assert engine.run("holes", "--did", f"damper, {at}")[0] == 0
    engine.take_off(
        hole["member"], cmath.rect(hole["removes_gmm"], math.radians(hole["crank_angle_deg"])), hole["z_mm"]
    )
    said = engine.spin_with()
    assert "reads otherwise than spin 1, and nothing was done to the crank between" in said
    engine.must_not_be_signed_or_drilled()
    # A hole that is in the damper indeed changes nothing at the station.
    engine.own = [one + cmath.rect(700, 0.9) for one in true_crank(damper)]
    engine.spin_with()
    assert engine.state()["withheld"] == []


@pytest.mark.parametrize("how", ["took", "added"])
def test_grams_that_are_pasted_twice_are_recorded_once_unless_it_is_a_second_pass(shop, how):
    """Pasted again, twice the grams were recorded of what came off."""
    words = f"B, 60 deg crank, {how} 0.15 oz, 3.2 in radius"
    shop.at("holes", "--did", words)
    recorded = [one.hole for one in shop.state().drilled]
    assert len(recorded) == 1
    happened = "came off" if how == "took" else "were put on"
    for again in ([words], [words.replace("0.15", "0.16")], [words, words]):
        told = shop.at("holes", *(part for one in again for part in ("--did", one)))
        assert told.count(f"0.15 oz {happened} there already (record ") == len(again)
        assert [one.hole for one in shop.state().drilled] == recorded
    line = next(line for line in shop.at("holes", "--did", words).splitlines() if "truethrow" in line)
    _, command, _, *more = shlex.split(line[line.index("truethrow") :])
    assert more[-1] == "--sure"
    shop.run(command, *more)
    assert [one.hole for one in shop.state().drilled] == recorded * 2


def test_the_command_for_a_second_pass_keeps_who_did_it(shop):
    words = "B, 60 deg crank, took 0.15 oz, 3.2 in radius"
    shop.at("holes", "--did", words, "--by", "AB")
    told = shop.at("holes", "--did", words, "--by", "CD")
    _, command, _, *more = shlex.split(told[told.index("truethrow holes") :])
    assert more[-3:] == ["--sure", "--by", "CD"]
    shop.run(command, *more)
    assert [one.record.by for one in shop.state().drilled] == ["AB", "CD"]


def test_grams_that_are_said_twice_in_one_command_are_asked_back(shop):
    words = "B, 60 deg crank, took 0.15 oz, 3.2 in radius"
    assert "came off there already (said twice): is this" in shop.at("holes", "--did", words, "--did", words)
    assert shop.state().drilled == ()
