"""What the station's page shows of a job, at each stage."""

from __future__ import annotations

import re

import pytest
from commands import run
from floor_shop import blank_job
from station_page import Screen, text_of
from station_shop import added

from truethrow.balance.log.place import Snapshot, open_log
from truethrow.balance.log.records import Closed
from truethrow.balance.station import balancing
from truethrow.balance.station.next_steps import next_steps
from truethrow.cli.floor.station_state import look, profile_text, state_of
from truethrow.worksheets.drawn.face import face
from truethrow.worksheets.pages.floor import pages
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import cautions, station_words
from truethrow.worksheets.words import station_screen_words as words

FRONT, REAR = "6.1@203", "5.0@169"


def test_the_plates_what_is_asked_for_and_what_was_weighed_stand_beside_each_other(job):
    screen = Screen(job)
    assert [one.weighed for one in screen.state.throws] == ["", "", "", ""]
    assert all(re.search(r"\d × plate 200", line) for one in screen.state.stacks for line in one.lines)
    asked = float(screen.state.throws[0].asked.split()[0])
    screen.does("built", throw="1", mass=f"{asked + 0.2:.1f}")
    first = screen.state.throws[0]
    assert (first.weighed, first.off) == (f"{asked + 0.2:.1f} g", "0.2 g")


def test_the_unit_is_the_stations_and_its_radius_stands_beside_it(screen):
    assert (screen.state.unit, screen.state.unit_note) == ("g", "at 100 mm")


def test_each_stage_has_its_caution_before_the_hand_moves(screen):
    assert cautions.SPIN_CAUTION in screen.text
    screen.spins(FRONT, REAR)
    assert cautions.MASS_CAUTION in screen.text
    screen.proves(added(FRONT, 150, 30), added(REAR, 100, 120))
    assert cautions.DRILL_CAUTION in screen.text


def test_a_hole_has_both_names_of_its_angle_and_stands_up_in_its_drawing(job, screen):
    profile = job.with_name("station.toml")
    text = profile.read_text().replace('sense = "with"', 'sense = "against"').replace("zero = 0.0", "zero = 30.0")
    profile.write_text(text.replace("up = 0.0", "up = 12.0"))
    screen.look()
    screen.spins("6.1@187", "5.0@221")
    screen.proves(*(against(one) for one in (added("6.1@203", 150, 30), added("5.0@169", 100, 120))))
    hole = screen.state.hole
    crank = float(hole.crank.rstrip("°"))
    assert float(hole.own.rstrip("°")) == pytest.approx((30 - crank) % 360, abs=0.05)
    told = float(hole.up.rstrip("°"))
    assert told == pytest.approx((12 - crank) % 360, abs=0.05)
    assert f"crank {crank:.1f}°" in hole.drawing


def against(reading):
    amount, angle = reading.split("@")
    return f"{amount}@{(30 - float(angle)) % 360:g}"


def test_where_the_profile_does_not_tell_what_is_up_the_throws_do(job, screen):
    profile = job.with_name("station.toml")
    profile.write_text(profile.read_text().replace("up = 0.0", ""))
    screen.look()
    screen.spins(FRONT, REAR)
    screen.proves(added(FRONT, 150, 30), added(REAR, 100, 120))
    assert screen.state.hole.up == ""
    assert "The profile does not tell what the display shows with throw 1 up" in screen.text


def test_both_planes_stand_against_the_tolerance_and_the_sum_below(screen):
    screen.spins(FRONT, REAR)
    rows = [(one.plane, one.name, one.verdict) for one in screen.state.planes]
    assert rows[0] == ("front", "spin 1", "outside")
    assert [row for row in rows if row[1] == "sum"] == [("front", "sum", "outside"), ("rear", "sum", "outside")]
    assert len(screen.state.drawings) == 3
    assert all(one.startswith("<svg") for one in screen.state.drawings)


def test_every_drawing_is_the_one_of_the_cards(job, screen, tmp_path):
    screen.spins(FRONT, REAR)
    screen.proves(added(FRONT, 150, 30), added(REAR, 100, 120))
    assert run("cards", job, "--into", tmp_path / "cards").status in (0, 1)
    drawn = {plain(one.read_text(encoding="utf-8")) for one in (tmp_path / "cards" / "drawings").glob("*.svg")}
    assert {*screen.state.drawings} <= drawn
    # The counterweight of the hole is turned as it is on the machine: how it was turned is all that differs.
    assert screen.state.hole.drawing not in drawn
    state = balancing.load(job, job.with_name("station.toml"))
    operations = station_words.operations(state)
    hole = operations[0].hole
    own = {one.number: one.hole for one in operations if one.hole.member == hole.member}
    member = next(one for one in state.job.crank.members if one.name == hole.member)
    show = Display.of(state.job).with_drills(state.profile.tools)
    assert face(member, own, set(), show, state.instrument) in drawn
    assert screen.state.hole.drawing == face(member, own, set(), show, state.instrument, hole.angle_deg)


def plain(drawing):
    """A file brings its type along; a page has it already."""
    return re.sub(r"(?s)<style>.*?</style>", "", drawing)


