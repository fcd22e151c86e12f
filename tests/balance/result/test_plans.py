"""A plan is recorded cut by cut, under the plan that was told, once."""

from __future__ import annotations

import errno
import json
import os

import invented
import loaded
import pytest
from commands import refused, run
from grinding_shop import PADS, Bench, Shop, one_piston, weighed

from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import NotSaved
from truethrow.balance.job.job import load
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Cut, Struck
from truethrow.balance.result import plans
from truethrow.balance.result.work import work


def test_the_cuts_of_the_next_round_ask_for_what_the_pad_will_give(tmp_path):
    path, log = one_piston(tmp_path)
    plans.record(path)
    for _ in range(2):  # twice, since it looks like a slip
        weighed(log, 539.5)  # too close to call, so another one must be outside for a second plan
    weighed(log, 543.0, 5)
    log.append(Cut(5, "piston", 1.0))
    for _ in range(2):
        weighed(log, 542.2, 5)
    plan = work(load(path)).trim
    asked = {part.cylinder: part.cuts[0].grams for part in plan.parts}
    (pad,) = load(path).ground.responses.values()
    (part,) = (part for part in plan.parts if part.cylinder == 5)
    fall = 542.2 - part.expected_g["piston"]
    assert asked[5] * pad.per_gram["piston"] == pytest.approx(fall, abs=0.051)
    assert asked[5] > fall + 0.3
    status, out, _ = run("trim", path)
    assert status == 1
    assert "piston pads gave 0.82 of what was asked: the cuts below ask for more." in out
    assert "Trim, round 2" in out  # each part was cut once
    assert ["piston", "2", "2.8", "2.3", "0.82"] in [row.split() for row in out.splitlines()]


def test_the_plan_may_be_recorded_part_by_part_before_anything_is_weighed(tmp_path):
    bench = Bench(Shop(seed=4), tmp_path)
    plan = work(bench.job()).trim
    whole = [(cut.cylinder, cut.pad.kind, cut.grams) for part in plan.parts for cut in part.cuts]
    names = [(part.part, part.cylinder) for part in plan.parts]
    assert len(names) > 3
    made = [*bench.grind(names[1], weigh=False), *bench.grind(names[0], names[2], weigh=False)]
    assert "recorded already; weigh it again" in refused(plans.record, bench.path, [names[1]])
    made += bench.grind(weigh=False)
    assert sorted((cut.cylinder, cut.pad, cut.grams) for cut in made) == sorted(whole)
    assert "every cut of the plan is recorded already" in refused(plans.record, bench.path)
    bench.weigh()
    assert bench.job().ground.rounds == 1


def test_a_disk_that_fails_half_way_leaves_what_was_recorded_and_the_rest_to_be_recorded(tmp_path, monkeypatch):
    """Wherever it fails, also between the two pads of one rod."""
    plan = work(Bench(Shop(seed=4), tmp_path).job()).trim
    whole = [(cut.cylinder, cut.pad.kind, cut.grams) for part in plan.parts for cut in part.cuts]
    assert max(len(part.cuts) for part in plan.parts) == 2
    write = os.write
    for kept in range(len(whole)):
        (tmp_path / str(kept)).mkdir()
        bench, left = Bench(Shop(seed=4), tmp_path / str(kept)), [kept]

        def fails(handle, text, left=left):
            left[0] -= 1
            if left[0] < 0:
                raise OSError(errno.ENOSPC, "No space left on device")
            return write(handle, text)

        with monkeypatch.context() as full:
            full.setattr(os, "write", fails)
            with pytest.raises(NotSaved, match="the cut is not saved"):
                plans.record(bench.path)
        first = [(cut.cylinder, cut.pad, cut.grams) for cut in ReadingLog(log_path(bench.path)).records]
        rest = [(cut.cylinder, cut.pad, cut.grams) for cut in plans.record(bench.path).cuts]
        assert first + rest == whole
        assert len(first) == kept


def test_what_ground_refuses(tmp_path):
    path, log = one_piston(tmp_path)
    status, out, err = run("ground", path, "rod", "3")
    assert (status, out) == (2, "")
    assert err == f"{path}: rod 3: not in the plan; allowed: piston 3\n"
    assert "PART: which rod?; allowed: its mark, or its cylinder" in run("ground", path, "rod")[2]
    assert "standard input has no log beside it" in run("ground", "-")[2]
    assert not log.path.exists()
    assert run("ground", path, "piston 3")[0] == 0
    weighed(log, 538.8)
    assert "nothing to cut: the plan is empty" in run("ground", path)[2]


