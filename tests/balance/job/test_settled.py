"""What was weighed before a cut is history, and what counts of a part that was cut."""

from __future__ import annotations

import invented
import kept
import pytest
from commands import refused, run
from grinding_shop import PADS, one_piston, weighed

from truethrow.balance.base.beside import log_path
from truethrow.balance.base.readings import Reading, Scale
from truethrow.balance.job.job import load
from truethrow.balance.job.pads import Pad
from truethrow.balance.job.settled import Confirmed, confirmed, is_sure
from truethrow.balance.log import records
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Cut, Struck
from truethrow.balance.result import plans
from truethrow.balance.result.work import work
from truethrow.balance.weighing import benchjob
from truethrow.balance.weighing.session import Session
from truethrow.worksheets.words import bench_words


def test_a_cut_makes_the_readings_before_it_history_and_a_strike_brings_them_back(tmp_path):
    path, log = one_piston(tmp_path)
    before = load(path)
    weighed(log, 541.2)
    cut = log.append(Cut(3, "piston", 1.0))
    told = refused(load, path)
    assert told == f"{path}: piston 3: cut since; weigh it again: truethrow weigh {path}"
    weighed(log, 540.1)
    assert load(path).parts[3]["piston"].repeats_g == (540.1,)
    log.append(Struck(cut.id, why="it was another one"))
    assert load(path).parts[3]["piston"].repeats_g == (540.1,)  # before and after are never one mass
    log.append(Struck(log.records[2].id, why="on another scale"))
    assert load(path).parts[3]["piston"].repeats_g == (541.2,)
    weighed(log, 541.3)
    assert load(path).parts[3]["piston"].repeats_g == (541.3,)
    assert load(path).ground is None
    assert before.ground is None


def test_a_cut_of_a_rod_makes_both_ends_and_the_total_history(tmp_path):
    path = tmp_path / "job.toml"
    parts = invented.cylinders(rod_total={})
    for part in parts:
        part["rod_total"] = 623.5
    path.write_text(invented.text(invented.document(parts)), encoding="utf-8")
    log = ReadingLog(log_path(path))
    log.append(Cut(2, "small_end", 1.0))
    told = refused(load, path).splitlines()
    assert told == [f"{path}: rod 2: cut since; weigh it again: truethrow weigh {path}"]
    weighed(log, 171.0, 2, "small_end")
    assert refused(load, path).splitlines() == told
    log.append(Struck(log.records[-1].id, why="wrong rod"))
    weighed(log, 171.0, 2, "small_end")
    weighed(log, 452.5, 2, "big_end")
    assert "rod_total" not in load(path).parts[2]
    assert load(path).parts[1]["rod_total"].mean_g == 623.5


def test_what_was_weighed_once_for_all_says_nothing_of_a_part_that_was_cut(tmp_path):
    path = tmp_path / "job.toml"
    parts = [{k: v for k, v in part.items() if k != "piston"} for part in invented.cylinders()]
    path.write_text(invented.text(invented.document(parts, every_cylinder={"piston": 538.4})), encoding="utf-8")
    log = ReadingLog(log_path(path))
    log.append(Cut(2, "piston", 1.0))
    assert refused(load, path).startswith(f"{path}: piston 2: cut since")
    weighed(log, 538.0, 0)
    assert refused(load, path).startswith(f"{path}: piston 2: cut since")
    weighed(log, 537.4, 2)
    assert load(path).parts[2]["piston"].mean_g == 537.4
    assert load(path).ground.given_g == {(2, "piston"): 1.0}  # from one for all, 538.4 to 537.4


def test_a_cut_that_is_none_is_a_fault_that_names_its_record(tmp_path):
    path, log = one_piston(tmp_path)
    for said in ("9,piston,1.0", "1,rings,1.0", "1,piston,-1.0"):
        cylinder, kind, grams = said.split(",")
        raw = Cut(int(cylinder), kind, float(grams), id=f"x-{said}")
        kept.put_behind(log.path, raw)
    told = refused(load, path).splitlines()
    assert told[
        0
    ] == f"{log.path}: cut, cylinder 9, piston, record x-9,piston,1.0: not in this layout; allowed: " + (
        "1, 2, 3, 4, 5, 6, 7, 8"
    )
    assert "cut, cylinder 1, rings, record x-1,rings,1.0: no pad; allowed: piston, pin, big_end" in told[1]
    assert "-1 g is no cut" in told[2]


def test_a_reading_that_cannot_come_from_the_cut_is_told_at_the_bench_and_not_chased(tmp_path):
    """The readings before, and those of the sisters, stand in the job file."""
    path, log = one_piston(tmp_path)
    plans.record(path)
    session = Session(benchjob.load(path), ReadingLog(log.path))
    assert (session.step.cylinder, session.step.kind) == (3, "piston")
    assert session.suspect(539.2) == ()
    told = bench_words.flags(session.suspect(541), session.now)
    assert any("above the 539.2 g that the cut was to leave; was it ground" in said for said in told)
    told = bench_words.of_taken(session.take("518.0"), session.now)
    assert any("below the median of the others" in said for said in told)
    assert any("21.2 g below the 539.2 g that the cut was to leave" in said for said in told)
    plan = work(load(path)).trim
    assert plan.parts == ()
    assert "Weigh piston 3 again first" in run("trim", path)[1]
    session.again()
    session.take("518.0")  # so it is: whatever was ground off, the part weighs that
    assert load(path).ground.again == ()
    assert len(load(path).ground.doubted) == 1
    others = [(cylinder, "piston") for cylinder in (1, 2, 4, 5, 6, 7, 8)]
    assert sorted(work(load(path)).once_more) == others  # so much off each of them takes a second look


