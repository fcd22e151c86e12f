"""What the station's hands did is written down, or refused: spins, holes, test masses, sign-offs."""

from __future__ import annotations

import re

import invented
import kept
import pytest
from station_shop import added, first_radial, proved, refused, struck

from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput
from truethrow.balance.crank.holes import Hole, axial_hole, ground_arc, radial_hole
from truethrow.balance.job.job import build as build_job
from truethrow.balance.job.job import load as load_job
from truethrow.balance.log.place import Snapshot, open_log
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.station import balancing, stationlog, stationwork
from truethrow.balance.station.stationlog import KnownMass


def test_turned_runs_follow_straight_ones(run, job):
    told = ["--turned: turned, but no straight spin comes before it; allowed: first the runs that are not turned"]
    assert refused(run, "spin", "1@2", "3@4", "--turned") == told
    proved(run, "12@2", "3@4")
    run("holes", "--done")
    assert refused(run, "spin", "1@2", "3@4", "--turned") == told
    assert [record.action for record in ReadingLog(log_path(job)).records].count("spin") == 1


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
    done, unknown = refused(run, "holes", "--done", first, 99)
    assert re.match(rf"hole {first}: was recorded at [-0-9]+ [0-9:]+ UTC, {deep:g} mm deep \(record ", done)
    assert unknown == f"hole 99: is not in the plan; allowed: {rest}"
    run("holes", "--done")
    [fault] = refused(run, "holes", "--done")
    assert fault.startswith(f"all of the plan is done already; run: truethrow spin {job} --station ")
    struck(job, "hole")
    assert len(run("holes", status=1)["drilled_since"]) == len(plan["operations"]) - 1


def test_a_depth_that_cannot_be_is_refused_and_nothing_is_written(run, job):
    plan = proved(run, "12.4@220", "8.1@40", status=1)["plan"]
    radial = next(one["number"] for one in plan["operations"] if one["kind"] == "radial")
    before = ReadingLog(log_path(job)).records
    assert refused(run, "holes", "--done", f"{radial}=90") == [
        f"hole {radial}: 90 mm deep is out of reach, 33.19 mm at most; "
        "allowed: the depth of its full diameter, in mm; if it really is so, tell it with --did"
    ]
    assert refused(run, "holes", "--done", "x", "1=y") == [
        "NUMBER: 'x'; allowed: a number of the plan, such as 3, 3=12.5, or 4=148.2g",
        "NUMBER: '1=y'; allowed: a number of the plan, such as 3, 3=12.5, or 4=148.2g",
    ]
    assert refused(run, "holes", radial) == ["NUMBER: goes with --done only; such as --done 1 3=12.5"]
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


def test_a_depth_that_is_none_is_refused(run, job):
    """What rounds to no depth at all would stand in the way of all that comes after it."""
    number = first_radial(proved(run, "12.4@220", "8.1@40", status=1)["plan"])["number"]
    for depth in ("0.0000001", "0", "0.05"):
        assert "is no hole, 0.1 mm at least" in refused(run, "holes", "--done", f"{number}={depth}")[0]
    for text in (f"{number}=1_0", f"{number}=nan", f"{number}=", "1_0=5", f"{number}=-4"):
        assert refused(run, "holes", "--done", text)
    assert refused(run, "holes", "--done", f"{number}=9", f"{number}=8")[0].endswith("each number once")
    with pytest.raises(ValueError, match="no hole"):
        stationlog.hole_of(kept.drilled("s-1", depth_mm=0.0))


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
        "the station profile, the job or what holes aim at has changed since this spin"
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
    assert refused(run, "holes", "--plan", other) == ["--plan: goes with --done only; such as --done --plan NAME"]


def test_a_test_mass_needs_a_spin_without_it(run):
    options = ("--mass", 50, "--radius", 100, "--plane", "front", "--at", 90)
    (told,) = refused(run, "test-mass", *options, "1@2", "3@4")
    assert told.startswith("test mass: there is no spin yet; first a spin without it: truethrow spin /")
    bad = ("--mass", 0, "--radius", -1, "--plane", "front", "--at", 900)
    assert len(refused(run, "test-mass", *bad, "1@2", "3@4")) == 3


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


def test_a_tag_in_ounces_is_signed_for_in_ounces():
    """Each throw has its own; the scale shows ounces."""
    each = ["65.1 oz", "65.15 oz", "65.1 oz", "65 oz"]
    data = invented.document([], bobweight={"hang": each}, scale={"resolution": "0.005 oz"})
    job = build_job(data, "my.toml", given=True)
    assert stationwork.by_the_tag(job) == "parts not seen: the crank with the given 65.1 65.15 65.1 65 oz"


def test_what_is_sent_with_an_id_has_it_as_its_record(run, job):
    at = Snapshot(job)
    profile = job.with_name("station.toml")
    stationwork.spin(at, balancing.load(at, profile), ["12.4@220", "8.1@40"], by="AB", key="spin-1")
    masses = KnownMass("front", 150.0, 100.0, 30.0), KnownMass("rear", 100.0, 100.0, 120.0)
    read = [added("12.4@220", 150, 30), added("8.1@40", 100, 120)]
    stationwork.known_mass(at, balancing.load(at, profile), masses, read, "AB", "150g and 100g", key="mass-1")
    stationwork.drilled(at, balancing.load(at, profile), {1: None}, "CD", key="hole-1")
    assert [one.id for one in open_log(job).records] == ["spin-1", "mass-1", "hole-1"]
    with pytest.raises(BadInput, match=r"hole 1: was recorded by CD at [-0-9]{10} [0-9:]{5} UTC, "):
        stationwork.drilled(at, balancing.load(at, profile), {1: None}, "AB", key="hole-2")


def speeds(job):
    return [record.speed_rpm for record in ReadingLog(log_path(job)).records if hasattr(record, "speed_rpm")]


def test_a_spin_keeps_the_speed_that_was_told_else_the_usual_one_else_none(run, job):
    """None is 0: nothing is held against it later."""
    run("spin", "1@2", "3@4", "--speed", 610, status=None)
    run("spin", "1@2", "3@4", status=None)
    assert speeds(job) == [610.0, 550.0]
    profile = job.with_name("station.toml")
    kept = [line for line in profile.read_text(encoding="utf-8").splitlines() if not line.startswith("speed")]
    profile.write_text("\n".join(kept), encoding="utf-8")
    run("spin", "1@2", "3@4", status=None)
    assert speeds(job) == [610.0, 550.0, 0.0]


@pytest.mark.parametrize(("speed", "is_same"), [(523.0, True), (577.0, True), (522.0, False), (578.0, False)])
def test_a_known_mass_is_held_against_a_spin_at_the_same_speed_but_for_a_twentieth(run, job, speed, is_same):
    """550 r/min: 522.5 to 577.5."""
    run("spin", "5@20", "3@40", status=None)
    on = ["--mass", 50, "--radius", 100, "--plane", "front", "--at", 30, "--speed", speed]
    on += [added("5@20", 50, 30), "3@40"]
    if is_same:
        assert run("test-mass", *on)["agrees"]
        assert speeds(job) == [550.0, speed]
    else:
        told = refused(run, "test-mass", *on)
        assert f"spin 1 was at 550 r/min, this one is at {speed:g}" in told[0]
        assert speeds(job) == [550.0]
