"""A bobweight is built wrong, its mass is typed wrong, or typed for another throw; and a crank that is good by its
spin while what turns in the engine is not. What is signed for is the sum, and each way out can be followed to its
end."""

from __future__ import annotations

import json
import shlex

import cranks
import invented
import pytest
from balancing_shop import Station, polar
from typer.testing import CliRunner
from within import app

RADIUS_MM = 46.0


@pytest.fixture
def station(tmp_path):
    made = Station(tmp_path, unit="g·mm")
    made.crank = [polar(20, 40), polar(15, 250)]
    return made


def asked(station):
    """Throw → what is asked for."""
    said = json.loads(station.run("stack", "--json")[1])
    return {one["throw"]: one["hang_g"] for one in said["built"]}


def pasted(text):
    """Run a command as it was told, its initials and its reason filled in."""
    words = shlex.split(text.replace("INITIALS", "AB").replace("REASON", "the customer's own"))
    assert words[0] == "truethrow"
    done = CliRunner().invoke(app, words[1:])
    if done.exception and not isinstance(done.exception, SystemExit):
        return 2, str(done.exception)
    return done.exit_code, done.output


def told(station, start):
    """The next step that says this, from its command on."""
    (step,) = [one for one in station.state()["next"] if start in one]
    return step[step.index("truethrow ") :]


def weigh_all(station, *more, **off):
    """Type what all bobweights weigh. off: throw1=grams over what is asked for."""
    masses = [f"{name}={g + off.get(f'throw{name}', 0):.1f}" for name, g in asked(station).items()]
    status, said = station.run("stack", "--built", *masses, "--by", "AB", *more)
    assert status in (0, 1), said
    return said


def test_a_bobweight_three_grams_too_heavy_is_found_by_weighing_it(station):
    """A hand would sign: the spin reads nothing, since the crank was balanced against the wrong bobweight."""
    station.spin()
    assert station.hang()[0] == 0
    state = station.state()
    assert (state["inside"], state["hung"][0]["weighed_g"]) == (True, None)
    said = station.run("spins")[1]
    assert "Not weighed, clamp and all: the bobweights of throws 1, 2, 3, 4" in said
    assert "a wrong plate would not be seen" in said
    said = weigh_all(station, "--hung", throw1=3)
    assert "The bobweight of throw 1 weighs" in said
    assert "3.0 g over what is asked for" in said
    refused = station.refuses("sign", "--by", "AB")
    assert "with what hanging leaves, 138 ±" in refused
    # The plate is changed, the bobweight weighed again: what was spun before says nothing of it.
    grams = asked(station)["1"]
    assert station.run("stack", "--built", f"1={grams}")[0] in (0, 1)
    refused = station.refuses("sign", "--by", "AB")
    assert "a bobweight was weighed after spin 1 (throw 1): hang it and spin again" in refused
    station.crank[0] -= 3 * RADIUS_MM
    station.spin()
    assert not station.state()["inside"]
    assert station.state()["hung"][0]["off_g"] == 0


def test_what_hung_is_weighed_and_signed_for(station):
    weigh_all(station)
    station.spin()
    station.hang()
    said = station.run("spins")[1]
    assert "Bobweights as weighed: throw 1 " in said
    assert "Not weighed" not in said
    assert station.run("sign", "--by", "AB")[0] == 0
    signed = station.state()["signed"]
    assert len(signed["built"]) == 4
    assert signed["aim"] == ""
    for one in signed["left"]:
        assert {"spin_gmm", "hanging_gmm", "unbalance_gmm"} <= one.keys()
    # Later it turns out that a bobweight had been otherwise, and hung like that: nothing is signed any more.
    weigh_all(station, "--hung", throw1=5)
    state = station.state()
    assert state["signed"] is None
    assert "hanging leaves" in state["void"][0]


