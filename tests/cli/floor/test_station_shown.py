"""The parts of the station's page, where one of them is not the usual."""

from __future__ import annotations

from station_page import Screen
from station_shop import added

from truethrow.balance.log.place import Snapshot
from truethrow.cli.floor.station_shown import stacks_of, what_stacks
from truethrow.cli.floor.station_state import look

FRONT, REAR = "6.1@203", "5.0@169"


def without_plates(job):
    profile = job.with_name("station.toml")
    before, _, after = profile.read_text().partition("[stack]")
    profile.write_text(before + after[after.index("[[drill]]") :])


def test_a_shop_without_plates_builds_its_own_way(job):
    without_plates(job)
    found = look(Snapshot(job))
    assert stacks_of(found.state, found.display) == (
        (),
        "The station's profile has no plates: build them your way, and weigh them.",
    )


def test_plates_that_do_not_do_are_told(job):
    profile = job.with_name("station.toml")
    profile.write_text(profile.read_text().replace("count = 16", "count = 1").replace("count = 24", "count = 1"))
    found = look(Snapshot(job))
    lines, note = stacks_of(found.state, found.display)
    assert "cannot be met" in lines[0].lines[0] or "Not all at once" in note


def test_what_the_plates_depend_on_is_the_same_until_something_else_hangs(job):
    before = what_stacks(look(Snapshot(job)).state)
    Screen(job).builds()
    assert what_stacks(look(Snapshot(job)).state) == before
    without_plates(job)
    assert what_stacks(look(Snapshot(job)).state) != before


def test_what_is_to_be_looked_over_is_told_once_a_day(job, screen):
    profile = job.with_name("station.toml")
    profile.write_text(
        profile.read_text() + '\n[before_spin]\nasked = "once a day"\nlook_at = ["plugs", "guard"]\n'
    )
    assert (screen.look().over, screen.state.asked) == (("plugs", "guard"), "once a day")
    screen.spins(FRONT, REAR, looked_over=True)
    assert screen.state.over == ()


def test_known_masses_are_told_with_both_angles_and_what_they_pull(screen):
    screen.spins(FRONT, REAR)
    front, rear = screen.state.masses
    assert (front.plane, front.grams, front.own, front.crank, front.radius) == (
        "front",
        "150",
        "30°",
        "30°",
        "100 mm",
    )
    assert (rear.plane, rear.grams, rear.at_deg) == ("rear", "100", "120")
    assert front.pulls == "50 N at 550 r/min"  # 0.15 kg · 0.1 m · (550 · 2π/60)² = 49.8 N


def test_what_the_last_known_masses_said_stays_on_the_page(screen):
    screen.spins(FRONT, REAR)
    screen.proves(added(FRONT, -150, 30), added(REAR, -100, 120))
    assert screen.state.test[0].startswith(
        "front: expected a change of 15000 g·mm at station 30°, crank 30°; read "
    )
    screen.proves(added(FRONT, 150, 30), added(REAR, 100, 120))


def test_the_history_tells_spin_by_spin_what_was_typed_and_done(screen):
    screen.spins(FRONT, REAR)
    screen.proves(added(FRONT, 150, 30), added(REAR, 100, 120))
    screen.drills()
    first, last = screen.state.history
    assert first.startswith("spin 1, ")
    assert first.endswith(", AB: 6.1@203 5.0@169 in g at 100 mm")
    assert last.startswith("done since: ")
    assert screen.state.holes[0].done.startswith("recorded by AB at ")
