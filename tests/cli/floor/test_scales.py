"""A scale is at one bench at a time."""

from __future__ import annotations

from truethrow.balance.weighing.scaleline import ScaleProfile
from truethrow.cli.floor.scales import Scales


class Closing:
    connected = True
    closed = 0

    def get(self, wait_s=0.0):
        return None

    def close(self):
        self.closed += 1


def test_the_second_bench_gets_it_once_the_first_gave_it_back():
    made = []

    def opens(profile, job):
        made.append((profile.port, job, Closing()))
        return made[-1][2]

    scales, profile = Scales("/dev/scale", opens), ScaleProfile(port="/dev/scale")
    first = scales.take(profile, "one")
    assert scales.take(profile, "one") is first
    assert scales.take(profile, "two") is None
    assert (scales.holder("/dev/scale"), scales.holder("/dev/other")) == ("one", "")
    assert scales.take(ScaleProfile(port="/dev/other"), "two") is not None
    scales.give_back("one")
    assert first.closed == 1
    assert scales.take(profile, "two") is not None
    assert [job for _, job, _ in made] == ["one", "two", "two"]
    scales.give_back("nobody")
