"""A session at the grinder: the parts of the plan come to their targets, touch after touch."""

from __future__ import annotations

import random

import invented
import pytest
from grinding_shop import PADS, Bench, Shop, one_piston, weighed

from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput
from truethrow.balance.job.job import load
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Cut
from truethrow.balance.result.work import work
from truethrow.balance.weighing import benchjob
from truethrow.balance.weighing.benchjob import WeighStep
from truethrow.balance.weighing.grinder import Below, Finished, GrindSession, NewTarget
from truethrow.balance.weighing.session import Refused
from truethrow.worksheets.words import bench_words


def two_pistons(folder):
    """Pistons of 538.4 g but the third and the fifth, which were weighed twice."""
    path = folder / "job.toml"
    pistons = invented.cylinders(piston={3: [541.0, 541.0], 5: [540.4, 540.4]})
    path.write_text(invented.text(invented.document(pistons, limits={"piston": 1.0}, trim=PADS)), encoding="utf-8")
    return path


def grinding(path):
    return GrindSession(benchjob.load(path), ReadingLog(log_path(path)), path)


@pytest.mark.simulation(whole=40, sample=3)
def test_a_hand_of_85_to_115_percent_brings_a_v8_inside_in_one_visit_a_part(tmp_path, seed):
    shop = Shop(seed)
    bench, hand = Bench(shop, tmp_path), random.Random(seed)
    plan = work(bench.job()).trim
    session = grinding(bench.path)
    visits, touches = [], 0
    while (step := session.step) is not None:
        at = session.visit.part, session.visit.cylinder
        if not visits or visits[-1] != at:
            visits.append(at)
        session.take(str(shop.reads(step.cylinder, step.kind)))
        assert not isinstance(session.news, Below)
        if isinstance(session.news, Finished):
            for kind, target in session.news.targets_g.items():
                assert target - 0.1 - 1e-9 <= session.news.reads_g[kind] <= target + 0.1 + 1e-9
        if session.visit and (touch := session.visit.touch):
            shop.grind(step.cylinder, touch.pad, touch.aim_g * hand.uniform(0.85, 1.15))
            touches += 1
            assert touches < 400
    assert len(visits) == len(set(visits))
    assert set(visits) == {(part.part, part.cylinder) for part in plan.parts}
    done = work(bench.job())
    verdicts = {spread.quantity: spread.verdict for spread in done.spreads}
    # What was too close to call before is no reason to grind, and may stay so.
    inside = [spread.quantity for spread in plan.after if spread.verdict == "inside"]
    assert inside
    assert {verdicts[quantity] for quantity in inside} == {"inside"}
    assert "outside" not in verdicts.values()
    assert done.trim is None


def test_what_may_come_out_the_lightest_goes_first(tmp_path):
    """What a limited spread of the plan has at its lower end, or a step above, and nowhere at its upper one."""
    session = grinding(Bench(Shop(2), tmp_path).path)
    first, plan = session.visit, work(load(session._place)).trim
    limited = [s for s in plan.after if s.limit_g is not None and s.quantity in ("big_end", "small_end")]
    assert any(s.members[str(first.cylinder)].value_g - s.members[s.lightest].value_g < 0.1 for s in limited)
    assert all(s.members[s.heaviest].value_g - s.members[str(first.cylinder)].value_g > 0.05 for s in limited)


def test_what_is_to_be_taken_is_in_the_log_before_it_is_told(tmp_path):
    """Piston 3 is 1.8 g above its target: 0.85 of that is meant, the rest is left for the next touch."""
    path, _ = one_piston(tmp_path)
    session = grinding(path)
    assert (session.step, session.total) == (WeighStep(3, "piston"), 1)
    session.take("541.0")
    assert [(r.action, getattr(r, "grams", 0)) for r in session.log.records] == [("read", 541.0), ("cut", 1.53)]
    assert (session.at_hand.pad, session.at_hand.left_g) == ("piston", pytest.approx(1.8))
    assert session.to_go(539.9).left_g == pytest.approx(0.7)
    session.take("539.5")
    assert session.at_hand.left_g == pytest.approx(0.3)
    session.take("539.2")
    assert isinstance(session.news, Finished)
    assert (session.done, session.step) == (1, None)
    assert work(load(path)).trim is None


def test_a_touch_that_the_scale_does_not_show_is_told_again_as_another_cut(tmp_path):
    """A light touch takes less than the scale tells: it reads the same, and as much is to be taken once more."""
    path, _ = one_piston(tmp_path)
    session = grinding(path)
    session.take("539.3")
    first = session.told
    session.take("539.3")
    assert (session.at_hand.left_g, session.told.grams) == (pytest.approx(0.1), first.grams)
    assert session.told.id != first.id
    session.take("539.2")
    assert session.told is None


def test_after_the_power_was_gone_the_part_is_weighed_before_more_is_taken(tmp_path):
    path, log = one_piston(tmp_path)
    grinding(path).take("541.0")
    session = grinding(path)  # meanwhile 1.4 of the 1.53 g came off
    assert (session.step, session.visit) == (WeighStep(3, "piston"), None)
    session.take("539.6")
    assert session.at_hand.left_g == pytest.approx(0.4)  # told at once: it lies there
    assert [r.grams for r in ReadingLog(log.path).records if r.action == "cut"] == [1.53, 0.34]


def test_a_part_that_weighs_what_it_did_was_not_ground(tmp_path):
    path, _ = one_piston(tmp_path)
    session = grinding(path)
    session.take("541.0")
    session.take("541.0")
    assert [r.action for r in session.log.records] == ["read", "cut", "strike", "read", "cut"]
    session.withdraw()
    assert session.log.records[-1].why.startswith("not touched")
    assert work(load(path)).trim.parts[0].cuts[0].grams == pytest.approx(1.8)


