"""Between two spins the crank goes on the lathe, and the job file is edited: what was read before is of the crank
as it was, so nothing orders a hole, a proof or a signature by it before it is spun again. A slip of the pen that
is mended is an edit like any other; it costs one spin, or is taken back."""

from __future__ import annotations

import cmath
import json
import math
import re
import shlex
import tomllib

import invented
import pytest
from demo_shop import FIRST, SECOND, DemoShop

OTHERWISE = "the [crank] in the job is not as it was at spin 1 ("
# What the lathe leaves: other readings than before it.
AFTER = ("9.1@203", "7.0@169", "9.0@204", "7.1@169")


@pytest.fixture
def shop(tmp_path):
    return DemoShop(tmp_path)


def edit(shop, old, new, count=-1):
    text = shop.file.read_text(encoding="utf-8")
    assert old in text
    shop.file.write_text(text.replace(old, new, count), encoding="utf-8")


def turned(shop, to_mm=88.0):
    """The lathe's bench, then the hand in the job file."""
    shop.at_station("turn", "--to", f"{to_mm:g}mm")
    edit(shop, "outer_radius = 90.0", f"outer_radius = {to_mm}")


def with_masses(*readings):
    """What the station shows with the two known masses that are told, by vectors."""

    def read(at):
        amount, angle = map(float, at.split("@"))
        return cmath.rect(amount, math.radians(angle))

    own = [sum(map(read, readings[at::2])) / len(readings[at::2]) for at in (0, 1)]
    shown = (one + read(mass) for one, mass in zip(own, ("150@30", "100@120"), strict=True))
    return [f"{abs(one):.2f}@{math.degrees(cmath.phase(one)) % 360:.2f}" for one in shown]


def prove(shop, *readings):
    on = ["--front", "150g@30", "--rear", "100g@120", "--radius", "100mm"]
    return shop.at_station("test-mass", *on, *with_masses(*readings))


def orders_nothing(shop):
    """No screen, no card and no refusal goes on from the old spin; what it says is why."""
    state = shop.state()
    assert (state["plan"], state["inside"], state["signed"]) == (None, False, None)
    assert state["withheld"][0].startswith(OTHERWISE)
    assert [one["counts"] for one in state["spins"]] == [False]
    told = shop.at_station("next")
    assert told == shop.must("next") or "truethrow spin " in told
    assert "truethrow holes" not in told
    assert "put [crank] back as it was" in told
    for said in (
        shop.at_station("holes"),
        shop.refused_at_station("holes", "--done"),
        shop.refused_at_station("sign", "--by", "AB"),
        shop.refused_at_station("holes", "--unproved", "--by", "AB", "--why", "no hole for a mass"),
    ):
        assert OTHERWISE in said.replace("The [crank]", "the [crank]")
        assert "drill 16 mm" not in said
    cards = shop.file.with_name("cards")
    shop.at_station("cards", "--only", "station", "--into", cards)
    card = "".join(path.read_text(encoding="utf-8") for path in cards.glob("*.html"))
    assert ("SPIN AGAIN" in card, "drill 16" in card) == (True, False)


def test_a_crank_is_turned_and_spun_again(shop):
    """The spin of the crank as it is has the holes planned in what the lathe left, once the station is proved for
    the crank that went back on its supports."""
    shop.spun()
    assert "drill 16 mm" in shop.at_station("holes")
    turned(shop)
    orders_nothing(shop)
    told = shop.at_station("holes")
    assert "outer_radius of 1 front 90 → 88 mm" in told
    assert "and 5 more" in told
    assert "first a spin without it: truethrow spin" in shop.refused_at_station(
        "test-mass", "--mass", "50", "--radius", "100", "--plane", "front", "--at", "90", *AFTER[:2]
    )
    said = shop.refused_at_station("spin", *AFTER, "--turned")
    assert "the [crank] in the job has changed since the spin that they belong to" in said
    said = shop.at_station("spin", *AFTER)
    assert "No test mass has agreed" in said
    assert "and the crank as it is: one did before the [crank] was edited" in said
    assert "nothing was done to the crank" not in said
    assert [one["counts"] for one in shop.state()["spins"]] == [False, True]
    assert "of the crank as it was, before its [crank] was edited in the job" in shop.at_station("spins")
    assert "agree" in prove(shop, *AFTER)
    holes = json.loads(shop.at_station("holes", "--json"))["plan"]["operations"]
    assert holes
    assert {one["radius_mm"] for one in holes if one["kind"] == "radial"} == {88.0}
    assert "truethrow holes" in shop.at_station("next")


