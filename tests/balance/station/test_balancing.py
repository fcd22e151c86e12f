"""The loop at the balancing station: from the first spin to the sign-off, by its commands and as JSON."""

from __future__ import annotations

import cmath
import json
import math
import random

import cranks
import invented
import pytest
from typer.testing import CliRunner

from truethrow.balance import demo
from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput
from truethrow.balance.correction import TwoPlanes, changed_by
from truethrow.balance.crank.holes import Hole, axial_hole, ground_arc, radial_hole
from truethrow.balance.job.job import load as load_job
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Record
from truethrow.balance.result.unbalance import permissible_unbalance_gmm
from truethrow.balance.station import balancing, stationfile, stationlog, stationwork
from truethrow.balance.station.spin import Instrument
from truethrow.cli.main import app

SIMULATED = 12
STATION = {"crank_mass": "24.3 kg", "grade": 6.3}


def polar(amount, angle_deg):
    return cmath.rect(amount, math.radians(angle_deg))


@pytest.fixture
def job(tmp_path):
    """A sound job with a crank, and the shop's profile beside it."""
    path = tmp_path / "my.toml"
    data = invented.document(station=STATION, crank={"counterweight": cranks.v8_weights()})
    path.write_text(invented.text(data), encoding="utf-8")
    (tmp_path / "station.toml").write_text(demo.text("station.toml"), encoding="utf-8")
    return path


@pytest.fixture
def run(job):
    """Run a command on the job; its answer as data. Faults come out as they are raised; a status of
    None may be any."""

    def ran(command, *args, status=0, as_json=True, station=None):
        station = station or job.with_name("station.toml")
        said = [command, str(job), "--station", str(station), *map(str, args), *(["--json"] if as_json else [])]
        done = CliRunner().invoke(app, said)
        if done.exception and not isinstance(done.exception, SystemExit):
            raise done.exception
        assert status is None or done.exit_code == status, done.output
        return json.loads(done.stdout) if as_json else done.stdout

    return ran


def added(reading, grams, at_deg, radius_mm=100.0):
    """What the station shows in a plane once a mass is on it: the profile's instrument, without an error."""
    amount, angle = map(float, reading.split("@"))
    instrument = Instrument("g", 100.0, True)
    shows = instrument.shows(instrument.vector_gmm(amount, angle) + polar(grams * radius_mm, at_deg))
    return "{:.4f}@{:.4f}".format(*shows)


def proved(run, front, rear, *more, status=None):
    """A spin, and a test mass that agrees: where the job stands then."""
    run("spin", front, rear, *more, status=None)
    on = ["--mass", 50, "--radius", 100, "--plane", "front", "--at", 30, added(front, 50, 30), rear]
    assert run("test-mass", *on)["agrees"]
    return run("spins", status=status)


def refused(run, *args, **more):
    with pytest.raises(BadInput) as caught:
        run(*args, **more)
    return [str(fault) for fault in caught.value.faults]


class Machine:
    """A crank with a hidden unbalance on a station with errors of its own: gain and angle, noise in each
    direction, and what it shows to a hundredth of a gram and to a degree. The drill goes too deep, or not deep
    enough."""

    def __init__(self, seed, job_path, gain=1.0, turn_deg=0.0, noise_gmm=8.0, depth_mm=0.25, fixture=(0j, 0j)):
        self.random = random.Random(seed)
        self.crank = load_job(job_path).crank
        self.hidden = TwoPlanes(
            *(polar(self.random.uniform(300, 2500), self.random.uniform(0, 360)) for _ in "fr")
        )
        self.factor, self.noise, self.depth = polar(gain, turn_deg), noise_gmm, depth_mm
        self.fixture = fixture
        self.instrument = Instrument("g", 100.0, True)
        self.on = [0j, 0j]

    def spin(self, turned=False):
        texts = []
        for own, theirs, mass in zip(self.hidden, self.fixture, self.on, strict=True):
            noise = complex(self.random.gauss(0, self.noise), self.random.gauss(0, self.noise))
            amount, angle = self.instrument.shows(
                (own + mass + (-theirs if turned else theirs)) * self.factor + noise
            )
            texts.append(f"{amount:.2f}@{angle:.0f}")
        return texts

    def drill(self, operation):
        """Do one operation of the plan, as JSON has it, to a depth that is not quite right."""
        hole = Hole(**{name: operation[name] for name in Hole._fields})
        if hole.kind != "slug":
            deep = max(0.1, hole.depth_mm + self.random.gauss(0, self.depth))
            hole = stationwork.as_deep(self.crank, hole, deep)
        self.hidden = self.hidden.plus(changed_by([hole], cranks.PLANES_MM))
        return hole


# The whole loop


@pytest.mark.parametrize("seed", range(SIMULATED))
def test_from_the_first_spin_to_the_sign_off(run, job, seed):
    """A hidden unbalance of up to 2500 g·mm a plane, a station that reads 4 % too much and 2 degrees off, holes a
    quarter of a millimetre off: a test mass before the first hole, at most three spins, and what is signed is what
    is hidden, within what is told."""
    chance = random.Random(seed)
    machine = Machine(seed, job, gain=chance.uniform(0.96, 1.04), turn_deg=chance.uniform(-2, 2))
    limit = permissible_unbalance_gmm(24.3, 6.3, 5600) / 2
    for number in range(1, 4):
        state = run("spin", *machine.spin(), *machine.spin(), status=None)
        assert state["spins"][-1]["number"] == number
        if number == 1:
            assert state["plan"] is None
            assert not run("test-mass", *mass(machine, "front", 30), status=None)["findings"]
        if state["inside"]:
            break
        assert refused(run, "sign", "--by", "AB")
        for operation in run("holes", status=1)["plan"]["operations"]:
            machine.drill(operation)
        assert all(one["done"] for one in run("holes", "--done")["plan"]["operations"])
    assert state["inside"], state
    signed = run("sign", "--by", "AB")
    assert signed["signed"]["by"] == "AB"
    for plane, hidden in zip(("front", "rear"), machine.hidden, strict=True):
        told = signed["residual"][plane]
        assert abs(hidden * machine.factor - polar(told["unbalance_gmm"], told["angle_deg"])) < 60
        assert abs(hidden) <= limit
        assert told["verdict"] == "inside"
    history = run("spins")
    ids = {r["record"] for r in history["spins"]}
    ids |= {hole["record"] for r in history["spins"] for hole in r["drilled_before"]}
    assert set(history["signed"]["names"]) == ids