def test_ground_needs_the_jobs_own_readings(tmp_path):
    path, log = one_piston(tmp_path)
    path.write_text(path.read_text().replace("piston = [541.0, 541.0]", ""), encoding="utf-8")
    told = run("ground", path)[2]
    assert f"readings are missing; first enter the sheet that has them: truethrow enter {path} SHEET" in told
    assert not log.path.exists()


def asked_of(plan):
    return {(trim.part, trim.cylinder): [(c.pad.kind, c.grams) for c in trim.cuts] for trim in plan.parts}


def begun(tmp_path, seed=4):
    """A bench of which two parts of the plan are cut and weighed again, with a third one cut in between."""
    bench = Bench(Shop(seed, gives=0.7), tmp_path)
    asked = asked_of(work(bench.job()).trim)
    first, second, third, *rest = asked
    for named in (first, second):
        bench.grind(named, weigh=False)
    bench.grind(third, weigh=False)
    log = ReadingLog(log_path(bench.path))
    for part, cylinder in (first, second):
        for kind in ("big_end", "small_end") if part == "rod" else (part,):
            weighed(log, bench.shop.reads(cylinder, kind), cylinder, kind)
    return bench, asked, third, rest


def test_what_is_recorded_later_is_what_was_asked_for_whatever_was_weighed_meanwhile(tmp_path):
    bench, asked, third, rest = begun(tmp_path)
    for part in rest:
        cuts = bench.grind(part, weigh=False)
        assert [(cut.pad, cut.grams) for cut in cuts] == asked[part]
    assert "every cut of the plan is recorded already" in refused(plans.record, bench.path)
    assert f"{third[0]} {third[1]}: recorded already" not in refused(plans.record, bench.path)
    assert len({cut.plan for cut in ReadingLog(log_path(bench.path)).records if cut.action == "cut"}) == 1


def test_the_plan_that_stands_is_the_one_that_was_told_until_all_that_was_cut_is_weighed(tmp_path):
    bench = Bench(Shop(4, gives=0.7), tmp_path)
    told = work(bench.job()).trim
    assert plans.standing(bench.path) is None
    (tmp_path / "begun").mkdir()
    bench, asked, third, _ = begun(tmp_path / "begun")
    stands = plans.standing(bench.path)
    assert asked_of(stands.result.trim) == asked == asked_of(told)
    first, second, *_ = asked
    assert stands.done == {(part[1], pad) for part in (first, second, third) for pad, _ in asked[part]}
    assert stands.waiting == (third,)
    log = ReadingLog(log_path(bench.path))
    for kind in ("big_end", "small_end") if third[0] == "rod" else (third[0],):
        weighed(log, bench.shop.reads(third[1], kind), third[1], kind)
    assert plans.standing(bench.path) is None  # the next plan is told


def test_no_new_plan_is_recorded_while_a_part_of_the_old_one_is_not_weighed(tmp_path):
    bench, asked, third, rest = begun(tmp_path)
    cuts = bench.grind(weigh=False)
    made = {}
    for cut in cuts:
        made.setdefault((("rod" if cut.pad.endswith("_end") else cut.pad), cut.cylinder), []).append(
            (cut.pad, cut.grams)
        )
    assert made == {part: asked[part] for part in rest}
    assert "every cut of the plan is recorded already" in refused(plans.record, bench.path)
    told = refused(plans.record, bench.path, [third])
    assert "every cut of the plan is recorded already" in told


def test_where_two_plans_can_be_meant_the_one_that_was_followed_is_named(tmp_path):
    bench = Bench(Shop(4, gives=0.7), tmp_path)
    told = json.loads(run("trim", bench.path, "--json")[1])["trim"]
    asked = asked_of(work(bench.job()).trim)
    assert f"This is plan {told['plan']}." in run("trim", bench.path)[1]
    first, *rest = asked
    bench.grind(first)
    now = json.loads(run("trim", bench.path, "--json")[1])["trim"]
    assert now["plan"] != told["plan"]
    changed = next(part for part in rest if asked_of(work(bench.job()).trim).get(part) not in (None, asked[part]))
    name = f"{changed[0]} {changed[1]}"
    status, out, err = run("ground", bench.path, name)
    assert (status, out) == (2, "")
    assert f"say which: --plan {now['plan']}, as trim tells it now, or --plan {told['plan']}, as it was" in err
    assert "--plan x: is not the plan to record now" in run("ground", bench.path, name, "--plan", "x")[2]
    assert run("ground", bench.path, name, "--plan", told["plan"])[0] == 0
    cuts = [r for r in ReadingLog(log_path(bench.path)).records if r.action == "cut" and r.plan == told["plan"]]
    assert [(c.kind, c.grams) for c in cuts if c.cylinder == changed[1]][-len(asked[changed]) :] == asked[changed]
    # The plan that was named is the one that is followed from here on, until its parts are weighed.
    other = next(part for part in rest if part != changed)
    assert [(c.kind, c.grams) for c in bench.grind(other)] == asked[other]