def test_what_was_drilled_before_stays_in_the_crank(shop):
    """Drilled, turned and drilled again: the old holes are known, and no new one is put into them."""
    shop.spun()
    shop.at_station("holes", "--done")
    before = [one.split(" (")[0] for one in shop.at_station("spins").splitlines() if "done since: " in one]
    turned(shop, 86.0)
    said = shop.at_station("spin", *AFTER)
    assert "doesn't match the holes drilled" not in said
    prove(shop, *AFTER)
    assert len(before) == len(shop.ids("hole")) == 2
    told = shop.state()["plan"]["operations"]
    old = [one for one in shop.records() if one["action"] == "hole"]
    for one in told:
        for other in old:
            if one["member"] == other["member"]:
                apart = abs((one["crank_angle_deg"] - other["angle_deg"] + 180) % 360 - 180)
                assert math.radians(apart) * 86 > (one["diameter_mm"] + other["diameter_mm"]) / 2


def test_what_was_drilled_and_not_yet_recorded_is_recorded_with_the_edit_taken_back(shop):
    shop.spun()
    told = shop.state()["plan"]["operations"]
    turned(shop)
    assert "what was drilled after spin 1 is not recorded yet" in shop.refused_at_station("holes", "--done")
    edit(shop, "outer_radius = 88.0", "outer_radius = 90.0")
    shop.at_station("holes", "--done")
    edit(shop, "outer_radius = 90.0", "outer_radius = 88.0")
    assert len(shop.ids("hole")) == len(told)
    assert OTHERWISE in shop.state()["withheld"][0]


def test_an_edit_that_is_taken_back_changes_nothing(shop):
    shop.spun()
    before = shop.state()
    text = shop.file.read_text(encoding="utf-8")
    turned(shop)
    orders_nothing(shop)
    shop.file.write_text(text, encoding="utf-8")
    assert shop.state() == before
    shop.at_station("holes", "--done")


def test_the_same_radius_in_inches_is_no_edit(shop):
    shop.spun()
    before = shop.state()
    edit(shop, "outer_radius = 90.0", 'outer_radius = "3.543307in"')
    assert shop.state()["withheld"] == []
    assert len(shop.state()["plan"]["operations"]) == len(before["plan"]["operations"])


def test_a_slip_that_is_mended_costs_one_spin_and_no_known_mass(shop):
    """Nothing was turned: the spin repeats the one before, so that what was proved and read before counts on."""
    edit(shop, "outer_radius = 90.0", "outer_radius = 91.0")
    shop.spun()
    edit(shop, "outer_radius = 91.0", "outer_radius = 90.0")
    orders_nothing(shop)
    shop.at_station("spin", *FIRST)
    state = shop.state()
    assert (state["withheld"], state["proved"]) == ([], True)
    assert [one["counts"] for one in state["spins"]] == [True, True]
    assert {one["radius_mm"] for one in state["plan"]["operations"] if one["kind"] == "radial"} == {90.0}
    shop.at_station("holes", "--done")


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("thickness = 24.0", "thickness = 22.0", "thickness of 1 front 24 → 22 mm"),
        ("from = 120", "from = 125", "from of 1 front 120 → 125 deg"),
        ("to = 240", "to = 230", "to of 1 front 240 → 230 deg"),
        (
            'to = 240\n\n[[crank.counterweight]]\nname = "1 rear"',
            'to = 240\n[[crank.counterweight.hole]]\nkind = "radial"\nangle = 180\ndiameter = 12\ndepth = 9\n\n'
            '[[crank.counterweight]]\nname = "1 rear"',
            "hole 1 angle of 1 front none → 180 deg",
        ),
        ('name = "1 front"', 'name = "nose"', "1 front came off, nose is new"),
    ],
)
def test_whatever_a_machine_takes_off_a_counterweight_asks_for_a_spin(shop, old, new, told):
    shop.spun()
    edit(shop, old, new, 1)
    assert told in shop.state()["withheld"][0]
    orders_nothing(shop)


@pytest.mark.parametrize(
    ("old", "new"), [("wall = 3.0", "wall = 4.0"), ("inner_radius = 52.0", "inner_radius = 60.0")]
)
def test_a_limit_that_is_mended_has_the_plan_named_and_no_spin(shop, old, new):
    """What may be drilled is another thing than what was spun."""
    shop.spun()
    edit(shop, old, new)
    assert shop.state()["withheld"] == []
    assert f"--plan {shop.state()['plan']['name']}" in shop.at_station("holes")


