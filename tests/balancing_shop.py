"""A shop's balancing machine with a crank on it, beside the profile that says how it reads: for stories, which go
through the command line."""

from __future__ import annotations

import cmath
import json
import math
import re
import shlex

import cranks
import invented
from typer.testing import CliRunner
from within import app

GMM = {"g": 1.0, "g·mm": 1.0, "g·cm": 10.0, "g·in": 25.4, "oz·in": 28.349523125 * 25.4}
PROFILE = """
[spin]
unit = "{unit}"
{more}
sense = "{sense}"
zero = {zero}
amount_uncertainty = 2.0
angle_uncertainty = 2.0
floor = 20.0

[stack]
clamp_half = 352.4

[[piece]]
name = "shim 0.1"
mass = 0.1
count = 999

[[drill]]
diameter = 12.0
"""
# Of the invented V8: throws of 46 mm at 0, 90, 270 and 180 degrees, 112 mm apart, planes at the outer ones; all
# hang 1866.5 g.
HUNG_G, RADIUS_MM = 1866.5, 46.0
THROWS = {1: (0.0, 0.0), 2: (112.0, 90.0), 3: (224.0, 270.0), 4: (336.0, 180.0)}
SLOPE = 1 / 336.0


def polar(amount, degrees):
    return cmath.rect(amount, math.radians(degrees))


def bobweight(throw):
    """What the bobweight of a throw brings to the front and the rear plane."""
    z_mm, degrees = THROWS[throw]
    whole = polar(HUNG_G * RADIUS_MM, degrees)
    return whole * (1 - z_mm * SLOPE), whole * z_mm * SLOPE


def in_unit(text, unit):
    """The number of a quantity that is told in a unit."""
    assert text.endswith(unit)
    return float(text.removesuffix(unit))


class Station:
    """A shop's balancing machine, as it really is, with a crank on it, beside the profile that says how it is.
    The limit is 130.5 g·mm a plane. per: the radius at which it reads a unit of mass. [mm]"""

    def __init__(self, folder, unit="g·in", with_rotation=True, zero=0.0, **tables):
        self.job, self.profile = folder / "my.toml", folder / "station.toml"
        data = {"station": {"limit": 130.5}, "crank": {"counterweight": cranks.v8_weights()}} | tables
        self.job.write_text(invented.text(invented.document(**data)), encoding="utf-8")
        self.unit, self.with_rotation, self.zero, self.per = unit, with_rotation, zero, 1.0
        self.crank = [polar(330, 40), polar(300, 250)]
        # What belongs to the fixture; whether that is turned, and the display's zero goes with it.
        self.fixture, self.is_turned, self.counts_from_fixture = [0j, 0j], False, False
        self.edit()
        self.called = str(self.job)

    def edit(self, unit="g·mm", sense="with", zero=0.0, more=""):
        """Write the profile. more: further lines of its [spin]."""
        said = PROFILE.format(unit=unit, sense=sense, zero=zero, more=more)
        self.profile.write_text(said, encoding="utf-8")

    def shows(self, mass=0j, rear=0j):
        """What its display says: front and rear. mass, rear: known ones on the front and the rear plane."""
        texts = []
        for own, theirs, known in zip(self.crank, self.fixture, (mass, rear), strict=True):
            vector = own + known + (-theirs if self.is_turned else theirs)
            if self.is_turned and self.counts_from_fixture:
                vector = -vector
            degrees = math.degrees(cmath.phase(vector)) * (1 if self.with_rotation else -1) + self.zero
            texts.append(f"{abs(vector) / GMM[self.unit] / self.per:.3f}@{degrees % 360:.1f}")
        return texts

    def run(self, command, *args, env=None):
        said = [command, self.called, "--station", str(self.profile), *map(str, args)]
        done = CliRunner().invoke(app, said, env=env)
        if done.exception and not isinstance(done.exception, SystemExit):
            return 2, str(done.exception)
        return done.exit_code, done.output

    def run_alone(self, command, *args):
        """A command that needs no station; its lines."""
        done = CliRunner().invoke(app, [command, self.called, *map(str, args)])
        assert done.exit_code == 0, done.output
        return done.output.splitlines()

    def says(self, *what, why="the display is set so"):
        """Somebody says what an edit of the profile was."""
        status, said = self.run("profile", *what, "--by", "AB", "--why", why)
        assert status == 0, said
        return said

    def state(self):
        return json.loads(self.run("spins", "--json")[1])

    def spin(self, *texts):
        status, said = self.run("spin", *(texts or self.shows()))
        assert status in (0, 1), said
        return said

    def hang(self, at=30.0, grams=400.0, radius=100.0):
        """Put a known mass on the front plane and type what the station shows."""
        on = ("--mass", grams, "--radius", radius, "--plane", "front", "--at", at)
        return self.run("test-mass", *on, *self.shows(polar(grams * radius, at)))

    def hang_both(self, front=100.0, rear=60.0, radius=90.0):
        """Put two known masses on at once and type what the station shows."""
        on = ("--front", f"{front:g}g@30", "--rear", f"{rear:g}g@120", "--radius", f"{radius:g}mm")
        return self.run("test-mass", *on, *self.shows(polar(front * radius, 30), polar(rear * radius, 120)))

    def hang_as_told(self, told):
        """Paste the test-mass command that a refusal told, with what the station then shows."""
        words = shlex.split(re.search(r"truethrow (test-mass .+? FRONT REAR(?: --turned)?)", told)[1])
        more = words[words.index("REAR") + 1 :]
        words = words[: words.index("FRONT")]
        given = dict(zip(words[2::2], words[3::2], strict=True))
        assert words[1] == self.called
        radius_mm = in_unit(given["--radius"], "mm")
        if "--mass" in given:
            masses = {given["--plane"]: f"{given['--mass']}@{given['--at']}"}
        else:
            masses = {plane: given[f"--{plane}"] for plane in ("front", "rear")}
        on = {"front": 0j, "rear": 0j}
        for plane, text in masses.items():
            mass, degrees = text.split("@")
            on[plane] = polar(in_unit(mass, "g") * radius_mm, float(degrees))
        done = CliRunner().invoke(app, [*words, *self.shows(*on.values()), *more])
        assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
        return done.exit_code, done.output

    def lines(self):
        path = self.job.with_name("my.readings.jsonl")
        return path.read_text("utf-8").splitlines() if path.exists() else []

    def refuses(self, command, *args):
        """A command is refused and writes nothing; what it said."""
        before = self.lines()
        status, said = self.run(command, *args)
        assert status == 2, said
        assert self.lines() == before
        return said

    def must_not_be_signed_or_drilled(self):
        state = self.state()
        assert (state["plan"], state["inside"], state["signed"]) == (None, False, None)
        self.refuses("holes", "--done")
        return self.refuses("sign", "--by", "AB")
