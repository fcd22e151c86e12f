"""A hand takes metal off a part that no plan asked for. It is off, so it is recorded: the old reading of the part
counts no more, and what is left of its pad is less.

What a hand would have done wrong: go on with a reading that is no longer true, grind a pad below what its maker
allows because nobody counted what came off before, type 12 for 1.2."""

from __future__ import annotations

import json

import commands
import pytest
from demo_shop import DemoShop


@pytest.fixture
def shop(tmp_path):
    return DemoShop(tmp_path)


def test_its_reading_is_history_until_it_is_weighed_again_and_its_pad_has_less_left(shop):
    said = shop.must("ground", "piston", "P28", "--took", "1.2", "--by", "AB")
    assert "recorded: piston P28 (sits in 1), 1.2 g came off" in said
    assert "piston P28 (sits in 1): cut since; weigh it again" in shop.refuses("trim")
    assert "piston P28" in shop.refuses("ground", "piston", "P28")
    shop("weigh", stdin="go 1 piston\n536.9\n536.9\n")
    assert [one["grams"] for one in shop.records() if one["action"] == "read"][:1] == [536.9]
    shop.must("trim")
    # 6 g may come off a piston, and 1.2 g did.
    assert "5 g is more than may come off there, 4.8 g" in shop.refuses("ground", "piston", "P28", "--took", "5")


@pytest.mark.parametrize(
    ("typed", "grams"), [("0.05", 0.05 * 28.349523125), ("0.05oz", 0.05 * 28.349523125), ("1.2 g", 1.2)]
)
def test_a_bare_mass_is_in_the_unit_that_the_job_is_weighed_in(tmp_path, typed, grams):
    """0.05 off an ounce scale is 1.4 g (avoirdupois ounce, exact), and was taken for 0.05 g."""
    ran = commands.in_folder(tmp_path)
    said = ran("new", "inline-4", "ounces.toml", "--unit", "oz", "--step", "0.005")
    assert said.status == 0
    said = ran("ground", "ounces.toml", "piston", "3", "--took", typed)
    assert said.status == 0, said.err
    assert "oz came off" in said.out
    log = (tmp_path / "ounces.readings.jsonl").read_text(encoding="utf-8").splitlines()
    (cut,) = (record for record in map(json.loads, log) if record["action"] == "cut")
    assert cut["grams"] == pytest.approx(grams)
    assert "bare, it is in oz" in ran("ground", "ounces.toml", "piston", "2", "--took", "much").err


def test_a_slip_of_the_pen_needs_a_word_of_why(shop):
    said = shop.refuses("ground", "piston", "P28", "--took", "12")
    assert "12 g is more than may come off there, 6 g" in said
    assert "4 g is more than" not in shop.must("ground", "piston", "P28", "--took", "4")
    # What came off is counted: the same again is more than is left.
    shop.must("strike", "--last", "--yes")
    shop.must("ground", "piston", "P28", "--took", "12", "--why", "dropped, and dressed")
    assert shop.records()[-1]["grams"] == 12.0


def test_which_pad_of_a_rod_is_asked_and_a_pin_has_no_place_that_gives(shop):
    said = shop.refuses("ground", "rod", "R4", "--took", "1.2")
    assert "--at: where on it; allowed: big end, small end" in said
    shop.must("ground", "rod", "R4", "--took", "1.2", "--at", "big end")
    assert shop.records()[-1]["pad"] == "big_end"
    assert "2 parts" in shop.refuses("ground", "rod", "R4", "piston", "P28", "--took", "1.2")
    assert "0 g" in shop.refuses("ground", "piston", "P28", "--took", "0")
    assert "--took" in shop.refuses("ground", "piston", "P28", "--took", "much")
    assert "more than may come off there, 0 g" in shop.refuses("ground", "pin", "1", "--took", "0.2")


def test_beside_a_plan_that_was_begun_the_rest_of_it_stands_but_not_for_that_part(shop):
    shop.must("ground", "rod", "R4", "--by", "AB")
    shop.must("ground", "piston", "P28", "--took", "0.5")
    assert "recorded" in shop.must("ground", "piston", "P22")
    assert "piston P28" in shop.refuses("ground", "piston", "P28")
    shop.must("ground")
    cuts = [one for one in shop.records() if one["action"] == "cut" and one["pad"] == "piston"]
    assert [one["grams"] for one in cuts if one["cylinder"] == 1] == [0.5]


def pistons_to_take(shop):
    plan = json.loads(shop.must("trim", "--json"))["trim"]
    return {
        one["cylinder"]: [cut["grams"] for cut in one["cuts"]]
        for one in plan["parts"]
        if one["part"] == "piston" and one["cylinder"] != 1
    }


@pytest.mark.parametrize("told", [["1.2"], ["0.6"], ["0.6", "0.6"], ["2.1"]])
def test_what_a_hand_told_teaches_nothing_of_what_a_pad_gives(shop, told):
    """1.2 g came off, and 2.1 was typed, or 1.2 was pasted twice: the pads "gave 0.57 of what was asked", and
    every other piston was to lose nearly twice as much."""
    before = pistons_to_take(shop)
    for grams in told:
        shop.must("ground", "piston", "P28", "--took", grams)
    shop("weigh", stdin="go 1 piston\n536.9\n536.9\n")
    assert "of what was asked" not in shop.must("trim")
    assert "gave  ratio" not in shop.must("trim")
    after = pistons_to_take(shop)
    assert before
    assert all(abs(sum(after.get(at, [0.0])) - sum(grams)) < 0.75 for at, grams in before.items())