def test_one_unit_is_as_good_as_another(run, job):
    """The same readings in oz·in: the same residual and the same plan."""
    shop = job.with_name("station.toml")
    inch = job.with_name("inch.toml")
    inch.write_text(shop.read_text().replace('unit = "g"', 'unit = "oz·in"').replace("radius = 100.0", ""))
    grams = proved(run, "12.4@37", "8.1@210", status=1)
    struck(job, "test")
    struck(job, "spin")

    def ounces(reading):
        amount, angle = reading.split("@")
        return f"{float(amount) * 100 / 720.077887375:.6f}@{angle}"

    run("spin", ounces("12.4@37"), ounces("8.1@210"), status=1, station=inch)
    texts = ounces(added("12.4@37", 50, 30)), ounces("8.1@210")
    on = ["--mass", 50, "--radius", 100, "--plane", "front", "--at", 30, *texts]
    assert run("test-mass", *on, station=inch)["agrees"]
    same = run("spins", status=1, station=inch)
    assert same["residual"]["front"]["unbalance_gmm"] == pytest.approx(1240, abs=0.01)
    assert [h["angle_deg"] for h in same["plan"]["operations"]] == [
        h["angle_deg"] for h in grams["plan"]["operations"]
    ]


def struck(job, action):
    """Strike the last record of an action out."""
    log = ReadingLog(log_path(job))
    log.append("strike", of=[record.id for record in log.records if record.action == action][-1], why="test")


# Spins


def test_two_planes_inside_need_nothing(run):
    state = proved(run, "0.3@37", "0.2@210", status=0)
    assert state["inside"]
    assert state["plan"] is None
    assert (
        state["residual"]["front"]["angle_uncertainty_deg"] is None
        or state["residual"]["front"]["unbalance_gmm"] == 30
    )


def test_what_the_station_cannot_see_is_too_close_to_call(run):
    """The limit is 130.5 g·mm, the station is sure to 30 g·mm and 2 %."""
    state = proved(run, "1.2@37", "0.2@210", status=1)
    assert state["residual"]["front"]["verdict"] == "too close to call"
    assert refused(run, "sign", "--by", "AB") == [
        "not signed: front plane: 120 ± 30 g·mm at 37.0°, too close to call; 130.5 g·mm may stay"
    ]


def test_the_fixture_is_taken_off_from_the_index_check_on(run, job):
    """The fixture's 900 g·mm stay out of this spin and of those after it, whether these are turned or not."""
    machine = Machine(1, job, noise_gmm=0.0, fixture=(polar(900, 120), polar(300, 10)))
    wrong = run("spin", *machine.spin(), status=1)["residual"]["front"]
    assert abs(polar(wrong["unbalance_gmm"], wrong["angle_deg"]) - machine.hidden.front) > 800
    run("spin", *machine.spin(turned=True), "--turned", status=1)
    assert run("test-mass", *mass(machine, "front", 30))["agrees"]
    state = run("spins", status=1)
    assert len(state["spins"]) == 1
    for operation in state["plan"]["operations"]:
        machine.drill(operation)
    run("holes", "--done")
    after = run("spin", *machine.spin(), status=None)
    for spin, plane in ((state, 0), (after, 0), (after, 1)):
        fixture = spin["spins"][-1]["fixture"][("front", "rear")[plane]]
        assert abs(polar(fixture["unbalance_gmm"], fixture["angle_deg"]) - machine.fixture[plane]) < 30
    for told, hidden in zip(after["residual"].values(), machine.hidden, strict=True):
        assert abs(polar(told["unbalance_gmm"], told["angle_deg"]) - hidden) < 45


def test_turned_runs_follow_straight_ones(run, job):
    told = ["--turned: turned, but no spin as it stands goes before; allowed: first the runs that are not turned"]
    assert refused(run, "spin", "1@2", "3@4", "--turned") == told
    proved(run, "12@2", "3@4")
    run("holes", "--done")
    assert refused(run, "spin", "1@2", "3@4", "--turned") == told
    assert [record.action for record in ReadingLog(log_path(job)).records].count("spin") == 1


def test_repeated_runs_tell_how_sure_a_spin_is(run):
    steady = run("spin", "12.4@37", "8.1@210", "12.4@37", "8.1@210", status=1)
    loose = run("spin", "10.4@37", "8.1@210", "14.4@37", "8.1@210", status=1)
    assert loose["residual"]["front"]["unbalance_gmm"] == pytest.approx(1240)
    gain = loose["residual"]["front"]["uncertainty_gmm"] - steady["residual"]["front"]["uncertainty_gmm"]
    assert gain > 50
    assert loose["residual"]["rear"]["uncertainty_gmm"] == steady["residual"]["rear"]["uncertainty_gmm"]


# Holes


