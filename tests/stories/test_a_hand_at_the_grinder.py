"""At the grinder with the scale beside it: a hand that overshoots, another part on the scale, the cable pulled,
the power gone between the cut and the weight.

By hand: who takes metal off a part weighs it ten times, asks each time what is still to go, and means less than
all of it. The whole of it through the command line, on a scale that sends ten lines a second by its own clock.
"""

from __future__ import annotations

import json
import random
import re

import commands
import invented
import pytest
from at_the_bench import BACK, EMPTY, OUT, bench_of, on
from grinding_shop import LIMITS, Bench, Shop, one_piston
from within import benchtext, log_path


@pytest.fixture
def grind(monkeypatch, capsys):
    """truethrow weigh JOB --grind --port ..., with a person doing what a test says."""
    ran = bench_of(monkeypatch, capsys)
    return lambda act, path: ran(act, path, "--grind")


A_TOUCH_G = 0.08  # what a hand takes that was told to touch it lightly; the scale shows steps of 0.1 g


def to_take(person):
    """Grams to aim for and the pad, as the screen says; None where it says stop."""
    told = " ".join(person.lines)
    found = re.search(r"g to go at the ([a-z-]+) pad(?:; aim for ([0-9.]+) g|: one light touch)", told)
    return (found[1].replace("-", "_"), float(found[2] or A_TOUCH_G)) if found else None


def cuts(records):
    struck = {r["of"] for r in records if r["action"] == "strike"}
    return [
        (r["cylinder"], r["pad"], r["grams"]) for r in records if r["action"] == "cut" and r["id"] not in struck
    ]


@pytest.mark.simulation(whole=20, sample=2)
def test_a_v8_comes_inside_with_one_visit_a_part_and_no_command_typed(grind, tmp_path, seed):
    """A hand takes 85 to 115 % of what the screen says."""
    shop, hand = Shop(seed), random.Random(seed)
    path = Bench(shop, tmp_path).path
    parts = json.loads(commands.run("trim", path, "--json").out)["trim"]["parts"]
    visits = []

    def act(person):
        while (step := person.at_hand) is not None and step.kind != "zero":
            at = step.cylinder, {"big_end": "rod", "small_end": "rod"}.get(step.kind, step.kind)
            if visits[-1:] != [at]:
                visits.append(at)
            grams = shop.reads(step.cylinder, step.kind)
            person.sees(*on(grams))
            told = to_take(person)
            person.sees(*EMPTY)
            if told and person.at_hand == step:
                shop.grind(step.cylinder, told[0], told[1] * hand.uniform(0.85, 1.15))
        person.sees(*EMPTY, *EMPTY)

    _, out = grind(act, path)
    assert f"{len(visits)} of {len(visits)} parts ground" in out
    assert "Nothing is left to grind." in out
    assert "below its target" not in out
    assert len(visits) == len(set(visits))
    assert set(visits) <= {(part["cylinder"], part["part"]) for part in parts}
    data = json.loads(commands.run("check", path, "--json").out)
    told = {s["quantity"]: s["verdict"] for s in data["spreads"] if s["limit_g"] is not None}
    assert set(told) == set(LIMITS)
    assert set(told.values()) == {"inside"}
    assert data["slips"] == []


def test_the_screen_says_what_is_to_go_and_when_to_stop(grind, tmp_path):
    path, _ = one_piston(tmp_path)

    def act(person):
        assert "Piston 3   target 539.2 g" in person.lines
        assert "hot and dusty" in person.screen
        person.sees(*on(541.0))
        assert "g to go at the piston pad; aim for 1.53 g at the next touch" in person.screen
        person.sees(*EMPTY, *on(539.5, 3))  # not taken yet: it is on the screen as soon as it lies there
        assert "aim for 0.25 g" in person.screen
        person.sees(*on(539.5), *EMPTY, *on(539.2))
        assert "piston 3 is done: 539.2 g, target 539.2 g" in person.screen
        person.sees(*EMPTY)

    records, out = grind(act, path)
    assert cuts(records) == [(3, "piston", 1.53), (3, "piston", 0.25)]
    assert "1 of 1 parts ground" in out


def test_nobody_is_told_to_stop_by_a_part_that_still_swings_or_by_another(grind, tmp_path):
    path, _ = one_piston(tmp_path)
    stop = f"  {benchtext.big('stop')[0]}"

    def act(person):
        assert "is it this part?" not in person.screen  # the zero is no part
        person.sees(541.0, 401.8)
        assert stop not in person.lines
        person.sees(*EMPTY, *on(541.0), *EMPTY, 300.0, 520.0)
        assert stop not in person.lines
        person.sees(*EMPTY, *on(536.4))  # held: another part
        assert to_take(person) is None
        assert stop not in person.lines
        person.sees(*EMPTY, *on(539.2, 4))
        assert stop in person.lines

    grind(act, path)


