"""The demo's job carried to its end."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from truethrow.balance.base.errors import NotSaved
from truethrow.balance.demo import story
from truethrow.balance.job.job import load
from truethrow.balance.result.work import work
from truethrow.balance.station import balancing, may_go
from truethrow.cli.main import app


def test_it_is_ground_spun_drilled_and_signed(tmp_path):
    seen = {}
    for stage, job, station in story.told(tmp_path):
        seen[stage] = work(load(job)), balancing.load(job, station)
    result, state = seen[story.WEIGHED]
    assert result.outside and result.trim and result.trim.parts and not state.spins
    result, state = seen[story.SPUN]
    assert not result.outside and result.job.ground and len(state.spins) == 1 and state.to_do
    result, state = seen[story.SIGNED]
    assert may_go.holds(state) and may_go.is_inside(state) and len(state.spins) == 3 and len(state.drilled) >= 3
    worst = [max(abs(v) for v in spin.residual) for spin in state.spins]
    assert worst == sorted(worst, reverse=True)
    assert not state.unanswered, "the invented station answers as the holes say"


def test_it_is_not_told_over_a_job_that_has_readings(tmp_path):
    list(story.told(tmp_path))
    with pytest.raises(NotSaved, match="has a log of readings already"):
        list(story.told(tmp_path))


def test_the_demo_leaves_the_cards_of_each_stage_and_carries_on_only_once(tmp_path):
    def ran():
        done = CliRunner().invoke(app, ["demo", "--cards", "--into", str(tmp_path), "--json"])
        assert done.exit_code == 0
        return {Path(one["folder"]).name: one for one in json.loads(done.stdout)["cards"]}

    made = ran()
    kinds = {stage: list(one["cards"]) for stage, one in made.items()}
    assert kinds[story.WEIGHED] == ["bench", "trim", "bobweight"]
    assert kinds[story.SPUN] == ["bobweight", "station"]
    assert kinds[story.SIGNED] == ["bench", "trim", "bobweight", "station", "report"]
    log = (tmp_path / "carried-on" / "launch.readings.jsonl").read_bytes()
    (again,) = ran().values()
    assert again["cards"] == made[story.SIGNED]["cards"]
    assert (tmp_path / "carried-on" / "launch.readings.jsonl").read_bytes() == log
