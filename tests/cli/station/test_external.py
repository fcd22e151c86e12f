"""Converting, by its command."""

import json

import pytest
from engine_shop import DAMPER, FLEXPLATE, Engine, member, true_crank

MEMBERS = [member(DAMPER, 700, 135), member(FLEXPLATE, 600, 300)]


@pytest.fixture
def engine(tmp_path):
    return Engine(tmp_path, MEMBERS, true_crank(*MEMBERS))


def test_to_internal_the_counterweights_bring_what_the_members_did(engine):
    """A true crank, from the job alone and from a spin without the members: the reverse of what they bring."""
    for spun in (False, True):
        if spun:
            engine.spin_with()
        status, said = engine.run("convert", "--to", "internal", "--json")
        found = json.loads(said)
        assert status == (0 if found["has_room"] else 1)
        for plane, one in zip(("front", "rear"), engine.own, strict=True):
            assert found["unbalance"][plane]["unbalance_gmm"] == pytest.approx(abs(one), abs=5 if spun else 1e-3)
        assert found["plan"]["operations"]
    assert engine.lines()


def test_it_says_what_to_do_and_what_may_hurt(engine):
    said = engine.run("convert", "--to", "internal")[1]
    assert "The counterweights must bring the same" in said
    assert "The crank has" in said
    assert "its maker's limits for holes and speed, local codes and qualified practice come first" in said
    said = engine.run("convert", "--to", "external")[1]
    assert "must give the same up" in said


def test_without_an_offset_there_is_nothing_to_convert(tmp_path):
    engine = Engine(tmp_path, [DAMPER])
    assert "no damper or flexplate of this job has an offset" in engine.refuses("convert", "--to", "internal")
