"""A damper or a flexplate sits half a turn off where its keyway or dowel should be; or it is on, or off, otherwise
than somebody said. Each through the command line: nothing is drilled, nothing signed, and what happened is
named."""

from __future__ import annotations

import random
import tomllib

import invented
import pytest
from balancing_shop import polar
from engine_shop import DAMPER, FLEXPLATE, Engine, member, true_crank

MEMBERS = [member(DAMPER, 1400, 135), member(FLEXPLATE, 2200, 300)]


@pytest.fixture
def engine(tmp_path):
    """A crank that is true with both on: without them it reads the reverse of what they bring."""
    return Engine(tmp_path, MEMBERS, true_crank(*MEMBERS))


def prove(engine):
    """Two known masses on what was spun last."""
    status, said = engine.hang_both(front=400, rear=240)
    assert status == 0, said


def edit(engine, changed):
    """Somebody edits the damper's table in the job."""
    job = tomllib.loads(engine.job.read_text(encoding="utf-8"))
    job["crank"]["external"][0].update(changed)
    engine.job.write_text(invented.text(job), encoding="utf-8")


def test_a_true_crank_is_signed_bare_and_with_both_on(engine):
    """Signed is the sum: the spin alone reads thousands."""
    engine.spin_with()
    prove(engine)
    said = engine.run("spins")[1]
    assert "Without damper and flexplate a true crank reads" in said
    assert "members off" in said
    state = engine.state()
    assert state["spins"][0]["on"] == []
    assert state["in_engine"]["front"]["spin"]["unbalance_gmm"] > 500
    assert state["in_engine"]["front"]["whole"]["unbalance_gmm"] < 5
    assert engine.run("sign", "--by", "AB")[0] == 0
    engine.spin_with("damper", "flexplate")
    prove(engine)
    assert engine.run("sign", "--by", "AB")[0] == 0


@pytest.mark.parametrize("name", ["damper", "flexplate"])
def test_half_a_turn_off_is_told_by_a_spin_with_and_one_without(engine, name):
    engine.turned[name] = 180.0
    engine.spin_with()
    prove(engine)
    said = engine.spin_with(name)
    assert f"looks like: {name} is mounted half a turn off its keyway or dowel" in said
    engine.must_not_be_signed_or_drilled()
    # It is mounted as it should be, and spun again: that agrees with the bare crank.
    engine.turned.clear()
    engine.spin_with(name)
    prove(engine)
    assert engine.state()["not_signable"] == []


def test_half_a_turn_off_at_the_only_spin_is_never_drilled_by(engine):
    """The holes would have gone where the damper, mounted right, makes everything twice as bad."""
    engine.turned["damper"] = 180.0
    engine.spin_with("damper", "flexplate")
    prove(engine)
    assert not engine.state()["inside"]
    said = engine.must_not_be_signed_or_drilled()
    assert "nothing shows that damper, flexplate sits on the crank where its keyway or dowel is declared" in said
    assert "--on none" in said


def test_one_that_fits_one_way_alone_need_not_be_shown(tmp_path):
    one_way = [one | {"one_way": True} for one in MEMBERS]
    engine = Engine(tmp_path, one_way, true_crank(*one_way))
    engine.spin_with("damper", "flexplate")
    prove(engine)
    assert engine.run("sign", "--by", "AB")[0] == 0


def test_a_damper_that_was_said_on_and_was_not(engine):
    engine.spin_with()
    prove(engine)
    said = engine.spin(*engine.shows(), "--on", "damper")
    assert "damper was not on the crank" in said
    engine.must_not_be_signed_or_drilled()


def test_a_damper_that_was_said_off_and_was_on(engine):
    engine.spin_with()
    prove(engine)
    engine.on = {"damper"}
    said = engine.spin(*engine.shows(), "--on", "none")
    assert "damper was still on the crank" in said
    engine.must_not_be_signed_or_drilled()


def test_runs_on_an_arbor_counted_from_the_wrong_one(tmp_path):
    """The arbor's part is taken for the damper's: a spin with it on shows what it really brings."""
    runs = {
        "straight": {"unbalance": "1500 g mm", "angle": 90.0},
        "turned": {"unbalance": "1300 g mm", "angle": 270.0},
        "uncertainty": "30 g mm",
    }
    right = DAMPER | {"arbor": runs | {"counted": "arbor"}}
    engine = Engine(tmp_path, [DAMPER | {"arbor": runs | {"counted": "member"}}])
    engine.carried["damper"] = (-80.0, Engine._of(member(DAMPER, 1400, 135)))
    engine.own = true_crank(member(DAMPER, 1400, 135))
    engine.spin_with()
    prove(engine)
    said = engine.spin_with("damper")
    assert "reads otherwise than spin 1" in said
    engine.must_not_be_signed_or_drilled()
    assert right["arbor"]["counted"] == "arbor"


def test_the_same_wrong_mounting_spun_twice_proves_nothing(engine):
    engine.spin_with()
    prove(engine)
    engine.spin_with("damper")
    engine.turned["damper"] = 180.0
    engine.spin_with("damper")
    engine.spin_with("damper")
    said = engine.must_not_be_signed_or_drilled()
    assert "nothing shows that damper sits on the crank" in said