def test_a_hand_that_overshoots_is_told_at_once_what_becomes_of_the_set(grind, tmp_path):
    path, _ = one_piston(tmp_path)

    def act(person):
        person.sees(*on(541.0), *EMPTY, *on(538.2))
        assert "piston 3 is 1.0 g below its target" in person.screen
        assert "piston comes to a spread of 0.2 g, limit 1 g: inside" in person.screen
        assert "the other targets stay" in person.screen
        person.sees(*EMPTY)

    _, out = grind(act, path)
    assert "Nothing is left to grind." in out


@pytest.mark.parametrize("other", [538.4, 543.0])
def test_another_part_on_the_scale_while_grinding_is_not_taken(grind, tmp_path, other):
    """Piston 5 of 538.4 g lay there, and would have been told how much to take off."""
    path, _ = one_piston(tmp_path)

    def act(person):
        person.sees(*on(other))
        assert "is it this part?" in person.screen
        assert "NOT TAKEN" in person.screen
        person.sees(*EMPTY, *on(541.0), *EMPTY)
        assert "aim for 1.53 g" in person.screen
        person.sees(*on(536.0 if other < 540 else other))
        assert "is it this part?" in person.screen
        person.sees(*EMPTY, *on(539.4), *EMPTY)

    records, _ = grind(act, path)
    assert [r["grams"] for r in records if r["action"] == "read"] == [541.0, 539.4]


@pytest.mark.parametrize("pulled", [1, 4, 8, 12])
def test_the_cable_pulled_in_mid_grind_makes_no_second_cut(grind, tmp_path, pulled):
    path, _ = one_piston(tmp_path)
    load = [300.0, 560.0, 541.0, *on(541.0, 10)]

    def act(person):
        person.sees(*load[:pulled], OUT, BACK, *on(541.0, 20))
        assert "lift off what lies there" in person.screen
        person.sees(*EMPTY)
        if not person.loop.grinding.at_hand:
            person.sees(*on(541.0), *EMPTY)
        person.sees(*on(539.5), *EMPTY, *on(539.2), *EMPTY)

    records, out = grind(act, path)
    assert cuts(records) == [(3, "piston", 1.53), (3, "piston", 0.25)]
    assert "1 of 1 parts ground" in out


def test_with_the_power_gone_between_cut_and_weight_the_same_metal_is_not_taken_twice(grind, tmp_path):
    path, _ = one_piston(tmp_path)
    grind(lambda person: person.sees(*on(541.0), *EMPTY), path)
    # 1.4 g came off; nobody is told to take 1.8 g again.
    said = commands.run("trim", path)
    assert said.status == 2
    assert "take" not in said.out
    assert "piston 3" in said.err

    def act(person):
        assert person.at_hand.cylinder == 3
        assert to_take(person) is None
        person.sees(*on(539.6))
        assert "aim for 0.34 g" in person.screen
        person.sees(*EMPTY, *on(539.2), *EMPTY)

    records, out = grind(act, path)
    assert cuts(records) == [(3, "piston", 1.53), (3, "piston", 0.34)]
    assert "Nothing is left to grind." in out


def test_with_the_power_gone_before_the_first_touch_the_part_is_taken_as_it_was(tmp_path):
    """It was refused as another part, and what nobody took stayed in the log as a cut."""
    path, _ = one_piston(tmp_path)
    commands.run("weigh", path, "--grind", stdin="541.0\n")
    done = commands.run("weigh", path, "--grind", stdin="541.0\n539.2\n")
    assert done.status == 0, done.out + done.err
    assert "1.8 g to go at the piston pad: aim for 1.53 g" in done.out
    assert "Nothing is left to grind." in done.out
    records = [json.loads(text) for text in log_path(path).read_text(encoding="utf-8").splitlines()]
    assert cuts(records) == [(3, "piston", 1.53)]
    assert [r["grams"] for r in records if r["action"] == "read"] == [541.0, 541.0, 539.2]


def test_with_the_power_gone_in_the_midst_of_a_touch_the_part_is_taken_and_weighed_once_more(tmp_path):
    """0.5 of 1.53 g were off: less than half of it, and no other part. What it says next is pasted."""
    path, _ = one_piston(tmp_path)
    commands.run("weigh", path, "--grind", stdin="541.0\n")
    done = commands.run("weigh", path, "--grind", stdin="540.5\n")
    assert "taken: piston 3: 540.5" in done.out and "can't be" not in done.out
    assert "then type go piston 3" in done.out
    assert commands.run("weigh", path, stdin="go piston 3\n540.5\n").status == 0
    done = commands.run("weigh", path, "--grind", stdin="540.5\n539.2\n")
    assert done.status == 0, done.out + done.err
    assert "1.3 g to go at the piston pad" in done.out
    assert "Nothing is left to grind." in done.out


