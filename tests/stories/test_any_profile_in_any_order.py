"""Spins, edits of the profile, right and wrong and said to be one thing or the other, known masses, holes and
signatures in any order, on a station that really reads in one way: no crank is ever signed whose true unbalance in
either plane is beyond its tolerance by more than the doubt that the signature states."""

from __future__ import annotations

import re
import shutil
import tempfile
from pathlib import Path

from balancing_shop import GMM, Station, polar
from examples import examples
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule
from typer.testing import CliRunner
from within import app

LIMIT_GMM = 130.5
PLANES_MM = (0.0, 336.0)
# Ways in which a station may read, and be said to read. One of a unit. [g·mm]
WAYS = st.fixed_dictionaries(
    {
        "unit": st.sampled_from([("g·mm", ""), ("g·in", ""), ("oz·in", ""), ("g", "100.0"), ("g", "150.0")]),
        "sense": st.sampled_from(["with", "against"]),
        "zero": st.sampled_from([0.0, 40.0, 180.0, 300.0]),
    }
)
VECTORS = st.tuples(st.sampled_from([20, 60, 100, 300, 2000]), st.sampled_from([40, 160, 250]))
SAID = st.sampled_from([(), ("--wrong-since", "1"), ("--wrong-since", "2"), ("--changed-today",)])


class AnyProfile(RuleBasedStateMachine):
    def __init__(self):
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.station = Station(self.folder)
        self.has_slipped, self.signed = False, None

    def teardown(self):
        shutil.rmtree(self.folder)

    @initialize(way=WAYS, front=VECTORS, rear=VECTORS, says_so=st.booleans(), other=WAYS)
    def station_and_crank(self, way, front, rear, says_so, other):
        (unit, radius), self.way = way["unit"], way
        self.station.unit, self.station.per = unit, float(radius or 1.0)
        self.station.with_rotation, self.station.zero = way["sense"] == "with", way["zero"]
        self.station.crank = [polar(*front), polar(*rear)]
        self.write(way if says_so else other)
        self.spin()

    def write(self, way):
        (unit, radius), self.said = way["unit"], way
        self.station.edit(unit, way["sense"], way["zero"], f"radius = {radius}" if radius else "")

    def scaled(self, way):
        """One of its unit. [g·mm]"""
        unit, radius = way["unit"]
        return GMM[unit] * float(radius or 1.0)

    def run(self, *said):
        status, told = self.station.run(*said)
        assert status in (0, 1, 2), told
        return status, told

    @rule()
    def spin(self):
        if self.run("spin", *self.station.shows())[0] != 2:
            self.signed = None

    @rule(way=WAYS, said=SAID)
    def edit(self, way, said):
        self.write(way)
        self.say(said)

    @rule(said=SAID)
    def mend(self, said):
        self.write(self.way)
        self.say(said)

    @rule(field=st.sampled_from(["unit", "sense", "zero"]), way=WAYS, said=SAID)
    def edit_one_field(self, field, way, said):
        self.write(self.said | {field: way[field]})
        self.say(said)

    @rule(said=SAID)
    def say(self, said):
        """What an edit was: nothing, that it was wrong since a spin, or that the station was changed."""
        if said:
            status, _ = self.run("profile", *said, "--by", "AB", "--why", "x")
            if status == 0 and "--wrong-since" in said:
                self.signed = None

    @rule(said=SAID)
    def go_on_to_the_end(self, said):
        self.go_on(8, said)

    @rule(steps=st.integers(1, 4), said=SAID)
    def go_on(self, steps, said):
        """Do what the tool says is next."""
        for _ in range(steps):
            state = self.station.state()
            following = " ".join(state["next"])
            if state["signed"]:
                return
            if state["inside"]:
                self.sign()
            elif "truethrow profile" in following:
                self.say(said)
            elif "truethrow test-mass" in following:
                self.station.hang_as_told(following)
            elif state["plan"] and any(one["done"] is None for one in state["plan"]["operations"]):
                self.drill(told_by_name=True)
            else:
                self.spin()

    @rule()
    def cancel_what_was_said(self):
        edits = [line for line in self.station.lines() if '"action":"profile"' in line]
        if edits:
            key = re.search(r'"id":"([^"]+)"', edits[-1])[1]
            done = CliRunner().invoke(app, ["strike", self.station.called, key, "--why", "x"])
            # The signature that it took back may count again.
            self.signed = self.signed_before if done.exit_code == 0 else self.signed

    signed_before = None

    @rule(
        grams=st.sampled_from([100, 400, 1000]),
        at=st.sampled_from([30, 75, 120, 300]),
        unit=st.sampled_from(["", "g"]),
    )
    def hang(self, grams, at, unit):
        """A mass of the shop's own, typed as it is."""
        on = ("--plane", "front", "--at", at, *self.station.shows(polar(grams * 100.0, at)))
        status, _ = self.run("test-mass", "--mass", f"{grams}{unit}", "--radius", f"100{unit and 'mm'}", *on)
        self.speaks_against(status)

    @rule(at=st.sampled_from([30, 120]))
    def radius_in_inches(self, at):
        on = ("--plane", "front", "--at", at, *self.station.shows(polar(400 * 4 * 25.4, at)))
        self.station.refuses("test-mass", "--mass", 400, "--radius", 4, *on)

    @precondition(lambda self: self.has_slipped or self.scaled(self.said) == self.scaled(self.way))
    @rule(ounces=st.sampled_from([14, 30]), at=st.sampled_from([30, 120]))
    def mass_in_ounces(self, ounces, at):
        """First under a profile whose amounts are right: a slip that hides another at once is beyond any check."""
        on = ("--plane", "front", "--at", at, *self.station.shows(polar(ounces * 28.349523125 * 100, at)))
        status, told = self.run("test-mass", "--mass", ounces, "--radius", 100, *on)
        self.has_slipped |= status == 1 and "mixed up" in told
        self.speaks_against(status)

    def speaks_against(self, status):
        """A mass that does not agree takes back what was signed before, too."""
        self.signed = None if status == 1 else self.signed

    @rule(told_by_name=st.booleans())
    def drill(self, told_by_name):
        plan = self.station.state()["plan"]
        if plan is None or not plan["operations"]:
            return
        name = ("--plan", plan["name"]) if told_by_name else ()
        if self.run("holes", "--done", *name)[0] == 2:
            return
        self.signed = None
        front, rear = PLANES_MM
        for one in plan["operations"]:
            if one["done"] is None:
                away = -polar(one["removes_gmm"], one["crank_angle_deg"])
                share = (rear - one["z_mm"]) / (rear - front)
                self.station.crank[0] += away * share
                self.station.crank[1] += away * (1 - share)

    @rule()
    def sign(self):
        if self.station.run("sign", "--by", "AB")[0] == 0:
            self.is_signed()

    def is_signed(self):
        self.signed = self.signed_before = self.station.state()["signed"]
        for left, true in zip(self.signed["left"], self.station.crank, strict=True):
            assert abs(true) <= LIMIT_GMM + left["uncertainty_gmm"], (left, true, self.way, self.said)

    @invariant()
    def what_is_signed_is_what_was_signed(self):
        """By the profile of its day, whatever the file says now; and nothing that was not."""
        if self.signed:
            assert self.station.state()["signed"] == self.signed


TestAnyProfile = AnyProfile.TestCase
TestAnyProfile.settings = settings(examples(40), stateful_step_count=12, suppress_health_check=list(HealthCheck))
