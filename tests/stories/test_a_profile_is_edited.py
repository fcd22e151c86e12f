"""The station's profile is edited, to mend a mistake or because the station was changed: no reading may mean
something else in silence, no old proof may count for a new reading, and what was signed by the profile of its day
stays signed unless somebody says that it had been wrong."""

from __future__ import annotations

import json
import shlex

import pytest
from balancing_shop import Station, polar
from typer.testing import CliRunner
from within import app


@pytest.fixture
def station(tmp_path):
    return Station(tmp_path)


def vectors(station):
    """Each spin's front plane as it is read: amount and angle."""
    fronts = [spin["planes"]["front"] for spin in station.state()["spins"]]
    return [(round(one["unbalance_gmm"]), round(one["crank_angle_deg"]) % 360) for one in fronts]


# The unit: the profile says g·mm, the machine shows g·in


def test_the_unit_is_mended_and_the_old_spin_is_read_anew(station):
    """A hand would edit the profile and sign: 13 and 12 g·mm on the screen, 330 and 300 in truth."""
    assert "inside" in station.spin()
    assert station.run("holes")[0] == 1
    assert "no test mass has agreed" in station.must_not_be_signed_or_drilled()
    status, said = station.hang()
    assert (status, "inches and millimeters are mixed up" in said) == (1, True)
    assert "set unit" not in said
    station.must_not_be_signed_or_drilled()
    station.edit(unit="g·in")
    said = station.must_not_be_signed_or_drilled()
    assert "was edited since spin 1 (unit g·mm → g·in)" in said
    refused = station.refuses("spin", *station.shows())
    assert "if it had been wrong since spin 1: truethrow profile" in refused
    assert "if the station was changed today: truethrow profile" in refused
    assert vectors(station) == [(13, 40)]
    told = station.says("--wrong-since", 1)
    assert "read anew, as its profile had been wrong (g·in, sense with" in told
    assert vectors(station) == [(330, 40)]
    assert "The profile had been wrong (unit g·mm → g·in), says AB" in station.run("spins")[1]
    assert "first a spin without it: truethrow spin " in station.refuses(
        "test-mass", "--mass", 400, "--radius", 100, "--plane", "front", "--at", 120, *station.shows()
    )
    assert "OUTSIDE" in station.spin()
    assert [spin["counts"] for spin in station.state()["spins"]] == [False, True]
    station.must_not_be_signed_or_drilled()
    # The amounts were edited since a mass did not agree: one and the same mass would fit its own slip.
    status, said = station.hang()
    assert (status, "hang another mass" in said) == (1, True)
    status, said = station.hang_as_told(station.refuses("sign", "--by", "AB"))
    assert status == 0, said
    assert "front plane as spun: 330 ± " in station.refuses("sign", "--by", "AB")
    assert station.state()["plan"]["operations"]


def test_the_profile_is_edited_before_the_test_mass(station):
    """The old spin's unit is wrong; a mass held against it would prove nothing."""
    station.spin()
    station.edit(unit="g·in")
    assert "was edited since spin 1" in station.refuses(
        "test-mass", "--mass", 400, "--radius", 100, "--plane", "front", "--at", 30, *station.shows()
    )
    station.must_not_be_signed_or_drilled()
    station.says("--wrong-since", 1)
    station.spin()
    assert station.hang()[0] == 0
    assert "OUTSIDE" in station.run("spins")[1]
    assert "front plane as spun: 330" in station.refuses("sign", "--by", "AB")


def test_a_right_profile_is_edited_wrong_after_the_test_mass_agreed(station):
    """Proved is the profile as it was, not the one that is there now: also with a spin under the new one."""
    station.edit(unit="g·in")
    station.spin()
    assert station.hang()[0] == 0
    station.edit(unit="g·mm")
    station.must_not_be_signed_or_drilled()
    station.says("--changed-today")
    station.spin()
    assert vectors(station) == [(330, 40), (13, 40)]
    assert "no test mass has agreed" in station.must_not_be_signed_or_drilled()
    assert station.hang()[0] == 1
    station.must_not_be_signed_or_drilled()
    # Back again: the old proof is of another day.
    station.edit(unit="g·in")
    station.must_not_be_signed_or_drilled()
    station.says("--wrong-since", 2)
    assert vectors(station) == [(330, 40), (330, 40)]
    station.spin()
    assert "no test mass has agreed" in station.must_not_be_signed_or_drilled()
    station.hang()
    status, said = station.hang_as_told(station.refuses("sign", "--by", "AB"))
    assert status == 0, said
    assert station.state()["plan"]["operations"]