def test_a_slip_of_the_pen_in_a_built_mass(station):
    """A digit: 20 g off is asked back, 2 g is told; the last weighing counts. Tenfold is no bobweight at all."""
    grams = asked(station)["2"]
    refused = station.refuses("stack", "--built", f"2={grams + 20:.1f}")
    assert "a slip of the pen?" in refused
    assert "is no bobweight of this throw" in station.refuses("stack", "--built", f"2={grams / 10:.2f}", "--sure")
    assert "is not a unit of mass" in station.refuses("stack", "--built", "2=1x")
    assert "throw 9: is not in the layout" in station.refuses("stack", "--built", f"9={grams}")
    assert "twice" in station.refuses("stack", "--built", f"2={grams}", f"2={grams}")
    assert "goes with --built only" in station.refuses("stack", f"2={grams}")
    assert "2.0 g over what is asked for" in station.run("stack", "--built", f"2={grams + 2:.1f}")[1]
    assert "over what is asked for" not in station.run("stack", "--built", f"2={grams:.1f}")[1]
    # It is canceled like any other step: what was typed before counts again.
    assert CliRunner().invoke(app, ["strike", station.called, "--last", "--yes"]).exit_code == 0
    assert "2.0 g over what is asked for" in station.run("stack")[1]


def test_masses_typed_for_the_wrong_throw(tmp_path):
    """Each throw hangs its own: what belongs to throw 2 is asked back at throw 1, and the other way round."""
    parts = invented.cylinders(big_end={3: 460.3, 5: 447.0})
    data = {"bobweight": {"share": 0.5, "oil": 4.0, "hang": "own"}}
    station = Station(tmp_path, unit="g·mm")
    station.job.write_text(
        invented.text(invented.document(parts, **{"station": {"limit": 130.5}}, **data)), encoding="utf-8"
    )
    grams = asked(station)
    assert grams["1"] != grams["2"]
    refused = station.refuses("stack", "--built", f"1={grams['2']}", f"2={grams['1']}")
    assert "is what throw 2 is asked for: typed for the wrong throw?" in refused
    assert station.run("stack", "--built", *(f"{name}={g}" for name, g in grams.items()))[0] in (0, 1)


# The spin is inside, and the sum is not


# Throw → the front plane's part of it, and where it is. [degrees]
ARMS = {"1": (1.0, 0), "2": (2 / 3, 90), "3": (1 / 3, 270), "4": (0.0, 180)}


def brought(grams):
    """What grams on each throw bring to the front and the rear plane. [g·mm]"""
    bring = [(grams[name] * RADIUS_MM * polar(1, degrees), part) for name, (part, degrees) in ARMS.items()]
    return [sum(one * part for one, part in bring), sum(one * (1 - part) for one, part in bring)]


def uneven(folder, crank):
    """Throw 2 carries 8 g more than the others, 6 more than the mean that hangs. crank: what it reads."""
    made = Station(folder, unit="g·mm")
    heavy = {cylinder: [456.3, 456.3] for cylinder in (3, 4)}
    data = invented.document(
        invented.cylinders(big_end=heavy),
        station={"limit": 130.5},
        crank={"counterweight": cranks.v8_weights()},
    )
    made.job.write_text(invented.text(data), encoding="utf-8")
    made.crank = crank
    weigh_all(made)
    made.spin()
    assert made.hang()[0] == 0
    return made


@pytest.fixture
def lopsided(tmp_path):
    """A crank that is good by its spin."""
    return uneven(tmp_path, [polar(20, 40), polar(15, 250)])


def drilled(station):
    """Do what the plan asks for: the crank is as the plan then expects it."""
    plan = station.state()["plan"]
    assert plan["operations"]
    status, said = station.run("holes", "--done", "--plan", plan["name"], "--by", "AB")
    assert status == 0, said
    station.crank = [polar(one["unbalance_gmm"], one["crank_angle_deg"]) for one in plan["expect"].values()]


def test_holes_that_aim_at_the_sum_to_the_end(lopsided):
    state = lopsided.state()
    assert state["plan"] is None
    assert [one["verdict"] for one in state["spins"][-1]["planes"].values()] == ["inside", "inside"]
    assert {one["verdict"] for one in state["in_engine"].values()} != {"inside"}
    lopsided.refuses("holes", "--done")
    assert "--aim sum" in lopsided.refuses("sign", "--by", "AB")
    assert "initials" in lopsided.refuses("holes", "--aim", "sum", "--why", "the customer's own")
    status, said = pasted(told(lopsided, "aim at the sum"))
    assert status == 0, said
    assert "these parts in these cylinders only, says AB" in said
    assert "is what the holes aim at already" in lopsided.refuses(
        *("holes", "--aim", "sum", "--by", "AB", "--why", "again")
    )
    drilled(lopsided)
    lopsided.spin()
    state = lopsided.state()
    assert {one["verdict"] for one in state["spins"][-1]["planes"].values()} != {"inside"}
    assert state["inside"], lopsided.run("spins")[1]
    assert {one["verdict"] for one in state["in_engine"].values()} == {"inside"}
    assert lopsided.run("sign", "--by", "AB")[0] == 0
    signed = lopsided.state()
    assert signed["signed"]["aim"] == signed["for_these_parts"]["id"]
    assert "these parts in these cylinders only" in lopsided.run("spins")[1]
    # What it was said by is taken back: then the crank is not signed either.
    assert lopsided.run("holes", "--aim", "spin", "--by", "AB", "--why", "other parts come")[0] == 0
    state = lopsided.state()
    assert (state["inside"], state["signed"]) == (False, None)