def test_some_holes_and_a_depth_of_their_own(run, job):
    plan = proved(run, "12.4@220", "8.1@40", status=1)["plan"]
    drilled = [one["number"] for one in plan["operations"] if one["kind"] == "radial"]
    first = drilled[0]
    deep = plan["operations"][first - 1]["depth_mm"] - 1.5
    state = run("holes", "--done", f"{first}={deep}")
    assert [one["number"] for one in state["plan"]["operations"] if one["done"]] == [first]
    assert state["drilled_since"][0]["depth_mm"] == deep
    assert state["drilled_since"][0]["removes_gmm"] < plan["operations"][first - 1]["removes_gmm"]
    rest = ", ".join(str(n) for n in range(1, len(plan["operations"]) + 1) if n != first)
    assert refused(run, "holes", "--done", first, 99) == [
        f"hole {first}: is done already; allowed: {rest or 'spin again'}",
        f"hole 99: is not in the plan; allowed: {rest or 'spin again'}",
    ]
    run("holes", "--done")
    assert refused(run, "holes", "--done") == [
        "all of the plan is done already; allowed: spin: truethrow spin JOB"
    ]
    struck(job, "hole")
    assert len(run("holes", status=1)["drilled_since"]) == len(plan["operations"]) - 1


def test_a_depth_that_cannot_be_is_refused_and_nothing_is_written(run, job):
    plan = proved(run, "12.4@220", "8.1@40", status=1)["plan"]
    radial = next(one["number"] for one in plan["operations"] if one["kind"] == "radial")
    before = ReadingLog(log_path(job)).records
    assert refused(run, "holes", "--done", f"{radial}=90") == [
        f"hole {radial}: 90 mm deep is out of reach, 34.39 mm at most; "
        "allowed: the depth of its full diameter, in mm"
    ]
    assert refused(run, "holes", "--done", "x", "1=y") == [
        "NUMBER: 'x' does not do; allowed: a number of the plan, such as 3 or 3=12.5",
        "NUMBER: '1=y' does not do; allowed: a number of the plan, such as 3 or 3=12.5",
    ]
    assert refused(run, "holes", radial) == ["NUMBER: goes with --done only; allowed: --done 1 3=12.5"]
    assert ReadingLog(log_path(job)).records == before


def test_another_depth_takes_what_the_drill_takes_there(job):
    """As deep as it was it is the same hole; half as deep it takes a little more than half, since the rim is
    farther out; a slug has one depth."""
    crank = load_job(job).crank
    member = crank.members[0]
    density, rim = member.density_g_mm3, member.outer_mm
    takes = {
        "radial": radial_hole(density, rim, 12.0, 10.0, 118.0),
        "axial": axial_hole(density, 70.0, 12.0, 10.0, 118.0),
        "grind": ground_arc(density, rim, member.thickness_mm, 20.0, 10.0),
    }
    for kind, removed in takes.items():
        radius = 70.0 if kind == "axial" else rim
        made = Hole(
            member.name, kind, 180.0, radius, 0.0, 12.0, 10.0, removed.unbalance_gmm, removed.mass_g, 118.0, 20.0
        )
        again = stationwork.as_deep(crank, made, 10.0)
        assert again == made._replace(z_mm=again.z_mm)
        half = stationwork.as_deep(crank, made, 5.0)
        assert half.depth_mm == 5.0
        assert 0.5 < half.removes_gmm / made.removes_gmm < 0.6
    with pytest.raises(ValueError, match="as long as it is"):
        stationwork.as_deep(crank, made._replace(kind="slug"), 5.0)


def test_the_plan_learns_how_the_crank_answers(run, job):
    """A station that reads a tenth too much says so in the second plan."""
    machine = Machine(5, job, gain=1.1, noise_gmm=0.0, depth_mm=0.0)
    for operation in unproved_plan(run, machine):
        machine.drill(operation)
    run("holes", "--done")
    state = run("spin", *machine.spin(), status=None)
    assert 1.02 < state["response"]["front"]["factor"] < 1.12


def first_radial(plan):
    return next(one for one in plan["operations"] if one["kind"] == "radial")


def test_a_depth_that_is_none_is_refused(run, job):
    """What rounds to no depth at all would stand in the way of all that comes after it."""
    number = first_radial(proved(run, "12.4@220", "8.1@40", status=1)["plan"])["number"]
    for depth in ("0.0000001", "0", "0.05"):
        assert "is no hole, 0.1 mm at least" in refused(run, "holes", "--done", f"{number}={depth}")[0]
    for text in (f"{number}=1_0", f"{number}=nan", f"{number}=", "1_0=5", f"{number}=-4"):
        assert refused(run, "holes", "--done", text)
    assert refused(run, "holes", "--done", f"{number}=9", f"{number}=8")[0].endswith("each once")
    figures = "at 10 radius 83 z 5 diameter 12 depth 0 point 118 arc 0 takes 100 mass 1"
    with pytest.raises(ValueError, match="no hole"):
        stationlog.parse_hole("radial", f"a: {figures}")


def test_a_depth_has_the_unit_that_is_shown_or_its_own(run, job):
    number = first_radial(proved(run, "12.4@220", "8.1@40", status=1)["plan"])["number"]
    done = run("holes", "--done", f"{number}=0.5", "--show", "inch")
    assert done["drilled_since"][0]["depth_mm"] == pytest.approx(12.7)
    struck(job, "hole")
    assert "0.5 in deep" in run("holes", "--done", f"{number}=12.7mm", "--show", "inch", as_json=False)


def test_what_is_done_is_shown_as_it_is(run, job):
    """Shallower than planned: the list has the depth that it has, and what the station should read follows it."""
    plan = proved(run, "12.4@220", "8.1@40", status=1)["plan"]
    first = first_radial(plan)
    state = run("holes", "--done", f"{first['number']}={first['depth_mm'] - 3}")
    done = state["plan"]["operations"][first["number"] - 1]
    assert (done["depth_mm"], done["removes_gmm"]) == (
        state["drilled_since"][0]["depth_mm"],
        state["drilled_since"][0]["removes_gmm"],
    )
    assert state["plan"]["expect"] != plan["expect"]
    assert "is not as deep as planned" in run("holes", status=1, as_json=False)
    assert len(state["plan"]["operations"]) == len(plan["operations"])
    last = state["spins"][-1]["planes"]
    rest = [one for one in plan["operations"] if one is not first] + state["drilled_since"]
    holes = [Hole(**{name: one[name] for name in Hole._fields}) for one in rest]
    for plane, change in zip(("front", "rear"), changed_by(holes, cranks.PLANES_MM), strict=True):
        left = polar(last[plane]["unbalance_gmm"], last[plane]["angle_deg"]) + change
        told = state["plan"]["expect"][plane]
        assert abs(left - polar(told["unbalance_gmm"], told["angle_deg"])) < 0.1