def test_back_and_forth_in_the_file_alone_changes_nothing(station):
    station.edit(unit="g·in")
    station.spin()
    assert station.hang()[0] == 0
    station.edit(unit="g·mm")
    station.must_not_be_signed_or_drilled()
    station.edit(unit="g·in")
    assert station.state()["plan"]["operations"]
    assert "was not edited since the last spin" in station.refuses(
        "profile", "--wrong-since", 1, "--by", "AB", "--why", "x"
    )


# What somebody says of an edit


def test_the_station_is_changed_and_earlier_spins_stay_as_they_are(tmp_path):
    """The encoder is mounted anew: its zero is 40 degrees farther. Spin 1 was read right, and stays."""
    station = Station(tmp_path, unit="g·mm")
    station.spin()
    station.hang()
    station.zero = 40.0
    station.edit(zero=40.0)
    assert "zero 0 → 40" in station.refuses("spin", *station.shows())
    station.says("--changed-today", why="encoder mounted anew")
    station.spin()
    assert vectors(station) == [(330, 40), (330, 40)]
    assert "no test mass has agreed" in station.must_not_be_signed_or_drilled()
    assert station.hang()[0] == 0
    assert station.state()["plan"]["operations"]


@pytest.mark.parametrize(
    ("true", "edit"),
    [
        ({"zero": 40.0}, {"zero": 40.0}),
        ({"with_rotation": False}, {"sense": "against"}),
        ({"unit": "g·in"}, {"unit": "g·in"}),
    ],
    ids=["zero", "sense", "unit"],
)
def test_a_mistake_of_any_kind_is_mended_and_the_vectors_before_and_after_are_right(tmp_path, true, edit):
    station = Station(tmp_path, **{"unit": "g·mm", **true})
    station.spin()
    assert vectors(station) != [(330, 40)]
    station.edit(**edit)
    station.says("--wrong-since", 1)
    assert vectors(station) == [(330, 40)]
    station.spin()
    assert vectors(station) == [(330, 40)] * 2
    assert station.hang()[0] == 0


def test_what_was_said_of_an_edit_is_in_the_history_and_can_be_canceled(station):
    station.spin()
    station.edit(unit="g·in")
    station.says("--wrong-since", 1)
    history = CliRunner().invoke(app, ["history", station.called, "--json"])
    (edit,) = [one for one in json.loads(history.stdout)["records"] if one["action"] == "profile"]
    assert (edit["by"], edit["why"]) == ("AB", "the display is set so")
    assert "had been wrong since spin" in CliRunner().invoke(app, ["history", station.called]).output
    assert vectors(station) == [(330, 40)]
    assert CliRunner().invoke(app, ["strike", station.called, edit["id"]]).exit_code == 0
    assert vectors(station) == [(13, 40)]
    assert "if it had been wrong since spin 1" in station.refuses("spin", *station.shows())


def test_what_cannot_be_said_of_an_edit_is_refused(station):
    assert "there is no spin yet" in station.refuses("profile", "--changed-today", "--by", "AB", "--why", "x")
    station.spin("13g·mm@40", "12@250")
    station.edit(unit="g·in")
    said = station.refuses("profile", "--wrong-since", 3, "--by", "AB", "--why", "x")
    assert "--wrong-since: '3' is no spin of the job; allowed: 1" in said
    said = station.refuses("profile", "--changed-today")
    assert "--by: blank" in said
    assert "--why: blank" in said
    assert "can't be combined" in station.refuses("profile", "--changed-today", "--wrong-since", 1)
    said = station.refuses("profile", "--wrong-since", 1, "--by", "AB", "--why", "x")
    assert "spin 1: was typed in g·mm, so it is not to be read in g·in" in said
    status, told = station.run("profile")
    assert (status, "Edited since the last spin: unit g·mm → g·in." in told) == (1, True)
    command = next(line for line in told.splitlines() if "--changed-today" in line)
    # Pasted as it is printed, it would say so in nobody's name.
    before = station.lines()
    pasted = CliRunner().invoke(app, shlex.split(command)[1:])
    assert str(pasted.exception) == "--why: 'REASON' says nothing; allowed: a word of why" or (
        str(pasted.exception) == "--by: 'INITIALS' is nobody; allowed: the initials of whoever does it"
    )
    assert station.lines() == before
    filled = command.replace("INITIALS", "AB").replace("REASON", "the display was set anew")
    pasted = CliRunner().invoke(app, shlex.split(filled)[1:])
    assert pasted.exit_code == 0, pasted.output
    assert station.run("profile")[0] == 0