def test_what_is_asked_before_the_lathe_runs_again_goes_on_from_no_old_spin(shop):
    """Both planes from the last spin on would be those of the crank as it was."""
    shop.spun()
    turn = ("turn", "--to", "86mm", "--station", shop.station)
    asked = ("what-if", "--oil", "5", "--station", shop.station)
    for said in (shop.must(*turn), shop.must(*asked)):
        assert "rom the last spin" in said
        assert "Nothing here goes on from" not in said
    turned(shop)
    for command in (turn, asked):
        said, data = shop.must(*command), json.loads(shop.must(*command, "--json"))
        assert f"! Nothing here goes on from the last spin: {OTHERWISE}" in said
        assert "in balance now" in said
        assert "From the last spin" not in said
        own = data.get("lathe") or data["what_if"]
        assert own["crank_was_spun"] is False
        assert own["spin_not_counted"].startswith(OTHERWISE)
    shop.at_station("spin", *AFTER)
    for command in (turn, asked):
        assert "Nothing here goes on from" not in shop.must(*command)
        assert "rom the last spin" in shop.must(*command)


def test_what_is_asked_goes_on_from_no_spin_that_an_edited_profile_reads_otherwise(shop):
    shop.spun()
    text = shop.station.read_text(encoding="utf-8")
    assert "zero = 0.0 " in text
    shop.station.write_text(text.replace("zero = 0.0 ", "zero = 40.0 "), encoding="utf-8")
    said = shop.must("turn", "--to", "86mm", "--station", shop.station)
    assert "! Nothing here goes on from the last spin: the station's profile was edited since spin 1" in said


def test_a_signed_crank_that_is_turned_is_signed_no_more(shop):
    """As long as the job says so: put back, it is signed as before."""
    shop.signed()
    turned(shop)
    state = shop.state()
    assert (state["signed"], state["plan"]) == (None, None)
    assert state["void"][0].startswith("the [crank] in the job is not as it was at spin 2 (")
    assert "not as it was at spin 2" in shop.refused_at_station("sign", "--by", "AB")
    edit(shop, "outer_radius = 88.0", "outer_radius = 90.0")
    assert shop.state()["signed"]
    turned(shop)
    shop.at_station("spin", *SECOND)
    assert shop.state()["inside"]
    shop.at_station("sign", "--by", "AB")


def test_the_fixtures_part_is_proved_again_by_whoever_turns_the_crank(shop):
    """Turned runs that no known mass has proved are not believed by way of an edit."""
    shop.at_station("spin", *FIRST)
    shop.at_station("spin", "5.1@203", "4.0@169", "--turned")
    assert "the fixture was turned at spin 1" in shop.state()["withheld"][-1]
    turned(shop)
    shop.at_station("spin", *AFTER)
    assert "the fixture was turned at spin 1" in shop.state()["withheld"][-1]


BY_HAND = "1 front, 150 deg crank, 12 mm drill, 18 mm deep"


def pasted(shop, said, begins):
    """The commands of a refusal, run as they are, what a person fills in filled in."""
    (line,) = (one for one in said.splitlines() if begins in one)
    found = re.findall(r"(truethrow .*?)(?:\)|$)", line)
    for command in found:
        typed = command.replace("FRONT REAR", " ".join(AFTER))
        status, told = shop.run(*shlex.split(typed)[1:])
        assert status in (0, 1), told
    return found


def rim_of_the_hole(shop):
    (hole,) = (one for one in shop.records() if one["action"] == "hole")
    return hole["radius_mm"], hole["depth_mm"]


def test_a_hole_is_said_by_hand_after_the_edit_and_was_drilled_before_it(shop):
    """It is in the rim of 90 mm, and today's is another. With the edit put back it is recorded in that."""
    shop.spun()
    text = shop.file.read_text(encoding="utf-8")
    turned(shop)
    edited = shop.file.read_text(encoding="utf-8")
    for more in ((), ("--before", "1")):
        said = shop.refused_at_station("holes", "--did", BY_HAND, *more)
        assert "1 front: is not in the [crank] as at spin 1 (outer_radius of 1 front 90 → 88 mm)" in said
        assert "put [crank] back as it was at spin 1" in said
    shop.file.write_text(text, encoding="utf-8")
    said = shop.refused_at_station("holes", "--did", BY_HAND, "--before", "7")
    assert "no such spin" in said
    shop.file.write_text(edited, encoding="utf-8")
    said = shop.refused_at_station("holes", "--did", BY_HAND)
    shop.file.write_text(text, encoding="utf-8")
    assert len(pasted(shop, said, "if it was made before the edit")) == 1
    shop.file.write_text(edited, encoding="utf-8")
    assert rim_of_the_hole(shop) == (90.0, 18.0)
    orders_nothing(shop)
    shop.at_station("spin", *AFTER)
    prove(shop, *AFTER)
    assert shop.state()["withheld"] == []


