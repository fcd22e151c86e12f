"""A station is proved by two known masses in one spin, or the way to what is wrong is told; nothing is drilled or
signed before."""

from __future__ import annotations

import re
import shlex

import pytest
from balancing_shop import Station, polar


@pytest.fixture
def fresh(tmp_path):
    """Right in all: the display is set as the profile says."""
    return Station(tmp_path, unit="g·mm")


@pytest.fixture
def station(fresh):
    """The same, with a spin."""
    fresh.spin()
    return fresh


def last_test(station):
    return station.state()["test_mass"]


def test_two_masses_at_once_are_told_and_prove_it(station):
    told = station.must_not_be_signed_or_drilled()
    assert "--front" in told
    status, said = station.hang_as_told(told)
    assert (status, "Unit, sense, zero, gain and the order of the planes agree." in said) == (0, True)
    state = station.state()
    assert state["proved"]
    assert state["plan"]["operations"]
    assert "Station proved: unit, sense, zero, gain and plane order" in station.run("spins")[1]
    (line,) = [one for one in station.run_alone("history") if "front, " in one and " and rear, " in one]
    assert "deg, and rear, " in line


def test_what_each_pulls_is_told_with_a_speed_and_how_to_hold_it(station):
    station.edit(more="speed = 550")
    said = station.run("spins")[1].replace("\n", " ")
    where = r"(\d+) g on the (front|rear) plane at station (\d+)°, crank \d+°"
    pulls = re.findall(rf"{where}, radius ([\d.]+) mm, pulls (\d+) N at 550", said)
    assert [(plane, at) for _, plane, at, _, _ in pulls] == [("front", "30"), ("rear", "120")]
    for grams, _, _, radius, newtons in pulls:
        # m·r·ω², Newton's second law
        assert int(newtons) == pytest.approx(
            float(grams) * float(radius) * 1e-6 * (550 * 0.10471976) ** 2, abs=0.51
        )
    assert "never stick it on" in said


@pytest.mark.parametrize(
    ("slip", "kind"),
    [
        ({"with_rotation": False}, "sense"),
        ({"zero": 35.0}, "zero"),
        ({"unit": "g·in"}, "units"),
        ({"unit": "oz·in"}, "unseen"),
        ({"per": 1.15}, "scale"),
    ],
)
def test_a_station_that_reads_otherwise_is_told_and_nothing_goes_on(fresh, slip, kind):
    station = fresh
    for name, value in slip.items():
        setattr(station, name, value)
    station.spin()
    status, said = station.hang_both()
    assert (status, [one["kind"] for one in last_test(station)["findings"]]) == (1, [kind]), said
    refusal = station.must_not_be_signed_or_drilled()
    is_too_small = kind == "unseen"
    assert ("--mass" in refusal, "--front" in refusal) == (not is_too_small, is_too_small)


def test_cables_that_are_exchanged(fresh, monkeypatch):
    station = fresh
    shows = station.shows
    monkeypatch.setattr(station, "shows", lambda *on: shows(*on)[::-1])
    station.spin()
    assert "in the other plane" in station.hang_both()[1]
    station.must_not_be_signed_or_drilled()


def test_the_two_masses_on_each_others_place(station):
    on = ("--front", "100g@30", "--rear", "60g@120", "--radius", "90mm")
    _, said = station.run("test-mass", *on, *station.shows(polar(5400, 30), polar(9000, 120)))
    assert "exchanged" in said
    station.must_not_be_signed_or_drilled()


@pytest.mark.parametrize(
    ("part", "turn", "way", "said"),
    [
        (0.85, 0, 1, "sits at 0.85 times the radius that was typed: measure that first"),
        (1.25, 0, 1, "sits at 1.25 times the radius that was typed: measure that first"),
        (1.0, 180, 1, "the zero is off by 180.0°, as where what was hung sits so far off"),
        (1.0, 120, 1, "or was counted from another throw: look at that first"),
        (1.0, 0, -1, "angles of what was hung were counted against the rotation: look at that first"),
    ],
)
def test_of_masses_that_both_hang_otherwise_the_hand_is_told_before_the_profile(station, part, turn, way, said):
    """Both at another radius, or counted from another throw: only a change of the profile was told, by which a
    good station would have drilled a quarter too deep, or on the wrong side."""
    on = ("--front", "100g@30", "--rear", "60g@120", "--radius", "90mm")
    hung = polar(9000 * part, way * 30 + turn), polar(5400 * part, way * 120 + turn)
    told = station.run("test-mass", *on, *station.shows(*hung))[1]
    assert said in " ".join(told.split())
    station.must_not_be_signed_or_drilled()
    (line,) = [one for one in told.splitlines() if "truethrow strike" in one]
    assert "if a mass, its radius, its angle or a reading was not as it was typed, cancel that test" in line
    _, command, _, record = shlex.split(line[line.index("truethrow strike") :])
    station.run_alone(command, record)
    assert station.hang_both()[0] == 0
    assert station.state()["proved"]


def test_after_a_mistake_is_mended_one_spin_proves_it(fresh):
    """A single mass would leave open whether the profile was made to fit it."""
    station = fresh
    station.with_rotation = False
    station.spin()
    station.hang_both()
    station.edit(sense="against")
    station.says("--wrong-since", 1)
    told = station.must_not_be_signed_or_drilled()
    assert "truethrow spin" in told
    station.spin()
    told = station.must_not_be_signed_or_drilled()
    assert "--front" in told
    status, said = station.hang_as_told(told)
    assert status == 0, said
    assert station.state()["proved"]
    station.edit(sense="with")
    assert not station.state()["proved"], "an edit ends it"