def test_what_a_spin_with_it_on_contradicts_is_not_forgotten_once_it_comes_off(engine):
    """Bare, the crank reads as before; what is drilled and signed would rest on what the damper does not bring."""
    engine.spin_with()
    prove(engine)
    engine.turned["damper"] = 180.0
    engine.spin_with("damper")
    engine.spin_with()
    said = engine.must_not_be_signed_or_drilled()
    assert "damper was on at spin 2 and off at spin 3" in said
    assert "g·mm at the crank's 315°, by the job 1400 g·mm at the crank's 135°" in said
    assert "FRONT REAR --on damper" in said
    # Another spin without it does not mend that; the damper mounted right and spun does.
    engine.spin_with()
    engine.must_not_be_signed_or_drilled()
    engine.turned.clear()
    engine.spin_with("damper")
    engine.spin_with()
    assert engine.state()["not_signable"] == []


def test_where_the_declaration_was_the_slip_it_is_mended_without_another_spin(tmp_path):
    """The maker's angle was typed half a turn off: the crank is what the damper really needs."""
    really, typed = member(DAMPER, 1400, 135), member(DAMPER, 1400, 315)
    engine = Engine(tmp_path, [typed], true_crank(really))
    engine.carried["damper"] = (-80.0, -engine.carried["damper"][1])
    engine.spin_with()
    prove(engine)
    engine.spin_with("damper")
    engine.spin_with()
    engine.must_not_be_signed_or_drilled()
    edit(engine, {"offset": really["offset"]})
    assert engine.run("sign", "--by", "AB")[0] == 0


@pytest.mark.parametrize(
    "changed",
    [
        {"offset": member(DAMPER, 1400, 315)["offset"]},
        {"offset": member(DAMPER, 1900, 140)["offset"]},
        {"keyway": 225.0},
        {"at": -380.0},
    ],
)
@pytest.mark.parametrize("signed", [False, True])
def test_a_member_is_edited_while_it_is_off(engine, changed, signed):
    """What it brings by the job must agree with what the spins with it on measured: no figure typed since does."""
    engine.spin_with()
    prove(engine)
    engine.spin_with("damper")
    engine.spin_with()
    assert engine.state()["not_signable"] == []
    if signed:
        assert engine.run("sign", "--by", "AB")[0] == 0
    edit(engine, changed)
    state = engine.state()
    assert (state["plan"], state["inside"]) == (None, False)
    engine.refuses("holes", "--done")
    assert "damper was on at spin 2 and off at spin 3" in engine.refuses("sign", "--by", "AB")
    edit(engine, {key: MEMBERS[0][key] for key in changed})
    assert ("signed already" in str(engine.run("sign", "--by", "AB"))) == signed


def test_a_member_is_edited_while_it_is_off_that_nothing_measured(tmp_path):
    """It fits one way alone, and a hole was drilled before it came off: no two spins show what it brings."""
    one_way = [one | {"one_way": True} for one in MEMBERS]
    engine = Engine(tmp_path, one_way, true_crank(*one_way))
    engine.spin_with("damper", "flexplate")
    prove(engine)
    status, said = engine.run("holes", "--did", "1a, 180 deg, 10 mm drill, 1 mm deep")
    assert status == 0, said
    engine.spin_with("flexplate")
    assert "not as at spin 1, the last with it on" not in str(engine.run("spins"))
    edit(engine, {"offset": member(DAMPER, 1400, 315)["offset"]})
    assert "not as at spin 1, the last with it on (offset angle of damper" in str(engine.run("spins"))
    edit(engine, {"offset": MEMBERS[0]["offset"], "at": -70.0})
    assert "at of damper -80 → -70 mm" in str(engine.run("spins"))


# 60 engines with offsets of any size at any angle
MARKS = {"whole": 60, "sample": 4}


@pytest.mark.simulation(**MARKS)
def test_engines_with_any_offsets_are_signed_inside_their_true_limit(tmp_path, seed):
    """The crank is spun without its members, drilled until the sum is inside; with an odd seed both are then
    mounted and spun, too. What really turns in the engine is inside each plane's limit whenever it is signed."""
    rng = random.Random(seed)
    tables = [
        member(DAMPER, rng.uniform(100, 2500), rng.uniform(0, 360), 20.0),
        member(FLEXPLATE, rng.uniform(100, 2500), rng.uniform(0, 360), 20.0),
    ]
    own = [one + polar(rng.uniform(100, 1500), rng.uniform(0, 360)) for one in true_crank(*tables)]
    engine = Engine(tmp_path, tables, own, seed, noise=3.0, station={"limit": 400.0})
    # What they really have is off from what their maker tells, inside its ±.
    for name, (z_mm, vector) in engine.carried.items():
        engine.carried[name] = (z_mm, vector + polar(rng.uniform(0, 15), rng.uniform(0, 360)))
    engine.spin_with()
    prove(engine)
    for _ in range(4):
        if engine.state()["inside"] or not engine.drill(sure_mm=0.15):
            break
        engine.spin_with()
    if seed % 2:
        engine.spin_with("damper", "flexplate")
        prove(engine)
    if engine.run("sign", "--by", "AB")[0] == 0:
        assert max(map(abs, engine.whole)) <= 400.0
        signed = [one["unbalance_gmm"] for one in engine.state()["signed"]["left"]]
        assert signed == pytest.approx([abs(one) for one in engine.whole], abs=200)
    else:
        assert engine.state()["not_signable"]