def test_what_was_typed_is_shown_as_it_was_typed(run, job):
    """What was in force with it is in the log, for the tool alone."""
    state = proved(run, "12.4@220", "8.1@40", status=1)
    assert state["spins"][0]["typed"] == "12.4@220 8.1@40 in g at 100 mm"
    assert "basis" not in run("spins", status=1, as_json=False)
    kept = "; sense with, zero 0, sure to 2 % 2 deg 30 g·mm, planes 0 336 mm, basis "
    assert kept in ReadingLog(log_path(job)).records[0].typed


def test_the_rest_is_not_drilled_into_a_hole_that_is_deeper(run, job, monkeypatch):
    """Once the real holes leave no wall to the rest, nothing more of the plan is shown or recorded."""
    plan = proved(run, "12.4@220", "8.1@40", status=1)["plan"]
    assert len(plan["operations"]) > 1
    number = first_radial(plan)["number"]
    run("holes", "--done", number)
    monkeypatch.setattr(balancing, "still_fits", lambda crank, rest: (False,) * len(rest))
    state = run("spins", status=1)
    assert [one["number"] for one in state["plan"]["operations"]] == [number]
    told = "what was really drilled leaves too thin a wall to the rest"
    assert state["plan"]["halted"] == told
    assert f"Spin before going on: {told}." in run("spins", status=1, as_json=False)
    assert refused(run, "holes", "--done") == [f"{told}; allowed: spin before going on: truethrow spin JOB"]


def test_only_a_plan_that_was_told_is_recorded(run, job):
    """A drill goes between the spin and the holes: the plan has to be looked at, and named."""
    shop = job.with_name("station.toml")
    told = proved(run, "12.4@220", "8.1@40", status=1)["plan"]["name"]
    before = shop.read_text()
    other_drill = before.replace("diameter = 12.0\ndeepest = 30.0", "diameter = 11.0\ndeepest = 12.0")
    assert other_drill != before
    shop.write_text(other_drill)
    other = run("holes", status=1)["plan"]["name"]
    assert other != told
    assert refused(run, "holes", "--done")[0].startswith(
        "the station profile or the job has changed since this spin"
    )
    assert refused(run, "holes", "--done", "--plan", told) == [
        f"--plan {told}: is not the plan as it is now; allowed: {other}"
    ]
    assert f"--done --plan {other}" in run("holes", status=1, as_json=False)
    run("holes", "--done", 1, "--plan", other)
    shop.write_text(before)
    assert "cannot be told any more" in refused(run, "holes", "--done")[0]
    shop.write_text(other_drill)
    run("holes", "--done")
    assert refused(run, "holes", "--plan", other) == ["--plan: goes with --done only; allowed: --done --plan NAME"]


def test_a_test_mass_or_a_name_changes_no_plan(run, job):
    """Runs of a test mass scatter, and the plan is the one that the spin told all the same."""
    machine = Machine(7, job)
    run("spin", *machine.spin(), *machine.spin(), status=1)
    assert run("test-mass", *mass(machine, "front", 30))["agrees"]
    told = run("spins", status=1)["plan"]["name"]
    loose = mass(machine, "rear", 100)
    run("test-mass", *loose, *mass(machine, "rear", 100)[-2:], status=None)
    assert run("holes", status=1)["plan"]["name"] == told
    assert f"plan {told}" in run("holes", status=1, as_json=False)
    run("holes", "--done")


def test_a_struck_spin_before_is_a_change(run, job):
    proved(run, "12.4@220", "8.1@40")
    run("holes", "--done")
    run("spin", "4.4@100", "3.1@300", status=None)
    log = ReadingLog(log_path(job))
    log.append("strike", of=next(record.id for record in log.records if record.action == "hole"))
    assert balancing.load(job, job.with_name("station.toml")).has_changed


def test_holes_of_a_counterweight_that_is_gone_are_told(run, job):
    """Renamed, its holes would be forgotten, and the next ones drilled into them."""
    plan = proved(run, "12.4@220", "8.1@40", status=1)["plan"]
    run("holes", "--done")
    name = plan["operations"][0]["member"]
    job.write_text(job.read_text().replace(f'"{name}"', '"other"'))
    assert refused(run, "spins")[0].startswith(
        f"crank: the log has holes in '{name}', which the [crank] has not; allowed: their names as they were: "
    )


# A crank that does not answer


def planned(run, machine):
    """The plan's operations after the first spin, once a test mass agreed."""
    run("spin", *machine.spin(), status=1)
    assert run("test-mass", *mass(machine, "front", 30))["agrees"]
    return run("holes", status=1)["plan"]["operations"]


def unproved_plan(run, machine):
    """The plan's operations after the first spin, where nobody hangs a test mass."""
    run("spin", *machine.spin(), status=1)
    because = ("--unproved", "--by", "AB", "--why", "no tapped hole for a mass")
    return run("holes", *because, status=1)["plan"]["operations"]


def no_answer(run, job):
    """A station that counts the other way than the profile says, and nobody hung a test mass: the holes make it
    worse."""
    machine = Machine(8, job, noise_gmm=0.0)
    machine.hidden = TwoPlanes(polar(1500, 60), polar(1200, 130))
    machine.instrument = machine.instrument._replace(with_rotation=False)
    for operation in unproved_plan(run, machine):
        machine.drill(operation)
    run("holes", "--done")
    return machine, run("spin", *machine.spin(), status=1)


