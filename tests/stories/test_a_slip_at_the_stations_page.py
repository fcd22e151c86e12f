"""The slips that a station's hand makes, on the page of a tablet: each is told there in the words of the command
line, and before the hand moves on."""

from __future__ import annotations

import json
import shutil

import pytest
from station_page import CD, Screen, actions, in_ounces, mirrored, of_masses, of_spin, text_of
from station_shop import added, sound_job
from typer.testing import CliRunner
from within import BadInput, app, log_path

FRONT, REAR = "6.1@203", "5.0@169"
# What the display shows with both known masses on, were all as it should be.
WITH_MASSES = added(FRONT, 150, 30), added(REAR, 100, 120)


SLIPS = {
    "wrong unit": (in_ounces, lambda front, rear: (front, rear)),
    "swapped cables": (lambda one: one, lambda front, rear: (rear, front)),
    "mirrored sense": (mirrored, lambda front, rear: (front, rear)),
}


@pytest.fixture
def job(tmp_path):
    return sound_job(tmp_path)


@pytest.fixture
def other(job, tmp_path_factory):
    """The same job in another folder, for the command line."""
    return shutil.copytree(job.parent, tmp_path_factory.mktemp("other") / "shop") / job.name


def typed(job, command, *words):
    """What a command says to a machine. Raises what it refuses."""
    said = [command, str(job), "--station", str(job.with_name("station.toml")), *words, "--json"]
    done = CliRunner().invoke(app, said)
    if done.exception and not isinstance(done.exception, SystemExit):
        raise done.exception
    return json.loads(done.stdout)


@pytest.mark.parametrize("slip", SLIPS)
def test_a_station_that_reads_otherwise_than_its_profile_says(slip, job, other):
    """A slip at the station itself: known masses tell it, and no hole is shown before they agree."""
    shows, planes = SLIPS[slip]
    screen = Screen(job)
    screen.builds()
    screen.spins(*planes(shows(FRONT), shows(REAR)))
    assert "No test mass has agreed with the station's profile as it is now." in screen.text
    shown = planes(*map(shows, WITH_MASSES))
    hang = screen.state.masses
    asked = screen.sends("prove", **of_masses(screen.state, *shown))
    said = screen.yes(asked).said
    screen.look()
    assert (screen.state.stage, screen.state.hole) == ("prove", None)
    assert "Done as told" not in screen.text
    typed(other, "spin", *planes(shows(FRONT), shows(REAR)))
    on = [word for one in hang for word in (f"--{one.plane}", f"{one.grams}g@{one.at_deg}")]
    told = typed(other, "test-mass", *on, "--radius", hang[0].radius.replace(" ", ""), *shown)["findings"]
    assert told
    for one in told:
        assert one["sentence"].lower() in asked.question.ask.lower()
        assert one["sentence"].lower() in said.lower()
        assert one["sentence"].lower() in screen.text.lower()


# What a hand makes of a second spin, and what it looks like.
SECOND = {
    "wrong unit": ((in_ounces(FRONT), in_ounces(REAR)), "as where ounces and grams are mixed up"),
    "swapped cables": ((REAR, FRONT), "the cables of the two planes are exchanged"),
    "mirrored sense": ((mirrored(FRONT), mirrored(REAR)), "the angle counts the other way"),
    "wrong way round": (
        ("203@6.1", "169@5.0"),
        "amount and angle of both planes were typed the wrong way round",
    ),
    "masses on": (WITH_MASSES, "both known masses are still on"),
}


@pytest.mark.parametrize("slip", SECOND)
def test_a_spin_that_is_not_as_the_one_before_says_so_before_it_is_recorded(slip, job, other):
    """In the words that the command has once it is."""
    shown, looks = SECOND[slip]
    for one in (job, other):
        screen = Screen(one)
        screen.builds()
        screen.spins(FRONT, REAR)
        screen.proves(*WITH_MASSES)
    before = actions(other)
    ask = screen.sends("spin", **of_spin(screen.state, *shown)).question.ask
    assert actions(other) == before
    assert looks in ask
    said = typed(job, "spin", *shown)["withheld"]
    assert said
    for sentence in said:
        assert sentence.lower() in ask.lower()


def test_a_spin_that_is_as_it_should_be_is_read_back_alone(job):
    screen = Screen(job)
    screen.builds()
    screen.spins(FRONT, REAR)
    ask = screen.sends("spin", **of_spin(screen.state, "6.2@203", "5.0@168")).question.ask
    assert ask.startswith("Spin 2 (one run), as the display shows it:")


def test_runs_that_scatter_too_much_to_say_inside(job):
    """Noise: the page asks for what the command asks for, and shows no hole that is none."""
    screen = Screen(job)
    screen.builds()
    screen.spins("1.5@20", "1.4@230", "0.4@140", "0.3@70", "1.1@280", "1.2@300")
    screen.proves(added("0.5@20", 150, 30), added("0.3@230", 100, 120))
    said = typed(job, "spins")
    assert screen.state.hole is None
    for sentence in said["withheld"]:
        assert sentence.lower().rstrip(".") in screen.text.lower()


def test_a_damaged_record_stops_the_page_and_the_page_comes_back_once_it_is_settled(job):
    screen = Screen(job)
    screen.builds()
    screen.spins(FRONT, REAR)
    path = log_path(job)
    lines = path.read_bytes().splitlines(keepends=True)
    sound = lines[2]
    lines[2] = sound[:30] + bytes([sound[30] ^ 1]) + sound[31:]
    path.write_bytes(b"".join(lines))
    with pytest.raises(BadInput) as refused:
        typed(job, "spins")
    assert screen.look().stage == "stop"
    for line in refused.value.lines():
        assert " ".join(line.partition("truethrow ")[0].rstrip(" :").split()) in screen.text
    assert "truethrow " not in screen.text
    assert "(the owner, at the shop's computer)" in screen.text
    assert "Type what the display shows" not in enabled(screen.shown.hands)
    with pytest.raises(BadInput, match=r"line 3 .*at the shop's computer"):
        screen.sends("spin", runs=[["6.1", "203", "5.0", "169"]], unit="g")
    lines[2] = sound
    path.write_bytes(b"".join(lines))
    assert screen.look().stage == "prove"


def enabled(page):
    """The text of the buttons that a hand can press."""
    return [text_of(one) for one in page.split("<button")[1:] if " disabled" not in one.partition(">")[0]]


def test_a_hole_that_was_recorded_at_the_terminal_is_refused_at_the_tablet_by_name(job):
    screen = Screen(job, CD)
    screen.builds()
    screen.spins(FRONT, REAR)
    screen.proves(*WITH_MASSES)
    typed(job, "holes", "--done", "1", "--by", "AB")
    with pytest.raises(BadInput, match=r"hole 1: was recorded by AB at "):
        screen.sends("hole", number=1, plan=screen.state.plan)
    assert "recorded by AB at " in screen.text
    with pytest.raises(BadInput, match=r"hole 1: was recorded by AB at "):
        typed(job, "holes", "--done", "1", "--by", "CD")
    assert actions(job).count("hole") == 1


def test_a_crank_with_an_open_reason_shows_it_in_the_place_of_the_signature(job):
    screen = Screen(job)
    screen.builds()
    screen.spins("0.3@20", "0.3@230")
    with pytest.raises(BadInput) as refused:
        typed(job, "sign", "--by", "AB")
    reasons = [fault.wrong for fault in refused.value.faults if fault.where == "not signed"]
    assert reasons
    for one in reasons:
        assert one.lower() in screen.text.lower()
    assert "Sign it" not in enabled(screen.shown.hands)