def test_a_part_that_only_the_plan_before_asked_for_is_recorded_by_that_one(tmp_path):
    path = tmp_path / "job.toml"
    data = invented.document(
        invented.cylinders(piston={3: [541.0, 541.0], 5: [539.5, 539.5]}),
        limits={"piston": 1.0},
        trim=PADS | {"piston": 12.0},
    )
    path.write_text(invented.text(data), encoding="utf-8")
    asked = asked_of(work(load(path)).trim)
    assert set(asked) == {("piston", 3), ("piston", 5)}
    plans.record(path, [("piston", 3)])
    weighed(ReadingLog(log_path(path)), 539.2)
    assert work(load(path)).trim is None
    assert "nothing to cut: the plan is empty" in refused(plans.record, path)
    (cut,) = plans.record(path, [("piston", 5)]).cuts
    assert [(cut.pad, cut.grams)] == asked["piston", 5]


def test_a_plan_of_other_limits_is_not_the_one_that_was_told(tmp_path):
    bench = Bench(Shop(4), tmp_path)
    first = next(iter(asked_of(work(bench.job()).trim)))
    bench.grind(first, weigh=False)
    data = bench.shop.document() | {"limits": {"piston": 0.5, "big_end": 2.0}}
    bench.path.write_text(invented.text(data), encoding="utf-8")
    count = len(ReadingLog(log_path(bench.path)).records)
    told = refused(plans.record, bench.path)
    assert "the plan that was begun cannot be told any more: the job file changed, parts traded places" in told
    assert plans.standing(bench.path) is None
    assert len(ReadingLog(log_path(bench.path)).records) == count


def test_two_who_record_one_plan_at_once_record_it_once(tmp_path):
    bench = Bench(Shop(seed=4), tmp_path)
    whole = sorted((c.cylinder, c.pad.kind, c.grams) for p in work(bench.job()).trim.parts for c in p.cuts)
    both = [loaded.Process("truethrow", "ground", bench.path) for _ in range(2)]
    for one in both:
        said = one.communicate()
        assert one.returncode in (0, 2), said  # 2: all was recorded when it came to look
    cuts = [r for r in ReadingLog(log_path(bench.path)).records if r.action == "cut"]
    assert sorted((cut.cylinder, cut.pad, cut.grams) for cut in cuts) == whole


def test_the_same_cut_of_one_plan_is_one_record_until_it_is_struck(tmp_path, monkeypatch):
    path, log = one_piston(tmp_path)
    known = ReadingLog(log_path(path))
    (cut,) = plans.record(path).cuts
    monkeypatch.setattr(plans, "open_log", lambda *_, **__: known)  # as one who had not seen it yet
    assert plans.record(path).cuts == (cut,)
    monkeypatch.undo()
    log.append(Struck(cut.id, why="another piston"))
    (again,) = plans.record(path).cuts
    assert (again.id, again.grams) == (f"{cut.id}-2", cut.grams)


def test_a_plan_is_not_recorded_once_a_reading_has_come_in_since_it_was_told(tmp_path, monkeypatch):
    path, log = one_piston(tmp_path)
    check = plans._check

    def slow(*arguments):
        check(*arguments)
        weighed(log, 540.0)

    monkeypatch.setattr(plans, "_check", slow)
    assert "the log has changed since the plan was told; look at" in refused(plans.record, path)
    assert [record.action for record in ReadingLog(log.path).records] == ["read"]


@pytest.mark.parametrize(("words", "said"), [(["rod", "99999"], "'rod 99999' names no part")])
def test_a_number_is_never_cut_short(tmp_path, words, said):
    path, _ = one_piston(tmp_path)
    assert said in run("ground", path, *words)[2]


def test_the_sentence_for_machines_keeps_the_label(tmp_path):
    path, _ = one_piston(tmp_path)
    text = path.read_text().replace(
        "piston = [541.0, 541.0]", 'piston = [541.0, 541.0]\nlabels = {piston = "P17"}'
    )
    path.write_text(text, encoding="utf-8")
    (part,) = json.loads(run("trim", path, "--json")[1])["trim"]["parts"]
    assert part["sentence"].startswith("piston P17 (sits in 3): take 1.8 g")