def test_a_crank_that_does_not_answer_stops_the_drilling(run, job):
    machine, state = no_answer(run, job)
    told = "the crank did not answer as the holes say, spin 2: drill nothing; hang a test mass first"
    assert (state["plan"], state["withheld"]) == (None, [told])
    assert state["response"]["front"] == {"factor": 1.0, "angle_deg": 0.0}
    said = run("holes", status=1, as_json=False)
    assert f"! T{told[1:]}." in said
    assert "takes" not in said
    (refusal,) = refused(run, "holes", "--done")
    assert refusal.startswith(f"{told}; run: truethrow test-mass {job} --station ")
    assert f"not signed: {told}" in refused(run, "sign", "--by", "AB")
    run("test-mass", *mass(machine, "front", 30), status=1)
    assert run("spins", status=1)["plan"] is None
    shop = job.with_name("station.toml")
    shop.write_text(shop.read_text().replace('sense = "with"', 'sense = "against"'))
    assert refused(run, "test-mass", *mass(machine, "front", 120))[0].startswith("test mass: the profile or its ")
    run("spin", *machine.spin(), status=1)
    assert run("test-mass", *mass(machine, "front", 120))["agrees"]
    state = run("holes", status=1)
    assert state["withheld"] == []
    assert state["plan"]["operations"]


def test_a_test_mass_that_agrees_lets_it_go_on(run, job):
    """Somebody drilled elsewhere: the station is right, and what it says now is what is left."""
    machine = Machine(8, job, noise_gmm=0.0)
    planned(run, machine)
    run("holes", "--done")
    machine.hidden = TwoPlanes(polar(1500, 60), polar(1200, 130))
    assert run("spin", *machine.spin(), status=1)["withheld"]
    assert run("test-mass", *mass(machine, "front", 30))["agrees"]
    state = run("holes", status=1)
    assert state["plan"]["operations"]
    assert state["response"]["front"]["factor"] == 1.0
    run("holes", "--done")


def test_what_was_learned_is_on_the_screen(run, job):
    machine = Machine(5, job, gain=1.1, noise_gmm=0.0, depth_mm=0.0)
    for operation in unproved_plan(run, machine):
        machine.drill(operation)
    assert "Learned" not in run("holes", "--done", as_json=False)
    assert "Learned from the holes so far: front reads 1." in run(
        "spin", *machine.spin(), status=None, as_json=False
    )


def test_a_hole_comes_back_from_the_log():
    hole = Hole("1 front: rim", "slug", 137.25, 79.0, -22.5, 16.0, 16.0, -2325.123457, -29.431, 180.0, 0.0)
    text = stationlog.hole_text(hole)
    assert stationlog.parse_hole("slug", text) == hole
    figures = "at 137.25 radius 79 z -22.5 diameter 16 depth 16 point 180 arc 0 takes -2325.123457 mass -29.431"
    assert text == f"1 front: rim: {figures}"
    with pytest.raises(ValueError, match="no hole"):
        stationlog.parse_hole("drilled", text)


# The test mass


def mass(machine, plane, at_deg, grams=50.0, radius_mm=100.0):
    """What the station shows with a mass on."""
    number = ("front", "rear").index(plane)
    machine.on = [0j, 0j]
    machine.on[number] = polar(grams * radius_mm, at_deg)
    texts = machine.spin()
    machine.on = [0j, 0j]
    return ["--mass", grams, "--radius", radius_mm, "--plane", plane, "--at", at_deg, *texts]


def test_a_test_mass_agrees(run, job):
    machine = Machine(7, job)
    run("spin", *machine.spin(), status=1)
    assert run("test-mass", *mass(machine, "rear", 100))["agrees"]


def test_a_wrong_sense_is_caught_before_anything_is_drilled(run, job):
    """The station counts against the rotation, the profile says with it. The test mass tells; once the profile is
    mended, the crank is spun again, and the spin that was typed before stays as it was read."""
    machine = Machine(8, job, noise_gmm=3.0)
    machine.instrument = machine.instrument._replace(with_rotation=False)
    shop = job.with_name("station.toml")
    wrong = run("spin", *machine.spin(), status=1)["residual"]["front"]
    assert abs(polar(wrong["unbalance_gmm"], wrong["angle_deg"]) - machine.hidden.front.conjugate()) < 60
    unsure = run("test-mass", *mass(machine, "front", 2), status=1)
    assert [found["kind"] for found in unsure["findings"]] == ["unsure"]
    assert unsure["findings"][0]["sentence"].endswith("put the mass at 90° and spin again")
    caught = run("test-mass", *mass(machine, "front", 60), status=1)
    assert [found["kind"] for found in caught["findings"]] == ["sense"]
    assert 'set sense = "against"' in caught["findings"][0]["sentence"]
    told = refused(run, "sign", "--by", "AB")
    assert "not signed: the last test mass does not agree with the profile: sense" in told
    assert "By the last test mass the angle is mirrored" in run("spins", status=1, as_json=False)
    shop.write_text(shop.read_text().replace('sense = "with"', 'sense = "against"'))
    void = run("spins", status=1)
    assert (void["residual"], void["plan"], void["edited_since_spin"]) == (None, None, 1)
    kept = void["spins"][0]["planes"]["front"]
    assert (kept["unbalance_gmm"], kept["angle_deg"]) == (wrong["unbalance_gmm"], wrong["angle_deg"])
    right = run("spin", *machine.spin(), status=1)["residual"]["front"]
    assert abs(polar(right["unbalance_gmm"], right["angle_deg"]) - machine.hidden.front) < 60
    assert run("test-mass", *mass(machine, "rear", 130))["agrees"]