def test_with_the_power_gone_another_part_is_still_not_taken(tmp_path):
    path, _ = one_piston(tmp_path)
    commands.run("weigh", path, "--grind", stdin="541.0\n")
    for other in ("541.9", "537.0", "121.1"):
        done = commands.run("weigh", path, "--grind", stdin=f"{other}\n")
        assert (done.status, "can't be piston 3" in done.out) == (2, True), other


def test_a_rod_that_nobody_touched_before_the_power_went_is_taken_as_it_was(tmp_path):
    shop = Shop(1)
    path = Bench(shop, tmp_path).path
    rod = next(
        p for p in json.loads(commands.run("trim", path, "--json").out)["trim"]["parts"] if p["part"] == "rod"
    )
    at = rod["cylinder"]
    first = [f"{shop.reads(at, end)}\n" for end in ("big_end", "small_end")]
    begun = commands.run("weigh", path, "--grind", stdin=f"go rod {at}\n{first[0]}{first[1]}")
    assert "to go at the" in begun.out, begun.out + begun.err
    told = [line for line in begun.out.splitlines() if "to go at the" in line]
    again = commands.run("weigh", path, "--grind", stdin="".join(first))
    assert again.status == 0, again.out + again.err
    records = [json.loads(text) for text in log_path(path).read_text(encoding="utf-8").splitlines()]
    assert len([r for r in records if r["action"] == "strike"]) == len(told)


def test_who_leaves_with_the_part_on_the_scale_has_taken_nothing(grind, tmp_path):
    path, _ = one_piston(tmp_path)
    records, out = grind(lambda person: person.sees(*on(541.0)), path)
    assert cuts(records) == []
    assert "Not done: piston 3 is next. Go on:" in " ".join(out.split()), out
    assert "take 1.8 g" in commands.run("trim", path).out


def test_a_part_that_is_left_for_later_before_it_was_touched_is_not_cut(grind, tmp_path):
    shop = Shop(1)
    path = Bench(shop, tmp_path).path

    def act(person):
        first = person.at_hand
        person.sees(*on(shop.reads(first.cylinder, first.kind)))
        assert to_take(person)
        person.presses("s")
        assert person.at_hand != first

    records, _ = grind(act, path)
    assert cuts(records) == []


def test_with_no_other_part_to_go_to_the_one_at_the_grinder_stays(grind, tmp_path):
    path, _ = one_piston(tmp_path)

    def act(person):
        person.sees(*on(541.0))
        person.presses("s")
        assert "there is no other part to grind" in person.screen
        person.sees(*EMPTY, *on(539.5), *EMPTY, *on(539.2), *EMPTY)

    records, _ = grind(act, path)
    assert cuts(records) == [(3, "piston", 1.53), (3, "piston", 0.25)]


def test_typed_it_goes_the_same_way(tmp_path):
    path, _ = one_piston(tmp_path)
    done = commands.run("weigh", path, "--grind", stdin="541.0\n539.4\n539.2\n")
    assert done.status == 0
    assert (
        "1.8 g to go at the piston pad: aim for 1.53 g; let it cool and wipe it, then weigh it again" in done.out
    )
    assert "piston 3 is done: 539.2 g, target 539.2 g" in done.out
    assert log_path(path).exists()


def test_a_shop_that_weighs_in_ounces_is_told_ounces(tmp_path):
    """0.125 oz to take, and the screen said 3.5 g to a hand whose scale shows ounces.

    By hand: 14.690 to 14.565 oz is 0.125 oz, of which 0.85 is aimed for: 0.106 oz."""
    ran = commands.in_folder(tmp_path)
    assert ran("new", "inline-4", "o.toml", "--unit", "oz", "--step", "0.005").status == 0
    with (tmp_path / "o.toml").open("a", encoding="utf-8") as job:
        job.write("[trim]\npiston = 0.3\n")
    rows = "".join(
        f"{n},{piston},{piston},3.570,3.570,0.075,1.000,5.650,5.650,15.955,15.955,1.445\n"
        for n, piston in ((1, "14.545"), (2, "14.550"), (3, "14.690"), (4, "14.540"))
    )
    head = "Cyl #,Piston,Piston,Pin,Pin,Locks,Rings,Small End,Small End,Big End,Big End,Bearings\n"
    (tmp_path / "o.csv").write_text(head + rows, encoding="utf-8")
    assert ran("enter", "o.toml", "o.csv").status == 0
    with (tmp_path / "o.toml").open(encoding="utf-8") as job:
        text = job.read()
    (tmp_path / "o.toml").write_text(text.replace('rod_length = ""', "rod_length = 140"), encoding="utf-8")
    assert "piston 3: take 0.125 oz; expect 14.565" in ran("trim", "o.toml").out
    done = ran("weigh", "o.toml", "--grind", stdin="14.690\n14.565\n")
    assert done.status == 0, done.out + done.err
    assert "0.125 oz to go at the piston pad: aim for 0.106" in done.out
    assert "piston 3 is done: 14.565 oz, target 14.565 oz" in done.out
    assert " g " not in done.out
    done = ran("weigh", "o.toml", stdin="go piston 1\n14.9\n")
    assert "0.355 oz" in done.out and "the job file has 14.545 oz" in done.out


