"""A known mass says that something is wrong at the station itself, in no field of its profile: planes that answer
each other, cables that are exchanged, masses that contradict each other. What is to be done is a command, and what
was read before it counts no more."""

from __future__ import annotations

import re

from balancing_shop import Station, polar
from typer.testing import CliRunner
from within import app

SET = "or, once the station is set for it (cables, planes, gain): truethrow profile "


class Crossing(Station):
    """Each plane shows a part of the other; or the cables of the two are exchanged."""

    part, exchanged = 0.0, False

    def shows(self, mass=0j, rear=0j):
        crank = list(self.crank)
        front, back = self.crank[0] + mass, self.crank[1] + rear
        self.crank = [front + self.part * back, back + self.part * front]
        if self.exchanged:
            self.crank.reverse()
        told = super().shows()
        self.crank = crank
        return told


def pasted(shop, told):
    """What an operator does who set the station: the command that says so, initials and a reason filled in."""
    words = re.search(r"truethrow profile \S+ --station \S+ --changed-today", " ".join(told.split()))[0].split()
    done = CliRunner().invoke(app, [*words[1:], "--by", "AB", "--why", "plane distances set"])
    assert done.exit_code == 0, done.output


def test_planes_answer_each_other(tmp_path):
    """One alone shows 20 % in the other plane: it agreed, and the crank was drilled by planes that answer each
    other."""
    shop = Crossing(tmp_path, unit="g·mm")
    shop.part, shop.crank = 0.2, [polar(900, 40), polar(700, 250)]
    shop.spin()
    status, said = shop.hang_as_told(shop.refuses("sign", "--by", "AB"))
    assert (status, "the two planes do not agree with each other" in said, SET in said) == (1, True, True)
    status, said = shop.hang_as_told(said)
    assert (status, "20% of it shows in the other plane" in said, SET in said) == (1, True, True)
    shop.must_not_be_signed_or_drilled()
    shop.part = 0.0
    pasted(shop, said)
    told = shop.must_not_be_signed_or_drilled()
    assert "the station was changed since spin 1 (nothing of it in the profile), says AB: spin again" in told
    assert "first a spin without it" in shop.refuses("test-mass", *_pair(), *shop.shows())
    shop.spin()
    assert shop.hang_as_told(shop.refuses("sign", "--by", "AB"))[0] == 0
    assert shop.state()["plan"]["operations"]
    assert "station changed: nothing of it in the profile" in "\n".join(shop.run_alone("history"))


def _pair():
    return "--front", "100g@30", "--rear", "60g@120", "--radius", "90mm"


def test_the_cables_are_exchanged(tmp_path):
    shop = Crossing(tmp_path, unit="g·mm")
    shop.exchanged, shop.crank = True, [polar(900, 40), polar(700, 250)]
    shop.spin()
    status, said = shop.hang_as_told(shop.refuses("sign", "--by", "AB"))
    assert (status, "shows in the other plane" in said, SET in said) == (1, True, True)
    shop.exchanged = False
    pasted(shop, said)
    shop.spin()
    assert shop.hang_as_told(shop.refuses("sign", "--by", "AB"))[0] == 0


def test_masses_that_contradict_each_other_can_be_canceled(tmp_path):
    """One was on at another angle than it was typed: the test that does not agree is canceled by the command that
    is told, and the next one agrees."""
    shop = Crossing(tmp_path, unit="g·mm")
    shop.spin()
    assert shop.hang(at=30)[0] == 0
    on = ("--mass", 400, "--radius", 100, "--plane", "front", "--at", 120)
    status, said = shop.run("test-mass", *on, *shop.shows(polar(40_000, 75)))
    assert (status, "contradict each other" in said) == (1, True)
    told = " ".join(shop.must_not_be_signed_or_drilled().split())
    back = re.search(r"cancel that test: truethrow (strike \S+ \S+)", told)[1].split()
    assert "cancel that test: truethrow strike" in " ".join(said.split())
    assert CliRunner().invoke(app, [*back, "--why", "it was at 75"]).exit_code == 0
    assert shop.hang(at=120)[0] == 0
