"""What members bring, a new one made equal to an old one, and converting, by their commands."""

import json

import pytest
from balancing_shop import polar
from engine_shop import DAMPER, FLEXPLATE, Engine, angle_of, member, true_crank

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


def replaced(tmp_path, new_gmm=800, new_at=40, **more):
    new = member(DAMPER | {"name": "new damper", "replaces": "damper"}, new_gmm, new_at) | more
    tables = [*MEMBERS, new]
    return Engine(tmp_path, tables, true_crank(*MEMBERS))


def test_a_new_damper_is_drilled_until_it_is_equal(tmp_path):
    """By hand: what the told holes take off it, and the next measurement says equal."""
    engine = replaced(tmp_path)
    engine.spin_with("flexplate")
    status, said = engine.run("member", "new damper", "--json")
    found = json.loads(said)
    assert (status, found["equal"]) == (1, False)
    vector = polar(800, 40)
    for one in found["operations"]:
        assert one["member"] == "new damper"
        assert (one["crank_angle_deg"] - 45) % 360 == pytest.approx(one["from_keyway_deg"])
        vector -= polar(one["removes_gmm"], one["crank_angle_deg"])
    assert abs(vector - polar(700, 135)) <= found["too_much"]["uncertainty_gmm"]
    # With it on, the crank must read what it does with the old one: here nothing.
    assert found["must_read"]["front"]["unbalance_gmm"] < 5
    again = replaced(tmp_path, abs(vector), angle_of(vector))
    assert json.loads(again.run("member", "new damper", "--json")[1])["equal"]


def test_a_new_damper_measured_half_a_turn_off_is_far_from_equal(tmp_path):
    """The story: its runs on the arbor were counted from the mark opposite its keyway."""
    engine = replaced(tmp_path, 700, 315)
    status, said = engine.run("member", "new damper")
    assert status == 1
    assert "1,400" in said or "1400" in said
    assert "from its keyway" in said
    assert "its maker's limits for holes and speed" in said


def test_a_new_damper_mounted_half_a_turn_off_is_told_on_the_crank(tmp_path):
    """It is equal and takes the old one's place in the job: the spins without it and with it say where it sits."""
    tables = [member(DAMPER | {"name": "new damper"}, 700, 135), MEMBERS[0] | {"gone": True}, MEMBERS[1]]
    engine = Engine(tmp_path, tables, true_crank(*MEMBERS))
    engine.turned["new damper"] = 180.0
    engine.spin_with()
    assert engine.hang_both(front=400, rear=240)[0] == 0
    said = engine.spin_with("new damper")
    assert "new damper is mounted half a turn off" in said
    engine.must_not_be_signed_or_drilled()


def test_two_runs_on_an_arbor_are_lines_for_the_job(engine):
    """1000 at 30 from its keyway, the arbor 200 at 0, counted from the arbor: by hand 1177.6 and 832.4."""
    runs = [polar(1000, 30) + 200, 200 - polar(1000, 30)]
    texts = [f"{abs(one):.3f}@{angle_of(one):.3f}" for one in runs]
    on = ("--straight", texts[0], "--turned", texts[1], "--counted", "arbor")
    found = json.loads(engine.run("member", "damper", *on, "--json")[1])
    assert found["own"] == {"unbalance_gmm": pytest.approx(1000, abs=0.1), "angle_deg": pytest.approx(30, abs=0.1)}
    said = engine.run("member", "damper", *on)[1]
    (line,) = [one.strip() for one in said.splitlines() if one.strip().startswith("arbor = ")]
    text = engine.job.read_text("utf-8")
    start = text.index("[crank.external.offset]")
    end = text.index("[[crank.external]]", start)
    engine.job.write_text(text[:start] + line.replace("arbor =", "arbor =") + "\n\n" + text[end:], "utf-8")
    assert "by two runs on an arbor" in engine.run("member")[1]


def test_what_is_not_said_of_an_arbor_is_asked(engine):
    assert "not all of it is said" in engine.refuses("member", "damper", "--straight", "1@0")
    assert "balancer is no damper" in engine.refuses("member", "balancer")


def test_a_member_that_its_maker_lets_turn_slower_than_the_engine_is_refused(tmp_path):
    """As a fault of the job, before anything is spun."""
    engine = Engine(tmp_path, [DAMPER | {"fastest": 3000}])
    assert "external damper, fastest: 3000 r/min, and the engine turns" in engine.refuses("spin", "1@0", "1@0")


def test_a_spin_of_the_crank_as_it_was_is_nothing_to_convert_from(engine):
    """Turned since: as from a true crank, and it says so."""
    before = engine.run("convert", "--to", "internal", "--json")[1]
    engine.own = [one + 900 for one in engine.own]
    engine.spin_with()
    text = engine.job.read_text(encoding="utf-8")
    engine.job.write_text(text.replace("outer_radius = 90.0", "outer_radius = 89.99"), encoding="utf-8")
    found = json.loads(engine.run("convert", "--to", "internal", "--json")[1])
    assert found["unbalance"] == json.loads(before)["unbalance"]
    assert found["spin_not_counted"].startswith("the [crank] in the job is not as it was at spin 1")
    assert "! Nothing here goes on from the last spin: " in engine.run("convert", "--to", "internal")[1]
