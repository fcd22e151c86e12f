"""What is typed at the station as its display, or a hand used to a comma, has it. A reading of 6,1 that is taken
for 61, or a crank that is signed by a station that claims to be sure without end, is a wrong crank."""

from __future__ import annotations

import re

import pytest
from balancing_shop import Station, polar


@pytest.fixture
def fresh(tmp_path):
    return Station(tmp_path, unit="g·cm")


def with_comma(texts):
    return [text.replace(".", ",") for text in texts]


def test_a_decimal_comma_reads_as_the_display_shows_it(fresh):
    """The same readings with commas and with points: the same crank, in the log as on the screen."""
    station = fresh
    station.edit(unit="gcm")
    station.crank = [station.crank[0] * 10, station.crank[1]]
    texts = ["330.125@40", "30.250@250"]
    said = station.refuses("spin", *with_comma(texts))
    assert "can be read as thousands or as a decimal" in said
    assert f"{texts[0]}, or " in said
    shorter = ["330.1@40.0", "30.250@250.0"]
    station.spin(*with_comma(shorter))
    by_comma = station.state()["spins"][0]["planes"]
    station.spin(*shorter)
    assert station.state()["spins"][1]["planes"] == by_comma


@pytest.mark.parametrize("forgotten", [True, False])
def test_a_mass_that_is_not_seen_says_how_heavy_one_has_to_be(fresh, forgotten):
    """And the next command names no lighter one: with that the station is proved."""
    station = fresh
    station.edit(unit="gcm")
    texts = station.shows()
    station.spin(*texts)
    on = ("--mass", "0.2", "--radius", 100, "--plane", "front", "--at", 30)
    status, said = station.run("test-mass", *on, *(texts if forgotten else station.shows(polar(20, 30))))
    assert status == 1
    needed = float(re.search(r"([\d.]+) g at least on the front plane, at 100 mm", " ".join(said.split()))[1])
    told = float(re.search(r"--front ([\d.]+)g@", said)[1])
    assert 0.2 < needed <= told
    status, said = station.hang_as_told(said)
    assert status == 0, said


def test_a_station_that_claims_to_be_sure_without_end_reads_nothing(fresh):
    station = fresh
    text = station.profile.read_text("utf-8")
    for name in ("amount_uncertainty", "angle_uncertainty", "floor"):
        text = re.sub(rf"{name} = .*", f"{name} = 0", text)
    station.profile.write_text(text, "utf-8")
    said = station.refuses("spin", "0.1@20", "0.1@200")
    assert "amount_uncertainty, angle_uncertainty and floor: 0, 0 and 0" in said