def test_a_test_mass_that_fails_withholds_the_plan(run, job):
    machine = Machine(8, job, noise_gmm=3.0)
    assert planned(run, machine)
    machine.instrument = machine.instrument._replace(zero_deg=40.0)
    run("test-mass", *mass(machine, "front", 60), status=1)
    assert run("holes", status=1)["plan"] is None
    said = run("spins", status=1, as_json=False)
    assert "! Drill nothing and sign nothing by this station until then." in said
    assert "takes" not in said
    assert "the last test mass does not agree" in refused(run, "holes", "--done")[0]
    struck(job, "test")
    assert run("holes", status=1)["plan"]["operations"]


def test_a_mass_that_was_not_on_says_nothing_and_breaks_nothing(run, job):
    """The very readings of the spin, no change at all: it is told, and what another mass says stays in force."""
    machine = Machine(8, job, noise_gmm=0.0)
    spin = machine.spin()
    run("spin", *spin, status=1)
    off = ["--mass", 50, "--radius", 100, "--plane", "front", "--at", 60, *spin]
    assert [one["kind"] for one in run("test-mass", *off, status=1)["findings"]] == ["unseen"]
    run("spins", status=1)
    assert run("test-mass", *mass(machine, "front", 60))["agrees"]
    machine.instrument = machine.instrument._replace(zero_deg=40.0)
    run("test-mass", *mass(machine, "front", 30), status=1)
    kinds = [one["kind"] for one in run("test-mass", *off, status=1)["findings"]]
    assert kinds[0] == "unseen"
    assert len(kinds) == 2
    assert refused(run, "sign", "--by", "AB")


def test_a_profile_that_was_made_to_fit_one_mass_is_not_proved_by_it(run, job):
    """The station is right as the job has it, the profile has its zero at 180. At 90 degrees that is a mirror, and
    with the sense turned round it fits there; only another angle tells."""
    machine = Machine(8, job, noise_gmm=0.0)
    shop = job.with_name("station.toml")
    right = shop.read_text()
    shop.write_text(right.replace("zero = 0.0", "zero = 180.0"))
    run("spin", *machine.spin(), status=1)
    found = run("test-mass", *mass(machine, "front", 90), status=1)["findings"]
    assert [one["kind"] for one in found] == ["sense"]
    assert found[0]["sentence"].endswith("would look the same, so put the mass at 180° too")
    shop.write_text(shop.read_text().replace('sense = "with"', 'sense = "against"'))
    run("spin", *machine.spin(), status=1)
    for at in (90, 270):
        found = run("test-mass", *mass(machine, "front", at), status=1)["findings"]
        assert [one["kind"] for one in found] == ["alone"]
        assert found[0]["at_deg"] == (at + 90) % 360
    found = run("test-mass", *mass(machine, "front", 180), status=1)["findings"]
    assert [(one["kind"], one["with_rotation"]) for one in found] == [("sense", True)]
    assert abs((found[0]["zero_deg"] + 180) % 360 - 180) < 1
    shop.write_text(right)
    run("spin", *machine.spin(), status=1)
    assert run("spins", status=1)["test_mass"] is None
    assert run("test-mass", *mass(machine, "rear", 30))["agrees"]


def test_a_mass_whose_spin_is_struck_counts_no_more(run, job):
    machine = Machine(7, job)
    run("spin", *machine.spin(), status=1)
    run("test-mass", *mass(machine, "rear", 100))
    assert run("spins", status=1)["test_mass"]["agrees"]
    struck(job, "spin")
    assert run("spins", status=1)["test_mass"] is None


def test_turned_runs_whose_spin_is_struck_are_told(run, job):
    run("spin", "12@2", "3@4", status=1)
    run("spin", "12@2", "3@4", "--turned", status=1)
    log = ReadingLog(log_path(job))
    log.append("strike", of=log.records[0].id)
    assert refused(run, "spins")[0].endswith("strike it out: truethrow strike JOB RECORD")


def test_turned_runs_stay_with_their_spin(run, job):
    """The spin that they belong to is struck: they are not joined to the one before. Nor once the job changed."""
    run("spin", "12@2", "3@4", status=1)
    run("spin", "11@2", "3@4", status=1)
    run("spin", "12@2", "3@4", "--turned", status=1)
    log = ReadingLog(log_path(job))
    second = [record.id for record in log.records if record.action == "spin"][1]
    log.append("strike", of=second)
    assert refused(run, "spins")[0].endswith("strike it out: truethrow strike JOB RECORD")
    log.append("strike", of=log.records[-2].id)
    job.write_text(job.read_text().replace("538.4", "538.5", 1))
    told = refused(run, "spin", "1@2", "3@4", "--turned")[0]
    assert told.startswith("--turned: turned, but the job is not as it was")


def test_a_test_mass_needs_a_spin_without_it(run):
    options = ("--mass", 50, "--radius", 100, "--plane", "front", "--at", 90)
    (told,) = refused(run, "test-mass", *options, "1@2", "3@4")
    assert told.startswith("test mass: there is no spin yet; first a spin without it: truethrow spin /")
    bad = ("--mass", 0, "--radius", -1, "--plane", "front", "--at", 900)
    assert len(refused(run, "test-mass", *bad, "1@2", "3@4")) == 3


# The sign-off


def test_what_keeps_it_from_being_signed(run, job):
    assert refused(run, "sign", "--by", "AB") == ["not signed: there is no spin yet"]
    assert refused(run, "sign") == ["--by: blank; allowed: the initials of who signs"]
    proved(run, "12@2", "0.1@4", status=1)
    run("holes", "--done")
    assert refused(run, "sign", "--by", "AB")[0].endswith("done since the last spin: spin again")
    run("spin", "0.2@2", "0.1@4")
    job.write_text(job.read_text().replace("538.4", "538.5", 1))
    assert refused(run, "sign", "--by", "AB") == [
        "not signed: the job is not as it was at the last spin: hang its bobweights and spin again",
        f"next: truethrow spin {job} --station {job.with_name('station.toml')} FRONT REAR",
    ]
    run("spin", "0.2@2", "0.1@4")
    run("sign", "--by", "AB")
    assert "signed already by AB" in refused(run, "sign", "--by", "CD")[0]


