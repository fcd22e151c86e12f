"""What to do next, as commands that can be pasted and do what they say."""

import shlex
from typing import get_args

import cranks
import invented
import pytest
from station_shop import STATION, proved

from truethrow.balance.crank.as_said import holes_said
from truethrow.balance.station import balancing
from truethrow.balance.station.next_steps import (
    as_hand_says,
    command,
    hang_masses,
    hang_the_pair,
    masses_to_hang,
    next_commands,
    next_steps,
    recorded_late,
    recording,
)
from truethrow.balance.station.reasons import Reason, Why


def state(job):
    return balancing.load(job, job.with_name("station.toml"))


def test_a_command_has_the_jobs_and_the_stations_own_names(job):
    assert shlex.split(command(state(job), "spin", "FRONT REAR")) == [
        *("truethrow", "spin", str(job), "--station", str(job.with_name("station.toml")), "FRONT", "REAR"),
    ]


def test_after_a_spin_the_mass_to_hang_is_told_and_hanging_it_is_what_was_missing(run, job):
    """What the command asks for, put on by a station that reads as it should, proves the station."""
    run("spin", "12.4@37", "8.1@210", status=1)
    (told,) = next_steps(state(job))
    assert told == hang_the_pair(state(job)) == hang_masses(state(job))
    front, rear = masses_to_hang(state(job))
    assert f"--front {front.mass_g:g}g@30 --rear {rear.mass_g:g}g@120 --radius {rear.radius_mm:g}mm" in told
    assert rear.mass_g * rear.radius_mm > 2 * 1240  # to be seen beside what the crank has
    proved(run, "12.4@37", "8.1@210")
    told = f"drill as planned ({command(state(job), 'holes')} shows each hole), and record it"
    assert next_steps(state(job)) == [f"{told}: {recording(state(job))}"]


def test_a_job_that_changed_is_hung_and_spun_again_and_holes_drilled_before_can_still_be_recorded(run, job):
    plan = proved(run, "12.4@220", "8.1@40", status=1)["plan"]["name"]
    job.write_text(job.read_text().replace("538.4", "538.5", 1))
    now = state(job)
    assert next_steps(now) == [command(now, "spin", "FRONT REAR")]
    (late,) = recorded_late(now)
    assert late.endswith(f" --done --plan {plan}")
    run(*shlex.split(late)[1:2], "--done", "--plan", plan, status=None)
    assert recorded_late(state(job)) == []


def lopsided(run, job, hang):
    """Both planes read nothing, and the big ends of throw 1, weighed twice, are 8 g lighter."""
    parts = invented.cylinders(big_end={1: [444.3, 444.3], 2: [444.3, 444.3]})
    data = invented.document(parts, station=STATION, crank={"counterweight": cranks.v8_weights()})
    data["bobweight"] = {**data["bobweight"], "hang": hang}
    job.write_text(invented.text(data), encoding="utf-8")
    proved(run, "0.1@20", "0.1@20")
    return next_steps(state(job))


def test_where_the_mean_that_hangs_leaves_too_much_each_throw_is_hung_its_own_or_trimmed_closer(run, job):
    weigh, own, trim, aim = lopsided(run, job, "mean")
    assert weigh.startswith(f"weigh the bobweights that hung: {command(state(job), 'stack', '--built 1=MASS')}")
    assert own.startswith("or hang on each throw its own")
    own = own.removeprefix("or ")
    assert f"truethrow holes {job}" in aim
    assert "--aim sum" in aim
    assert own.startswith(f'hang on each throw its own: in {job} set [bobweight] hang = "own"; ')
    assert command(state(job), "stack") in own
    assert f"truethrow trim {job}" in trim


def test_where_each_throw_hangs_its_own_it_may_be_signed(run, job):
    (told,) = lopsided(run, job, "own")
    assert told == f"sign it off: {command(state(job), 'sign', '--by INITIALS')}"


def test_every_reason_has_a_command_of_its_own(run, job):
    proved(run, "12.4@37", "8.1@210")
    now = state(job)
    told = {why: next_commands(now, Reason(why))[0].command.split()[1] for why in get_args(Why)}
    assert {why for why, name in told.items() if name == "test-mass"} == {"disagrees", "unproved", "unlike"} | {
        # on a station that reads divisions these are trial masses
        *("trials", "rough trial", "not apart", "fourth run", "not foretold", "rough fourth"),
    }
    ends = [step.command.split()[1] for step in next_commands(now, Reason("unanswered"))]
    assert ends == ["holes", "strike", "test-mass"]
    drilled = {"not inside", "not inside in engine", "unanswered", "broken"}
    assert {why for why, name in told.items() if name == "holes"} == drilled
    assert (told["doubted"], told["signed"]) == ("check", "spins")
    rest = {
        "damaged",
        "no offset",
        "unindexed",
        "contradicted",
        "mended off",
        "rehung",
        "rebuilt",
        "mended",
        "changed",
        "moved",
        "recut",
        "apart",
        "lost",
        "thin",
        "wrong",
        "canceled",
        "looser",
        "unspun",
        "unplanned",
        "turned",
        "still turned",
        "not placed",
    }
    assert {why for why, name in told.items() if name == "spin"} == rest | {"drilled", "implausible", "average"}
    assert told["edited"] == "profile"


@pytest.mark.parametrize("show", [None, "inch"])
@pytest.mark.parametrize(
    "words",
    [
        "1a, 180 deg crank, 12.7 mm drill, 9.5 mm deep",
        "1a, 180 deg crank, 12 mm drill, 8 mm deep, along the crank, 75 mm radius",
        "1a, 170.5 deg crank, ground 20 deg wide, 1.5 mm deep",
        "1a, 180 deg crank, 12 mm drill, 8 mm deep, along the crank, 75 mm radius, from the front",
        "1a, 180 deg crank, 12 mm drill, 8 mm deep, along the crank, 75 mm radius, from the rear",
        "1a, 180 deg crank, 12 mm drill, through, along the crank, 75 mm radius",
    ],
)
def test_an_operation_is_said_as_a_hand_says_it(run, job, words, show):
    state = balancing.load(job, job.with_name("station.toml"), show)
    (hole,) = holes_said(state.job.crank, [words])
    said = as_hand_says(state, hole)
    (again,) = holes_said(state.job.crank, [said])
    assert again[:2] == hole[:2]
    assert [round(one, 2) for one in again[2:7]] == [round(one, 2) for one in hole[2:7]]
    assert again.removes_gmm == pytest.approx(hole.removes_gmm, rel=1e-3)
    for tells in ("from the front", "from the rear", "through"):
        assert tells in said or tells not in words
    assert (" in " in said) == bool(show)


def test_a_slug_asks_for_the_mass_on_the_scale(run, job):
    state = balancing.load(job, job.with_name("station.toml"))
    (hole,) = holes_said(state.job.crank, ["1a, 180 deg crank, 16 mm slug, 16 mm long, 75 mm radius, 55 g"])
    at = "1a, 180 deg crank, 16 mm slug, 16 mm long, 75 mm radius"
    assert as_hand_says(state, hole) == f"{at}, from the front, MASS g"
