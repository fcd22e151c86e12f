"""The demo's job carried to its end."""

import pytest

from truethrow.balance import balancing
from truethrow.balance.demo import story
from truethrow.balance.errors import NotSaved
from truethrow.balance.job import load
from truethrow.balance.work import work


def test_it_is_ground_spun_drilled_and_signed(tmp_path):
    seen = {}
    for stage, job, station in story.told(tmp_path):
        seen[stage] = work(load(job)), balancing.load(job, station)
    result, state = seen[story.WEIGHED]
    assert result.outside and result.trim and result.trim.parts and not state.spins
    result, state = seen[story.SPUN]
    assert not result.outside and result.job.ground and len(state.spins) == 1 and state.to_do
    result, state = seen[story.SIGNED]
    assert state.holds and state.is_inside and len(state.spins) == 3 and len(state.drilled) >= 3
    worst = [max(abs(v) for v in spin.residual) for spin in state.spins]
    assert worst == sorted(worst, reverse=True)
    assert not state.unanswered, "the invented station answers as the holes say"


def test_it_is_not_told_over_a_job_that_has_readings(tmp_path):
    list(story.told(tmp_path))
    with pytest.raises(NotSaved, match="has a log of readings already"):
        list(story.told(tmp_path))