def test_drills_and_plates_are_edited_freely(station):
    station.edit(unit="g·in")
    station.spin()
    station.hang()
    text = station.profile.read_text("utf-8")
    station.profile.write_text(
        text.replace("diameter = 12.0", "diameter = 10.0").replace("352.4", "360.1"), "utf-8"
    )
    assert station.state()["profile"]["edited"] == []
    assert station.state()["plan"]["operations"]


def test_a_unit_typed_with_the_figure_that_the_profile_has_not_is_refused(station):
    assert "typed in g·in, and the profile reads g·mm" in station.refuses("spin", "13 g·in@40", "12g·in@250")
    station.spin("13 g·mm@40", "12@250", "--speed", 550)
    spin = station.state()["spins"][0]
    assert (spin["unit"], spin["speed_rpm"], spin["typed"]) == ("g·mm", 550.0, "13@40 12@250 in g·mm")
    at = ("--mass", 400, "--radius", 100, "--plane", "front", "--at", 30, "--speed", 900)
    assert "spin 1 was at 550 r/min, this one is at 900" in station.refuses("test-mass", *at, *station.shows())


# What was signed


def signed(station):
    station.crank = [polar(40, 40), polar(30, 250)]
    station.edit(unit="g·in")
    station.spin()
    station.hang()
    assert station.run("sign", "--by", "AB")[0] == 0
    assert station.state()["signed"]["by"] == "AB"


def papers(station, folder):
    made = ["cards", station.called, "--station", str(station.profile), "--into", str(folder)]
    done = CliRunner().invoke(app, made)
    assert done.exit_code in (0, 1), done.output
    return [(folder / f"{kind}.html").read_text("utf-8") for kind in ("station", "report")]


@pytest.mark.parametrize(
    "edit", [{"sense": "against"}, {"zero": 40.0}, {"unit": "oz·in"}], ids=["sense", "zero", "unit"]
)
def test_an_edit_for_next_week_leaves_signed_what_was_signed(station, tmp_path, edit):
    """Card, screen and report say the same: signed, by the profile of that day, which was edited since."""
    signed(station)
    before = station.state()
    station.edit(**({"unit": "g·in"} | edit))
    state = station.state()
    assert (state["signed"], state["inside"], state["void"]) == (before["signed"], True, [])
    assert state["in_engine"] == before["in_engine"]
    assert state["edited_since_signed"]
    status, said = station.run("spins")
    assert status == 0
    assert "Signed by AB" in said
    assert "Signed by the station's profile of that day; edited since: " in said
    assert "Had it been wrong when it was signed: truethrow profile" in said
    card, report = papers(station, tmp_path / "cards")
    assert "<bdi>SIGNED</bdi>" in card
    assert "NOT SIGNED" not in report
    for text in (card, report):
        assert "edited since: " in text
    # Somebody says that the station was changed: nothing else.
    station.says("--changed-today")
    assert station.state()["signed"] == before["signed"]
    assert "signed already by AB" in station.refuses("sign", "--by", "CD")
    # For the next crank the fresh spin is its own job's.
    station.spin()
    assert station.state()["signed"] is None


def test_only_who_says_that_it_had_been_wrong_takes_a_signature_back_and_all_say_why(station, tmp_path):
    signed(station)
    station.edit(unit="oz·in")
    station.says("--wrong-since", 1)
    state = station.state()
    assert (state["signed"], state["signed_before"]["by"], state["inside"]) == (None, "AB", False)
    why = "the profile that it was signed by had been wrong (unit g·in → oz·in), says AB"
    assert why in state["void"][0]
    status, said = station.run("spins")
    assert (status, why in said.replace("\n", " ")) == (1, True)
    card, report = papers(station, tmp_path / "cards")
    assert "SPIN AGAIN" in card
    assert "NOT SIGNED" in report
    for text in (card, report):
        assert why in text
    station.must_not_be_signed_or_drilled()
    # It was said by mistake.
    edits = [json.loads(line) for line in station.lines() if '"action":"profile"' in line]
    assert CliRunner().invoke(app, ["strike", station.called, edits[0]["id"]]).exit_code == 0
    assert station.state()["signed"]["by"] == "AB"