def test_a_sign_off_holds_until_something_is_done(run, job):
    proved(run, "0.2@2", "0.1@4", status=0)
    assert run("sign", "--by", "AB")["signed"]
    struck(job, "spin")
    assert run("spins", status=1)["signed"] is None
    proved(run, "0.2@2", "0.1@4", status=0)
    run("sign", "--by", "AB")
    run("spin", "0.3@2", "0.1@4")
    assert run("spins")["signed"] is None
    run("sign", "--by", "AB")
    struck(job, "sign")
    assert run("spins")["signed"] is None


@pytest.mark.parametrize("change", ["job", "grade", "mass"])
def test_what_was_signed_for_another_state_holds_no_more(run, job, change):
    machine = Machine(8, job, noise_gmm=0.0)
    machine.hidden = TwoPlanes(polar(30, 60), polar(20, 130))
    run("spin", *machine.spin(), status=1)
    assert run("test-mass", *mass(machine, "front", 30))["agrees"]
    assert run("sign", "--by", "AB")["inside"]
    if change == "job":
        job.write_text(job.read_text().replace("538.4", "538.5", 1))
    elif change == "grade":
        job.write_text(job.read_text().replace("grade = 6.3", "grade = 1.6"))
    else:
        machine.instrument = machine.instrument._replace(zero_deg=40.0)
        run("test-mass", *mass(machine, "front", 60), status=1)
    state = run("spins", status=1)
    assert (state["inside"], state["signed"], state["signed_before"]["by"]) == (False, None, "AB")
    said = run("spins", status=1, as_json=False)
    assert "AB signed it for another state" in said
    assert "Signed by" not in said
    assert "Both planes are inside: truethrow sign" not in said
    assert not any("signed already" in line for line in refused(run, "sign", "--by", "CD"))


def test_an_option_that_does_not_do_is_told_before_anything_is_written(run, job):
    proved(run, "0.2@2", "0.1@4", status=0)
    before = log_path(job).read_bytes()
    options = ("--mass", 50, "--radius", 100, "--plane", "front", "--at", 90)
    for said in (
        ["sign", "--by", "AB"],
        ["spin", "12@220", "8@40"],
        ["test-mass", *options, "1@2", "3@4"],
        ["holes", "--done"],
    ):
        assert refused(run, *said, "--show", "cubits", as_json=False)[0].startswith(
            "--show: 'cubits' is not known"
        )
    assert log_path(job).read_bytes() == before


def test_what_was_looked_at_must_still_stand(run, job):
    """Another station spins between the look and the sign-off, or drills the same hole."""
    shop = job.with_name("station.toml")
    proved(run, "0.2@2", "0.1@4", status=0)
    looked = balancing.load(job, shop)
    proved(run, "12@220", "0.1@4", status=1)
    with pytest.raises(BadInput, match="written down meanwhile"):
        stationwork.sign(job, looked, "AB")
    run("spin", "12@220", "0.1@4", status=1)
    looked = balancing.load(job, shop)
    run("holes", "--done")
    with pytest.raises(BadInput, match="written down meanwhile"):
        stationwork.drilled(job, looked, {})
    assert len(balancing.load(job, shop).since) == len(looked.plan.operations)


# The log


def test_the_readings_are_not_disturbed(run, job):
    before = load_job(job)
    proved(run, "12@2", "0.1@4", status=1)
    run("holes", "--done")
    run("spin", "0.2@2", "0.1@4")
    run("sign", "--by", "AB")
    after = load_job(job)
    assert (after.digest, after.parts, after.seats, after.notes) == (before.digest, before.parts, before.seats, ())


def test_what_another_hand_wrote_is_told(run, job):
    log = ReadingLog(log_path(job))
    record = log.append("spin", typed="12 and 13", of="t1")
    log.append("hole", kind="radial", typed="somewhere", of="s")
    found = refused(run, "spins")
    assert len(found) == 2
    assert found[0].startswith(f"spin, record {record.id}: '12 and 13' are no runs; allowed: strike it out")
    struck(job, "spin")
    struck(job, "hole")
    assert run("spins", status=1)["spins"] == []


def test_a_station_record_needs_what_was_done(job):
    for action in ("spin", "hole", "test", "sign"):
        with pytest.raises(ValueError, match="needs what was done"):
            ReadingLog(log_path(job)).append(action, typed="x")


def test_following_needs_no_file(job):
    """From records alone, as a machine would."""
    profile = stationfile.load(job.with_name("station.toml"))
    made = load_job(job)
    basis = stationlog.Basis(profile.instrument, cranks.PLANES_MM, "00000000")
    typed = stationlog.with_basis("12@2 3@4 in g at 100 mm", basis)
    record = Record("a", "2025-01-01", "b", "", "spin", None, "", None, typed, made.digest, "")
    state = balancing.follow(made, profile, (100.0, 100.0), [record])
    assert state.last.front.amount_gmm == pytest.approx(1200)
    assert state.answers.response == (1, 1)


# What it needs


def test_a_job_that_does_not_say_what_may_stay(job):
    job.write_text(invented.text(invented.document()))
    with pytest.raises(BadInput, match="does not say what may stay"):
        balancing.load(job, job.with_name("station.toml"))


def test_a_job_without_a_crank_can_be_spun(run, job):
    job.write_text(invented.text(invented.document(station=STATION)))
    assert run("spin", "12@2", "3@4", status=1)["plan"] is None
    assert "no [crank]" in run("spins", status=1, as_json=False)
    assert refused(run, "holes") == ["crank: missing; allowed: a table [crank] with what may be drilled"]