@pytest.mark.parametrize(("grams", "is_other"), [(541.0, False), (541.5, True), (538.4, True)])
def test_another_part_on_the_scale_is_told_by_its_weight_before_the_first_touch(tmp_path, grams, is_other):
    session = grinding(one_piston(tmp_path)[0])
    assert session.is_another_part(grams) == is_other
    assert bool(session.suspect(grams)) == is_other


@pytest.mark.parametrize(("grams", "is_other"), [(541.1, False), (539.5, False), (541.6, True), (537.0, True)])
def test_another_part_on_the_scale_is_told_by_what_a_touch_can_take(tmp_path, grams, is_other):
    """1.53 g were meant: up to twice that is believed of a hand, and nothing makes a part heavier."""
    session = grinding(one_piston(tmp_path)[0])
    session.take("541.0")
    assert session.is_another_part(grams) == is_other


def test_a_part_below_its_target_is_told_with_what_becomes_of_the_set(tmp_path):
    """Of 538.4 g all but two, 1 g allowed: with piston 3 at 538.0 piston 5 has to come down farther."""
    session = grinding(two_pistons(tmp_path))
    session.take("541.0")
    session.take("538.0")
    assert isinstance(session.news, Below)
    assert session.news.below_g == pytest.approx(1.2)
    assert [(s.quantity, s.verdict) for s in session.news.spreads] == [("piston", "inside")]
    assert session.news.changed == (NewTarget(5, "piston", 539.2, 538.8),)
    assert session.step == WeighStep(5, "piston")
    told = bench_words.of_grinding(session)
    assert told == (
        "piston 3 is 1.2 g below its target",
        "piston comes to a spread of 0.8 g, limit 1 g: inside",
        "new target: piston 5 538.8 g (was 539.2 g)",
    )


@pytest.mark.parametrize("other", ["537.0", "541.6", "999", "121.1"])
def test_what_cannot_be_the_part_is_refused_and_changes_nothing(tmp_path, other):
    """4 g below where 1.5 were meant, or above: another part lay there, or it has to be looked at."""
    session = grinding(two_pistons(tmp_path))
    session.take("541.0")
    before, visit = session.log.records[:], session.visit
    with pytest.raises(Refused, match=r"can't be piston 3, which read 541\.0 g last: put that one on"):
        session.take(other)
    assert (session.log.records[:], session.visit) == (before, visit)
    session.take("539.2")
    assert isinstance(session.news, Finished)


def test_after_the_power_was_gone_another_part_is_not_taken_for_the_one_that_was_cut(tmp_path):
    path, _ = one_piston(tmp_path)
    grinding(path).take("541.0")
    session = grinding(path)
    for other in ("999", "530.0", "542.5"):
        with pytest.raises(Refused, match="can't be piston 3"):
            session.take(other)
    assert [r.action for r in session.log.records] == ["read", "cut"]


def test_a_part_that_was_ground_before_it_came_to_the_scale_is_a_cut_in_the_log(tmp_path):
    """1.4 of the 1.8 g of its plan were off: 0.4 g are left."""
    session = grinding(one_piston(tmp_path)[0])
    assert session.is_another_part(539.6)  # at the scale it waits for Enter
    session.take("539.6")
    assert [(r.action, r.grams) for r in session.log.records] == [("cut", 1.4), ("read", 539.6), ("cut", 0.34)]
    assert "piston 3 is 1.4 g lighter than when it was weighed last: recorded as ground" in (
        bench_words.of_grinding(session)
    )


def test_a_part_that_is_lighter_than_it_was_to_become_is_another(tmp_path):
    with pytest.raises(Refused, match="can't be piston 3"):
        grinding(one_piston(tmp_path)[0]).take("538.4")


def test_a_part_below_by_no_more_than_the_scale_can_tell_is_done(tmp_path):
    session = grinding(one_piston(tmp_path)[0])
    session.take("541.0")
    session.take("539.1")
    assert isinstance(session.news, Finished)


def test_a_reading_that_is_canceled_is_weighed_again_and_the_plan_is_made_anew(tmp_path):
    session = grinding(one_piston(tmp_path)[0])
    session.take("541.0")
    session.take("539.9")
    assert session.target().grams == 539.9
    session.strike("a tool lay on it")
    assert session.step == WeighStep(3, "piston")
    session.take("539.6")
    assert session.at_hand.left_g == pytest.approx(0.4)


def test_at_the_grinder_nothing_goes_back(tmp_path):
    session = grinding(one_piston(tmp_path)[0])
    for refused in (session.back, session.again, session.skip, lambda: session.go(5, "piston")):
        with pytest.raises(Refused):
            refused()
    session.go(3, "piston")
    assert session.step == WeighStep(3, "piston")


def test_another_part_of_the_plan_may_come_first(tmp_path):
    shop = Shop(1)
    bench = Bench(shop, tmp_path)
    session = grinding(bench.path)
    second = session.todo[0]
    session.skip()
    assert (session.visit.part, session.visit.cylinder) == (second.part, second.cylinder)
    later = session.todo[-1]
    session.go(later.cylinder, later.part if later.part != "rod" else "big_end")
    assert (session.visit.part, session.visit.cylinder) == (later.part, later.cylinder)


def test_what_another_bench_cuts_changes_the_plan(tmp_path):
    path, log = one_piston(tmp_path)
    session = grinding(path)
    log.append(Cut(3, "piston", 1.8))
    weighed(log, 539.2)
    session.refreshed()
    assert session.step is None


def test_nothing_is_ground_by_a_reading_that_looks_like_a_slip(tmp_path):
    path, log = one_piston(tmp_path)
    weighed(log, 560.0, 5)
    with pytest.raises(BadInput, match="piston 5"):
        grinding(path)