def test_one_mass_alone_after_two_that_did_not_agree_proves_nothing_until_both_planes_did(fresh, monkeypatch):
    """The rear plane's pickup reads a fifth too much. The front one alone agrees."""
    station = fresh
    right = station.shows

    def grown(front=0j, rear=0j):
        return [right(front)[0], right(rear=1.2 * rear + 0.2 * station.crank[1])[1]]

    monkeypatch.setattr(station, "shows", grown)
    station.spin()
    assert station.hang_both()[0] == 1
    status, said = station.hang()
    assert (status, "hang one alone on the rear plane, too" in said.replace("\n", " ")) == (1, True), said
    assert "--plane rear" in station.must_not_be_signed_or_drilled()
    on = ("--mass", "400", "--radius", "100", "--plane", "rear", "--at", "120")
    assert station.run("test-mass", *on, *station.shows(0j, polar(40_000, 120)))[0] == 1
    station.must_not_be_signed_or_drilled()
    monkeypatch.setattr(station, "shows", right)  # the pickup is mended
    station.spin()
    assert station.run("test-mass", *on, *station.shows(0j, polar(40_000, 120)))[0] == 0
    assert station.state()["proved"]


def test_masses_that_are_too_small_prove_nothing_and_heavier_ones_are_told(fresh):
    """On a crank that is far out, as sure as the profile says. What is told next is read well enough."""
    station = fresh
    station.crank = [polar(9000, 40), polar(9000, 250)]
    station.spin()
    told = station.refuses("sign", "--by", "AB")
    front, rear = map(float, re.search(r"--front (\d+)g@30 --rear (\d+)g@120", told).groups())
    status, said = station.hang_both(front / 3.5, rear / 3.5)
    assert status == 1, said
    assert [one["kind"] for one in last_test(station)["findings"]] in (["rough"], ["unseen"])
    again = station.must_not_be_signed_or_drilled()
    assert "--front" in again
    assert station.hang_as_told(again)[0] == 0


def test_a_station_that_scatters_more_than_its_profile_says_is_told_heavier_ones(fresh):
    """Repeated runs that are far apart: what is told first does not do, what is told next does."""
    station = fresh

    def several(front=0j, rear=0j, off=(350, -350, 350j, -350j)):
        return [one for by in off for one in station.shows(front + by, rear + by)]

    station.spin(*several())
    told = station.refuses("sign", "--by", "AB")
    front, rear = map(float, re.search(r"--front (\d+)g@30 --rear (\d+)g@120", told).groups())
    on = ("--front", f"{front:g}g@30", "--rear", f"{rear:g}g@120", "--radius", "90mm")
    masses = polar(front * 90, 30), polar(rear * 90, 120)
    status, said = station.run("test-mass", *on, *station.shows(*masses))
    assert (status, [one["kind"] for one in last_test(station)["findings"]]) == (1, ["rough"]), said
    again = re.search(r"--front (\d+)g@30 --rear (\d+)g@120", station.refuses("sign", "--by", "AB"))
    assert float(again[1]) > front
    assert float(again[2]) > rear
    on = ("--front", f"{again[1]}g@30", "--rear", f"{again[2]}g@120", "--radius", "90mm")
    masses = polar(float(again[1]) * 90, 30), polar(float(again[2]) * 90, 120)
    status, said = station.run("test-mass", *on, *station.shows(*masses))
    assert status == 0, said


def test_units_typed_for_others_are_refused_with_the_way_ready_to_paste(station):
    """Both alike, which no reading would show where the profile is off as much. Nothing is written."""
    told = station.refuses("sign", "--by", "AB")
    typed = re.search(r"truethrow test-mass \S+ --station \S+ (.+) FRONT REAR", told)[1].split()
    ounces = [one.replace("g@", "oz@") for one in typed]
    said = station.refuses("test-mass", *ounces, "1@2", "3@4")
    assert "28.3 times what was asked for" in said
    assert "run: truethrow test-mass" in said
    inches = [re.sub("^[0-9]+mm$", "4mm", one) for one in typed]
    assert "4 mm is no radius for a known mass" in station.refuses("test-mass", *inches, "1@2", "3@4")
    bare = [one.removesuffix("mm") for one in typed]
    assert "has no unit" in station.refuses("test-mass", *bare, "1@2", "3@4")
    bare = [one.replace("g@", "@") for one in typed]
    assert "mass with its unit" in station.refuses("test-mass", *bare, "1@2", "3@4")


def test_a_form_that_is_neither_is_refused(station):
    on = ("--front", "600g@30", "--radius", "100mm", "1@2", "3@4")
    assert "missing: two masses" in station.refuses("test-mass", *on)
    assert "can't be combined" in station.refuses("test-mass", "--rear", "400g@120", "--mass", "5", *on)
    assert "not all of it is said" in station.refuses("test-mass", "--mass", "5", *on[2:])
    assert "too much alike" in station.refuses("test-mass", "--rear", "590g@120", *on)
    assert "150 degrees apart" in station.refuses("test-mass", "--rear", "400g@180", *on)


@pytest.mark.parametrize(
    ("left", "told"),
    [
        ((True, True), "both known masses are still on"),
        ((True, False), "the known mass is still on the front plane"),
        ((False, True), "the known mass is still on the rear plane"),
    ],
)
def test_what_is_left_on_is_told_at_the_next_spin(station, left, told):
    station.hang_both()
    front, rear = left[0] * polar(9000, 30), left[1] * polar(5400, 120)
    assert told in station.spin(*station.shows(front, rear)).replace("\n", " ")
    station.must_not_be_signed_or_drilled()