def test_a_signature_whose_test_mass_is_canceled_holds_no_more(station):
    signed(station)
    tests = [json.loads(line) for line in station.lines() if '"action":"test"' in line]
    assert (
        CliRunner().invoke(app, ["strike", station.called, tests[0]["id"], "--with-later", "--yes"]).exit_code == 0
    )
    assert station.state()["signed"] is None


# Slips in what was typed of the test mass


def test_a_radius_in_inches_never_becomes_advice_and_nothing_is_signed_by_it(tmp_path):
    """648 g·mm on a station that the profile has right. The mass hangs at 4 in; a hand types 4, then 4mm, then
    does what it is told as far as it goes."""
    station = Station(tmp_path, unit="g·mm")
    station.crank = [polar(648, 40), polar(30, 250)]
    station.edit(unit="g", more="radius = 100.0")
    station.unit, station.per = "g", 100.0
    station.spin()
    mass = polar(100 * 4 * 25.4, 30)
    at = ("--mass", 100, "--plane", "front", "--at", 30)
    said = station.refuses("test-mass", "--radius", 4, *at, *station.shows(mass))
    assert "are these inches?; allowed: with its unit: 4in or 4mm" in said
    status, said = station.run("test-mass", "--radius", "4mm", *at, *station.shows(mass))
    assert status == 1
    assert "25.4 times what it should be, as where inches and millimeters are mixed up" in said
    assert "set radius" not in said
    assert "set unit" not in said
    station.must_not_be_signed_or_drilled()
    # Whoever edits the profile to fit it all the same is stopped by its file, and by the next mass.
    station.edit(unit="g", more="radius = 3.937")
    assert "3.937 mm is no radius of a station; are these inches?" in station.refuses("spin", *station.shows())
    station.edit(unit="g·mm", more="")
    station.says("--wrong-since", 1)
    station.spin()
    assert station.run("test-mass", "--radius", "4mm", *at, *station.shows(mass))[0] == 1
    station.must_not_be_signed_or_drilled()
    status, said = station.hang_as_told(station.refuses("sign", "--by", "AB"))
    assert status == 1
    station.must_not_be_signed_or_drilled()


def test_a_mass_in_ounces_never_becomes_advice_and_nothing_is_signed_by_it(tmp_path):
    """The profile has oz·in, as the station reads. A mass of 14 ounces is typed as 14 g: g·in would fit it."""
    station = Station(tmp_path, unit="oz·in")
    station.edit(unit="oz·in")
    station.spin()
    mass = polar(14 * 28.349523125 * 100, 30)
    at = ("--radius", 100, "--plane", "front", "--at", 30)
    status, said = station.run("test-mass", "--mass", 14, *at, *station.shows(mass))
    assert (status, "ounces and grams are mixed up" in said) == (1, True)
    assert "set unit" not in said
    station.edit(unit="g·in")
    station.says("--wrong-since", 1)
    station.spin()
    status, said = station.run("test-mass", "--mass", 14, *at, *station.shows(mass))
    assert (status, "with the units of its mass and its radius" in said) == (1, True)
    station.must_not_be_signed_or_drilled()
    heavier = polar(20 * 28.349523125 * 100, 120)
    at = ("--radius", "100mm", "--plane", "front", "--at", 120)
    assert station.run("test-mass", "--mass", "20oz", *at, *station.shows(heavier))[0] == 1
    station.must_not_be_signed_or_drilled()


def test_a_radius_of_the_profile_is_advised_by_two_masses_that_agree_and_not_by_one(tmp_path):
    """The station reads grams at 150 mm, the profile says 100."""
    station = Station(tmp_path, unit="g·mm")
    station.unit, station.per = "g", 150.0
    station.edit(unit="g", more="radius = 100.0")
    station.spin()
    status, said = station.hang()
    assert (status, "set radius" in said) == (1, False)
    assert "0.667 times what it should be: look at mass and radius as they were typed" in said
    status, said = station.hang_as_told(said.replace("\n", " "))
    assert (status, "in [spin] set radius = 150.0" in said) == (1, True)
    station.edit(unit="g", more="radius = 150.0")
    station.says("--wrong-since", 1)
    station.spin()
    status, said = station.hang_as_told(station.refuses("sign", "--by", "AB"))
    assert status == 0, said
    assert "front plane as spun: 330 ± " in station.refuses("sign", "--by", "AB")