def test_what_stops_the_work_is_told_with_the_way_out_that_only_a_person_knows(job, screen):
    screen.spins(FRONT, REAR)
    profile = job.with_name("station.toml")
    profile.write_text(profile.read_text().replace('sense = "with"', 'sense = "against"'))
    state = screen.look()
    assert (state.stage, state.hole) == ("look", None)
    assert "profile was edited since spin 1" in state.stops[0]
    assert [one.said for one in state.ways] == [
        "if it had been wrong since spin 1 (the owner, at the shop's computer)",
        "if the station was changed today (the owner, at the shop's computer)",
    ]


def test_parts_that_are_still_to_be_weighed_again_come_first(job):
    text = job.read_text()
    job.write_text(text.replace("538.4", "558.4", 1))  # a piston 20 g above the others
    state = Screen(job).state
    assert state.stage == "look"
    assert state.first
    assert all("truethrow" not in one and "(at its bench)" in one for one in state.first)
    assert state.ways == ()  # that what comes first be done, not what would come after it


def test_a_job_that_cannot_be_read_stops_the_page_in_the_words_of_the_command(job):
    job.write_text(job.read_text() + "\n[[[")
    state, found = state_of(Snapshot(job), "my")
    assert found is None
    assert state.stage == "stop"
    assert any("TOML" in one for one in state.stops)


def test_without_a_profile_the_page_says_which_to_name(job):
    job.with_name("station.toml").unlink()
    state, _ = state_of(Snapshot(job), "my")
    assert state.stage == "stop"
    assert state.stops[0].startswith("station: missing")
    assert profile_text(Snapshot(job)).startswith("--station: missing")


def test_the_stamp_is_another_after_each_record_and_each_edit(job, screen):
    stamps = {look(Snapshot(job)).stamp}
    screen.spins(FRONT, REAR)
    stamps.add(look(Snapshot(job)).stamp)
    job.write_text(job.read_text() + "\n# edited\n")
    stamps.add(look(Snapshot(job)).stamp)
    profile = job.with_name("station.toml")
    profile.write_text(profile.read_text() + "\n# edited\n")
    stamps.add(look(Snapshot(job)).stamp)
    assert len(stamps) == 4


def test_who_may_only_look_has_no_button_that_records(job):
    screen = Screen(job)
    for page, can in ((screen.shown.hands, True), (screen.shown.eyes, False)):
        pads = re.findall(r'<button[^>]*data-(?:pad|do|tick)="[^>]*>', page)
        assert pads
        assert any(" disabled" not in one for one in pads) is can


def test_a_crank_that_is_signed_stays_so_on_the_page_once_the_job_is_closed(job):
    screen = Screen(job)
    screen.builds()
    screen.spins("0.3@20", "0.3@230")
    screen.proves(added("0.3@20", 150, 30), added("0.3@230", 100, 120))
    screen.does("sign", by="CD")
    open_log(job, by="CD").append(Closed("closed", why="handed over"))
    state = screen.look()
    assert (state.stage, state.step) == ("signed", "CD")
    assert "SIGNED".lower() in screen.text.lower()


def test_where_only_a_person_can_tell_which_way_it_is_each_is_told(job):
    """The holes are recorded, and the spin reads as before them: not drilled, or not all of it is recorded."""
    screen = Screen(job)
    screen.builds()
    screen.spins(FRONT, REAR)
    assert screen.state.ways == ()  # known masses, and nothing else
    screen.proves(added(FRONT, 150, 30), added(REAR, 100, 120))
    while screen.state.stage == "hole":
        screen.drills()
    screen.spins(FRONT, REAR)
    assert screen.state.hole is None
    (cancel,) = (one for one in screen.state.ways if "recorded and were not drilled, cancel them" in one.said)
    assert (cancel.view, cancel.form) == ("spins", "")  # which one, a hand sees there
    assert all(one.said in screen.text for one in screen.state.ways)


def test_what_is_still_to_be_weighed_leads_to_the_bench(tmp_path):
    """No command that nobody can type at a screen."""
    job = blank_job(tmp_path)
    state, found = state_of(Snapshot(job), "my job")
    assert found is None
    assert (state.step, state.stops) == ("Weigh the parts first", ("56 parts are still to be weighed",))
    page = pages.station_main(state)
    assert 'href="/bench/my%20job"' in page
    assert "truethrow" not in page


def test_what_else_stops_leads_to_no_bench(job):
    job.write_text(job.read_text() + "\n[[[")
    assert "/bench/" not in pages.station_main(state_of(Snapshot(job), "my")[0])


def test_planes_that_are_inside_while_the_sum_is_not_say_why_and_each_way_out(job):
    """Nothing is left to drill and nothing may be signed."""
    job.write_text(job.read_text().replace("6.3", "1.55").replace("538.4", "538.6", 1))
    screen = Screen(job)
    screen.builds()
    screen.spins(FRONT, REAR)
    screen.proves(added(FRONT, 150, 30), added(REAR, 100, 120))
    while screen.state.stage == "hole":
        screen.drills()
    screen.spins("0.0@20", "0.0@230")
    assert (screen.state.stage, screen.state.first) == ("look", ())
    assert len(screen.state.ways) == len(next_steps(look(Snapshot(job)).state))
    assert len(screen.state.ways) > 1
    assert screen.state.against
    _, _, view = screen.shown.hands.partition('data-view="look"')
    assert words.NOT_TO_BE_SIGNED in view
    assert all(one in text_of(view) for one in screen.state.against)
