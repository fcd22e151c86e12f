"""The table of a damper goes out of the job, or gets another name, after spins with it on or holes in it: what
turns in the engine would be told, and signed, without it. Each through the command line."""

from __future__ import annotations

import tomllib

import invented
import pytest
from engine_shop import DAMPER, FLEXPLATE, Engine, member, true_crank

MEMBERS = [member(DAMPER, 1400, 135, one_way=True), member(FLEXPLATE, 2200, 300, one_way=True)]


@pytest.fixture
def engine(tmp_path):
    """Spun with both on, proved, and spun again with the damper off."""
    made = Engine(tmp_path, MEMBERS, true_crank(*MEMBERS))
    made.spin_with("damper", "flexplate")
    assert made.hang_both(front=400, rear=240)[0] == 0
    made.spin_with("flexplate")
    return made


def edit(engine, how):
    job = tomllib.loads(engine.job.read_text(encoding="utf-8"))
    how(job["crank"]["external"])
    engine.job.write_text(invented.text(job), encoding="utf-8")


def take_out(tables):
    del tables[0]


def is_refused(engine, told):
    for command in (["spins"], ["holes"], ["sign", "--by", "AB"], ["spin", *engine.shows(), "--on", "none"]):
        assert told in engine.refuses(*command)
    assert told in engine.run("next")[1]


def test_a_damper_that_is_off_and_without_holes_is_missed(engine):
    """Its table is gone, and with it what it brings: the crank alone is far out, or a false one inside."""
    whole = engine.state()["in_engine"]["front"]["whole"]
    edit(engine, take_out)
    is_refused(engine, "crank: the [crank] has no 'damper', which was on at spin 1; if it was renamed, name it")
    edit(engine, lambda tables: tables.insert(0, MEMBERS[0]))
    assert engine.state()["in_engine"]["front"]["whole"] == whole


def test_a_damper_with_holes_tells_them_and_the_way_on(engine):
    assert engine.run("holes", "--did", "damper, 180 deg crank, 10 mm drill, 1 mm deep", "--before", "1")[0] in (
        0,
        1,
    )
    edit(engine, take_out)
    is_refused(engine, "the [crank] has no 'damper', which was on at spin 1 and has 1 hole in the log")
    assert "put its table back and set gone = true in it" in engine.refuses("spins")


def test_it_came_off_for_good(engine):
    """Then the crank is told as it is, without it."""
    edit(engine, lambda tables: tables[0].update(gone=True))
    state = engine.state()
    assert [one["name"] for one in state["members"]] == ["flexplate"]
    assert state["in_engine"]["front"]["whole"]["unbalance_gmm"] > 500
    # What it brought explains what changed since the spin with it on, and that spin had it on.
    said = engine.run("spins")[1]
    assert ("reads otherwise" in said, "Station proved" in said) == (False, True)
    assert "on the crank: damper, flexplate" in said


def test_a_damper_of_another_name_is_missed_too(engine):
    edit(engine, lambda tables: tables[0].update(name="balancer"))
    is_refused(engine, "has no 'damper', which was on at spin 1; if it was renamed, name it as it was")
    edit(engine, lambda tables: tables[0].update(name="damper"))
    assert engine.run("sign", "--by", "AB")[0] == 0


def test_what_was_on_is_no_new_one(engine):
    edit(engine, lambda tables: tables[0].update(replaces="flexplate"))
    is_refused(engine, "'damper' was on at spin 1, and by replaces in its table it is not on the crank yet")


def test_a_job_that_has_no_crank_any_more(engine):
    job = tomllib.loads(engine.job.read_text(encoding="utf-8"))
    del job["crank"]
    engine.job.write_text(invented.text(job), encoding="utf-8")
    is_refused(engine, "the [crank] has no 'damper', which was on at spin 1")