def test_readings_that_disagree_do_not_settle_a_doubt(tmp_path):
    path, log = one_piston(tmp_path)
    plans.record(path)
    weighed(log, 518.0)
    weighed(log, 539.2)
    assert len(load(path).ground.again) == 1
    log.append(Struck(log.records[-2].id, why="slip of the pen"))
    assert load(path).ground.doubted == ()


@pytest.mark.parametrize("cut", [True, False])
def test_a_part_with_a_reading_of_its_own_is_weighed_whatever_stands_for_all(tmp_path, cut):
    path = tmp_path / "job.toml"
    parts = [{k: v for k, v in part.items() if k != "piston"} for part in invented.cylinders()]
    parts[2]["piston"] = [541.0, 541.0]
    data = invented.document(parts, every_cylinder={"piston": 538.4}, limits={"piston": 1.0}, trim=PADS)
    path.write_text(invented.text(data), encoding="utf-8")
    if cut:
        (made,) = plans.record(path).cuts
        assert (made.cylinder, made.kind) == (3, "piston")
    session = Session(benchjob.load(path), ReadingLog(log_path(path)))
    assert [step.cylinder for step in session.steps if step.kind == "piston"] == [3]
    session.go(3, "piston")
    session.take("539.3")
    assert load(path).parts[3]["piston"].mean_g == 539.3
    assert ("piston" in {s.kind for s in session.steps if s.cylinder == 4}) is False
    ReadingLog(log_path(path)).append(Cut(4, "piston", 1.0))
    session.refreshed()
    assert [step.cylinder for step in session.steps if step.kind == "piston"] == [3, 4]


SCALE = Scale(0.1)
ROD_PADS = (Pad("big_end", 9.0, -48.0), Pad("small_end", 9.0, 182.0))


@pytest.mark.parametrize(("grams", "fits"), [(540.2, True), (540.3, True), (540.9, False), (539.5, False)])
def test_a_confirmation_is_of_the_reading_that_was_looked_at_and_of_no_other(grams, fits):
    assert Confirmed(540.2, {}).fits("piston", grams, SCALE, ROD_PADS, 155.0) == fits


def test_a_confirmed_part_that_is_ground_as_it_was_asked_for_stays_confirmed():
    """2 g at the big-end pad, by the levers of a rod of 155 mm with its pad at −48: 2 · 203/155 off the big end,
    and 2 · 48/155 more on the small end."""
    cut = Cut(3, "big_end", 2.0, "p", id="a-2")
    made = [records.Confirmed(3, kind, 450.0, why="ok", id=f"a-{kind}") for kind in ("big_end", "small_end")]
    found = confirmed([*made, cut])
    for kind, fall in (("big_end", 2 * 203 / 155), ("small_end", -2 * 48 / 155)):
        assert found[3, kind].asked_g == {"big_end": 2.0}
        assert found[3, kind].fits(kind, round(450.0 - fall, 1), SCALE, ROD_PADS, 155.0)
        assert not found[3, kind].fits(kind, 450.0 + 9 * fall, SCALE, ROD_PADS, 155.0)


def test_who_weighed_it_twice_alike_or_confirmed_it_is_sure():
    once, twice, apart = ((538.4,), (538.4, 538.5), (538.4, 539.9))
    assert [is_sure(Reading(3, "piston", own, ("",) * len(own)), SCALE) for own in (once, twice, apart)] == [
        *(False, True, False),
    ]
    assert is_sure(Reading(3, "piston", once, ("",))._replace(settled="confirmed"), SCALE)


def test_the_reading_of_the_job_file_is_an_earlier_weighing_until_metal_comes_off(tmp_path):
    """It is not in the mean, and says of the scale what any repeat does."""
    path, log = one_piston(tmp_path)
    in_file = load(path).parts[3]["piston"].repeats_g
    assert in_file == (541.0, 541.0)
    weighed(log, 541.1)
    reading = load(path).parts[3]["piston"]
    assert (reading.earlier_g, reading.mean_g, reading.settled) == (in_file, 541.1, "twice")
    log.append(Cut(3, "piston", 1.0))
    weighed(log, 540.0)
    assert load(path).parts[3]["piston"].earlier_g == ()


def test_what_was_weighed_more_than_once_before_a_cut_still_says_how_far_loads_scatter(tmp_path):
    path, log = one_piston(tmp_path)
    weighed(log, 541.0)
    weighed(log, 541.1)
    log.append(Cut(3, "piston", 1.0))
    weighed(log, 540.1)
    job = load(path)
    assert [(r.cylinder, r.kind, r.repeats_g) for r in job.past] == [(3, "piston", (541.0, 541.0, 541.0, 541.1))]
    assert job.parts[3]["piston"].weighings_g == (540.1,)


def test_two_weighings_that_agree_make_a_slip_of_the_pen_of_the_one_before_them(tmp_path):
    """A figure of the job file that the bench cannot find widens every ± until the part was weighed twice."""
    path, log = one_piston(tmp_path)
    weighed(log, 543.0)
    assert load(path).parts[3]["piston"].earlier_g == (541.0, 541.0)
    wide = load(path).certainty().pan
    weighed(log, 543.1)
    assert load(path).parts[3]["piston"].earlier_g == ()
    assert load(path).certainty().pan.standard_g <= wide.standard_g
