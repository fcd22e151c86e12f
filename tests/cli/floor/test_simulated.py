"""The demo's scale: the bench takes each part from it once, at the mass that it has."""

from __future__ import annotations

from floor_shop import blank_job

from truethrow.balance.log.place import open_log
from truethrow.balance.weighing.benchjob import load
from truethrow.balance.weighing.session import Session
from truethrow.cli.floor.simulated import LEAST_TAKEN, LINES_A_S, MOST_TAKEN, SimulatedScale
from truethrow.cli.weighing.benchloop import BenchLoop
from truethrow.cli.weighing.weigh import scale_profile


class Clock:
    at_s = 100.0

    def __call__(self):
        return self.at_s


def test_the_parts_that_are_asked_for_are_put_on_and_taken_one_by_one(tmp_path):
    path, now, took = blank_job(tmp_path), Clock(), []
    made = load(path, None, "simulated")
    session = Session(made, open_log(path))
    masses = {("piston", number): 538.0 + number / 10 for number in range(1, 9)}

    def asked():
        step = session.step
        return None if step is None or step.is_check else (step.kind, step.cylinder)

    scale = SimulatedScale(masses, asked, lambda: len(took), now=now)
    loop = BenchLoop(session, scale_profile(made, session.zero_limit_g), scale, now)
    for _ in range(60 * 8 * LINES_A_S):
        now.at_s += 1 / LINES_A_S
        loop.poll()
        if loop.bell:
            took.append(loop.bell)
            loop.bell = ""
        if asked() == ("pin", 1):
            break
    found = {one.cylinder: one.mean_g for one in session.sisters("piston")}
    assert found == {number: masses["piston", number] for number in range(1, 9)}
    assert {*took} == {"taken"}


def test_it_says_ten_lines_a_second_and_nothing_of_what_nobody_read(tmp_path):
    now = Clock()
    scale = SimulatedScale({}, lambda: None, lambda: 0, now=now)
    assert scale.get() is None
    now.at_s += 1.0
    assert [scale.get() is not None for _ in range(11)] == [True] * 10 + [False]
    now.at_s += 3600.0
    lines = 0
    while scale.get() is not None:
        lines += 1
    assert lines <= 2 * LINES_A_S
    scale.close()


def test_at_the_grinder_it_takes_what_is_told_once_a_touch():
    told = [None]
    masses = {("big_end", 1): 450.0, ("small_end", 1): 170.0}
    scale = SimulatedScale(masses, lambda: None, lambda: 0, lambda: told[0], Clock())
    scale._grind()
    assert masses["big_end", 1] == 450.0
    told[0] = "cut-1", {("big_end", 1): 1.0, ("small_end", 1): -0.2}
    scale._grind()
    after = dict(masses)
    assert LEAST_TAKEN <= 450.0 - after["big_end", 1] <= MOST_TAKEN
    assert after["small_end", 1] > 170.0
    scale._grind()
    assert masses == after
    told[0] = "cut-2", told[0][1]  # the scale showed no difference: another cut of as much
    scale._grind()
    assert masses["big_end", 1] < after["big_end", 1]