def test_a_crank_is_checked_with_the_job(job):
    broken = invented.document(crank={"counterweight": [{"name": "a"}], "walls": 3}, scale={"resolution": -1})
    job.write_text(invented.text(broken))
    with pytest.raises(BadInput) as caught:
        load_job(job)
    wheres = {fault.where for fault in caught.value.faults}
    assert {"crank", "crank, counterweight, entry 1, at", "scale, resolution"} <= wheres


def test_a_fault_of_the_crank_is_no_missing_reading(run, job):
    data = invented.document(station=STATION, crank={"counterweight": [{"name": "a"}]})
    job.write_text(invented.text(data), encoding="utf-8")
    told = refused(run, "spins")
    assert any("missing" in line for line in told)
    assert not any("readings are missing" in line for line in told)


def test_a_shop_without_drills_is_told(run, job):
    bare = job.with_name("bare.toml")
    bare.write_text(job.with_name("station.toml").read_text().split("[[drill]]")[0])
    assert run("spin", "12@2", "3@4", status=1, station=bare)["plan"] is None
    assert "no [[drill]]" in run("spins", status=1, station=bare, as_json=False)
    assert refused(run, "holes", station=bare) == ["drill: missing; allowed: tables [[drill]], or [grind]"]


# Stacks and targets


def test_stacks_of_a_job(run):
    found = run("stack")
    assert (found["met"], found["proved"]) == (True, True)
    made = found["stacks"][0]
    assert made["throws"] == ["1", "2", "3", "4"]
    assert made["halves"][0] == made["halves"][1]
    assert abs(made["off_g"]) <= 0.2


def test_a_target_that_is_this_engine_s_needs_nothing(run):
    bobweight = run("stack")["stacks"][0]["hang_g"]
    found = run("target", bobweight)
    assert found["plan"]["operations"] == []
    assert not found["heavy_metal"]
    lighter = run("target", bobweight - 60, status=None)
    assert lighter["throws"][0]["over_g"] == pytest.approx(60)
    assert refused(run, "target", 1, 2, "x")[0].startswith("MASS: 'x' is not a number")


def test_a_target_is_held_against_what_is_hung(run, job):
    """The mean hangs at the station, and the first spin shows that, not each throw's own."""
    hung = [one["hang_g"] for one in run("stack")["stacks"] for _ in one["throws"]]
    assert [one["over_g"] for one in run("target", 1850, status=None)["throws"]] == pytest.approx(
        [g - 1850 for g in hung]
    )
    data = invented.document(station=STATION, crank={"counterweight": cranks.v8_weights()})
    data["bobweight"] = {**data.get("bobweight", {}), "hang": "none"}
    job.write_text(invented.text(data), encoding="utf-8")
    assert {one["over_g"] for one in run("target", 0)["throws"]} == {0.0}


# On the screen


def test_every_command_says_what_it_found(run, job):
    machine = Machine(3, job, noise_gmm=3.0)
    said = run("spin", *machine.spin(), "--note", "bobweights as hung", "--by", "AB", status=1, as_json=False)
    assert "No test mass has agreed with the station's profile as it is now" in said
    assert "OUTSIDE" in said
    assert "The station should then read about" not in said
    assert "agree" in run("test-mass", *mass(machine, "front", 60), as_json=False)
    assert "The station should then read about" in run("holes", status=1, as_json=False)
    for operation in run("holes", status=1)["plan"]["operations"]:
        machine.drill(operation)
    assert "All of it is done: spin again." in run("holes", "--done", as_json=False)
    run("spin", *machine.spin(turned=False), as_json=False)
    assert "Signed by AB" in run("sign", "--by", "AB", as_json=False)
    told = run("spins", "--show", "inch", as_json=False)
    assert "oz·in" in told
    assert "note: bobweights as hung" in told
    assert "on each half" in run("stack", as_json=False)
    assert "Heavy metal" in run("target", "1500", status=None, as_json=False)


def test_a_spinning_crank_is_warned_of_wherever_one_spins_next(run, job):
    machine = Machine(3, job, noise_gmm=3.0)
    told = "A spinning crank throws what is loose on it"
    assert told in run("spins", status=1, as_json=False)
    assert told in run("spin", *machine.spin(), status=1, as_json=False)
    assert told in run("test-mass", *mass(machine, "front", 60), as_json=False)


def test_what_would_help_is_said_in_words(run, job):
    """A plane with no metal at the angle; a floor that no number of runs gets below."""
    data = invented.document(station=STATION, crank={"counterweight": cranks.v8_weights()[:1]})
    job.write_text(invented.text(data), encoding="utf-8")
    proved(run, "42.4@37", "38.1@210")
    said = run("spins", status=1, as_json=False)
    assert "what would help: " in said
    assert "('" not in said
    shop = job.with_name("station.toml")
    shop.write_text(shop.read_text().replace("floor = 30.0", "floor = 300.0"))
    said = run("spins", status=1, as_json=False)
    assert "its floor in the profile is above what may stay" in said
    assert "spin more runs" not in said


@pytest.mark.parametrize("command", ["stack", "spin", "test-mass", "holes", "sign", "spins", "target"])
def test_help_has_an_example(command):
    done = CliRunner().invoke(app, [command, "--help"])
    assert f"truethrow {command} my.toml --station station.toml" in done.stdout


@pytest.mark.parametrize("word", ["unbalance", "residual", "plane", "balance quality"])
def test_the_words_are_those_of_the_vocabulary(word):
    """ISO 21940-2, from memory: unbalance (not imbalance), residual unbalance, correction plane, balance quality
    grade."""
    from pathlib import Path

    from truethrow import cli

    house = Path(next(iter(cli.__path__))).resolve().parent
    text = "".join(
        path.read_text(encoding="utf-8")
        for part in ("balance", "worksheets", "cli")
        for path in (house / part).rglob("*.py")
    )
    assert word in text
    assert "imbalance" not in text