def test_the_same_hole_is_recorded_at_the_spin_that_is_made_first(shop):
    """Measured anew from the rim as it is, it is in the crank at the next spin."""
    shop.spun()
    turned(shop)
    said = shop.refused_at_station("holes", "--did", BY_HAND)
    spin, hole = pasted(shop, said, "or spin first")
    assert (" spin " in spin, hole.endswith(f"--did '{BY_HAND}' --before 2")) == (True, True)
    assert rim_of_the_hole(shop) == (88.0, 18.0)
    prove(shop, *AFTER)
    state = shop.state()
    assert state["withheld"] == []
    assert [len(one["drilled_before"]) for one in state["spins"]] == [0, 1]


def test_a_hole_that_was_forgotten_before_a_spin_of_other_metal(shop):
    """Spin 2 is of the turned rim: what was drilled before spin 1 is recorded as it was then, or as it is now."""
    shop.spun()
    text = shop.file.read_text(encoding="utf-8")
    turned(shop)
    shop.at_station("spin", *AFTER)
    said = shop.refused_at_station("holes", "--did", BY_HAND, "--before", "1")
    assert "spin first" not in said
    edited = shop.file.read_text(encoding="utf-8")
    shop.file.write_text(text, encoding="utf-8")
    pasted(shop, said, "if it was made before the edit")
    shop.file.write_text(edited, encoding="utf-8")
    assert rim_of_the_hole(shop) == (90.0, 18.0)
    shop.must("strike", *shop.ids("hole"))
    assert len(pasted(shop, said, "as it is in the metal now")) == 1
    assert shop.records()[-1]["before"] == shop.ids("spin")[1]
    assert shop.records()[-1]["radius_mm"] == 88.0


def test_a_hole_in_metal_that_nobody_edited_is_recorded_whatever_else_was(shop):
    shop.spun()
    edit(shop, "outer_radius = 90.0", "outer_radius = 88.0", 1)
    assert OTHERWISE in shop.state()["withheld"][0]
    shop.at_station("holes", "--did", "1 rear, 150 deg crank, 12 mm drill, 5 mm deep")
    assert len(shop.ids("hole")) == 1
    said = shop.refused_at_station("holes", "--did", BY_HAND, "--did", "1 rear, 170 deg crank, took 4 g, rim")
    assert said.count("is not in the [crank] as at spin") == 1


def test_a_hole_before_a_spin_that_was_typed_with_a_slip_which_is_mended(shop):
    """Nothing was turned, as the repeated spin shows: the rim was today's at the first spin, too."""
    edit(shop, "outer_radius = 90.0", "outer_radius = 91.0")
    shop.spun()
    edit(shop, "outer_radius = 91.0", "outer_radius = 90.0")
    assert "as at spin 1" in shop.refused_at_station("holes", "--did", BY_HAND, "--before", "1")
    shop.at_station("spin", *FIRST)
    shop.at_station("holes", "--did", BY_HAND, "--before", "1")
    assert rim_of_the_hole(shop) == (90.0, 18.0)


def test_a_counterweight_of_a_new_name_has_metal_that_no_spin_saw(shop):
    shop.spun()
    edit(shop, 'name = "1 front"', 'name = "nose"', 1)
    said = shop.refused_at_station("holes", "--did", "nose, 150 deg crank, 12 mm drill, 5 mm deep")
    assert "nose: is not in the [crank] as at spin 1 (nose is new)" in said


def test_a_crank_that_is_described_after_the_spin_takes_its_holes(shop):
    """Nobody said anything of its metal before: nothing was edited."""
    text = shop.file.read_text(encoding="utf-8")
    job = tomllib.loads(text)
    del job["crank"]
    shop.file.write_text(invented.text(job), encoding="utf-8")
    shop.at_station("spin", *FIRST)
    shop.file.write_text(text, encoding="utf-8")
    shop.at_station("holes", "--did", "1 front, 150 deg crank, 12 mm drill, 5 mm deep")
    assert "with the crank as it is now: truethrow spin" in shop.at_station("next")