def test_nothing_is_ground_while_a_reading_looks_like_a_slip(tmp_path):
    path, _ = one_piston(tmp_path)
    commands.run("weigh", path, stdin="go 5 piston\n560.0\n")
    done = commands.run("weigh", path, "--grind", stdin="541.0\n")
    assert done.status == 2
    assert "piston 5" in done.err


def test_a_job_with_nothing_to_trim_has_nothing_to_grind(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(invented.text(invented.document(limits={"piston": 1.0})), encoding="utf-8")
    done = commands.run("weigh", path, "--grind")
    assert done.status == 0
    assert "Nothing is left to grind." in done.out


@pytest.mark.parametrize("other", ["999", "542.5", "520.0", "121.1", "538.4"])
def test_another_part_that_is_typed_at_the_grinder_orders_nothing(tmp_path, other):
    """999 was told to be brought down by 486 g, and 542.5 by more than its plan."""
    path, _ = one_piston(tmp_path)
    done = commands.run("weigh", path, "--grind", stdin=f"{other}\n")
    assert done.status == 2
    assert "can't be piston 3, which read 541.0 g last" in done.out
    assert "aim for" not in done.out and "parts ground" not in done.out
    assert not log_path(path).exists() or not log_path(path).read_text(encoding="utf-8")
    # In the midst of it too, and by pasting what it says the part is weighed anew.
    done = commands.run("weigh", path, "--grind", stdin=f"541.0\n{'999' if other == '538.4' else other}\n")
    assert done.status == 2
    assert "go piston 3" in done.out
    records = [json.loads(text) for text in log_path(path).read_text(encoding="utf-8").splitlines()]
    assert [r["grams"] for r in records if r["action"] == "read"] == [541.0]
    assert cuts(records) == [(3, "piston", 1.53)]


def test_enter_does_not_take_another_part_at_the_grinder(grind, tmp_path):
    path, _ = one_piston(tmp_path)

    def act(person):
        person.sees(*on(543.0))
        person.keys.enter()
        assert "can't be piston 3" in person.screen
        assert "Enter takes this all the same" not in person.screen
        person.sees(*EMPTY, *on(541.0), *EMPTY, *on(539.2), *EMPTY)

    records, out = grind(act, path)
    assert [r["grams"] for r in records if r["action"] == "read"] == [541.0, 539.2]
    assert "1 of 1 parts ground" in out


def test_a_part_that_was_ground_first_and_then_put_on_blocks_nothing(tmp_path):
    """By the trim card: take 1.8 g off piston 3. The reading is not a second one of what it was before."""
    path, _ = one_piston(tmp_path)
    done = commands.run("weigh", path, "--grind", stdin="539.2\n")
    assert done.status == 0
    assert "piston 3 is 1.8 g lighter than when it was weighed last: recorded as ground" in done.out
    assert "piston 3 is done: 539.2 g, target 539.2 g" in done.out
    records = [json.loads(text) for text in log_path(path).read_text(encoding="utf-8").splitlines()]
    assert cuts(records) == [(3, "piston", 1.8)]
    said = commands.run("trim", path)
    assert (said.status, "looks like a slip" in said.out) == (0, False)
    assert json.loads(commands.run("check", path, "--json").out)["slips"] == []


def test_who_ground_it_first_has_it_taken_by_enter(grind, tmp_path):
    path, _ = one_piston(tmp_path)

    def act(person):
        person.sees(*on(539.6))
        assert "is it this part?" in person.screen
        person.keys.enter()
        assert "lighter than when it was weighed last: recorded as ground" in person.screen
        assert "aim for 0.34 g" in person.screen
        person.sees(*EMPTY, *on(539.2), *EMPTY)

    records, _ = grind(act, path)
    assert cuts(records) == [(3, "piston", 1.4), (3, "piston", 0.34)]