def test_other_parts_are_not_signed_by_the_sum_of_those_before(lopsided):
    """The holes aimed at the sum; then the heavy rod is changed for one like the others."""
    pasted(told(lopsided, "aim at the sum"))
    drilled(lopsided)
    lopsided.spin()
    assert lopsided.state()["inside"]
    assert lopsided.run("sign", "--by", "AB")[0] == 0
    lopsided.job.write_text(lopsided.job.read_text("utf-8").replace("456.3", "452.3"), encoding="utf-8")
    state = lopsided.state()
    assert (state["inside"], state["signed"], state["for_these_parts"]) == (False, None, None)
    assert "hang its bobweights and spin again" in lopsided.refuses("sign", "--by", "AB")
    # Two grams less on each throw, which are like weights all round; what was drilled is still missing.
    weigh_all(lopsided)
    lopsided.spin()
    state = lopsided.state()
    assert (state["inside"], state["for_these_parts"]) == (False, None)
    assert "not signed" in lopsided.refuses("sign", "--by", "AB")


def test_own_bobweights_to_the_end(lopsided):
    """What hangs now is what each throw carries: the crank, good with the mean, reads the difference."""
    before = asked(lopsided)
    text = lopsided.job.read_text("utf-8").replace("oil = 4.0", 'oil = 4.0\nhang = "own"')
    lopsided.job.write_text(text, encoding="utf-8")
    after = asked(lopsided)
    assert "hang its bobweights and spin again" in lopsided.refuses("sign", "--by", "AB")
    weigh_all(lopsided)
    more = brought({name: after[name] - before[name] for name in ARMS})
    lopsided.crank = [own + one for own, one in zip(lopsided.crank, more, strict=True)]
    lopsided.spin()
    drilled(lopsided)
    lopsided.spin()
    assert lopsided.state()["inside"], lopsided.run("spins")[1]
    assert lopsided.run("sign", "--by", "AB")[0] == 0
    assert lopsided.state()["signed"]["aim"] == ""


def test_the_spin_is_outside_and_the_sum_is_not(tmp_path):
    """The crank is off by just what the heavy throw brings: holes by the spin would have it true for its
    bobweight, and leave the engine worse. It goes with these parts without a hole, once somebody says so."""
    off = brought({"1": -2, "2": 6, "3": -2, "4": -2})
    station = uneven(tmp_path, [-one for one in off])
    state = station.state()
    assert "outside" in [one["verdict"] for one in state["spins"][-1]["planes"].values()]
    assert {one["verdict"] for one in state["in_engine"].values()} == {"inside"}
    assert not state["inside"]
    said = station.run("spins")[1]
    assert "is inside as it is; these holes make the crank true for its bobweight" in said
    assert "--aim sum" in station.refuses("sign", "--by", "AB")
    assert pasted(told(station, "aim at the sum"))[0] == 0
    state = station.state()
    assert (state["inside"], state["plan"]) == (True, None)
    assert station.run("sign", "--by", "AB")[0] == 0


def test_two_holes_that_were_forgotten_are_recorded_by_one_command(tmp_path):
    station = uneven(tmp_path, [polar(400, 40), polar(300, 250)])
    holes = [f"{member}, 137 deg, 12 mm drill, 5 mm deep" for member in ("1a", "1b")]
    status, said = station.run("holes", "--did", holes[0], "--did", holes[1], "--before", 1, "--by", "AB")
    assert status == 0, said
    assert len(station.state()["spins"][0]["drilled_before"]) == 2
