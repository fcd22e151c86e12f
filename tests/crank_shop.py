"""A shop's station as it really is, a crank on it as it really is, and an operator who sees neither: who does what
the program says, through the command line alone, and slips as operators do. For simulations; all of it invented.

What is hidden from the operator is in Shop; what the operator sees of it is what the display shows, what is
printed on it (its unit), where the cables go and what a hole in the crank looks like."""

from __future__ import annotations

import cmath
import json
import math
import random
import re
import shlex
from typing import NamedTuple

import cranks
import invented
from typer.testing import CliRunner

from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.balance.base.units import LENGTH, MASS, parse
from truethrow.balance.correction import TwoPlanes, apply, changed_by, plan
from truethrow.balance.crank.crank import to_depth
from truethrow.balance.job.job import own_readings
from truethrow.balance.result.unbalance import throw_arms
from truethrow.balance.result.work import work
from truethrow.balance.station import stationfile
from truethrow.cli.main import app

LAYOUTS = (
    *("v8-90-crossplane", "v8-90-flatplane", "inline-4", "inline-6", "v6-90-even", "v6-60-even", "vtwin-90"),
)
UNITS = {"g": 1.0, "oz": 28.349523125, "g·mm": 1.0, "g·in": 25.4, "oz·in": 28.349523125 * 25.4}
SENSES = ("with", "against")
# What operators do: nothing wrong; mend the profile and go on without a spin; drill a fifth too shallow; once
# drill all of one counterweight in its neighbor; once drill at the mirrored angle.
SLIPS = ("none", "no spin", "shallow", "neighbor", "mirrored")
PROFILE = """
[spin]
unit = "{unit}"
{radius}
sense = "{sense}"
zero = {zero}
amount_uncertainty = 2.0
angle_uncertainty = 2.0
floor = {floor}
speed = 550

[stack]
clamp_half = 152.4
step = 0.2

[[piece]]
name = "shim 0.1"
mass = 0.1
count = 999

[[drill]]
diameter = 8.0
deepest = 20.0

[[drill]]
diameter = 12.0
deepest = 30.0

[[drill]]
diameter = 16.0
deepest = 30.0

[[slug]]
diameter = 16.0
length = 16.0
density_class = 1
"""


def polar(amount, degrees):
    return cmath.rect(amount, math.radians(degrees))


class Display(NamedTuple):
    """How a station shows, or is said to."""

    unit: str
    radius_mm: float
    sense: str
    zero: float

    @property
    def gmm(self):
        return UNITS[self.unit] * (self.radius_mm if self.unit in ("g", "oz") else 1.0)

    def shows(self, vector, places):
        degrees = math.degrees(cmath.phase(vector)) * (1 if self.sense == "with" else -1) + self.zero
        return f"{abs(vector) / self.gmm:.{places}f}@{degrees % 360:.0f}"


class Shop:
    """What is so. crank: what turns in the engine, as vectors in both planes [g·mm]."""

    def __init__(self, folder, seed):
        self.dice = dice = random.Random(seed)
        self.layout = LAYOUTS[seed % len(LAYOUTS)]
        self.slip = SLIPS[seed // len(LAYOUTS) % len(SLIPS)]
        self.job, self.profile = folder / "my.toml", folder / "station.toml"
        self.limit_gmm = dice.choice((90.0, 130.5, 180.0))
        self.job.write_text(invented.text(self._document()), encoding="utf-8")
        # The station: as it is, and as the profile says.
        unit = list(UNITS)[dice.randrange(5)]
        self.is_so = Display(
            unit, dice.choice((80.0, 100.0, 127.0)), dice.choice(SENSES), dice.choice((0, 90, 213))
        )
        self.gain, self.turn_deg = dice.uniform(0.85, 1.15), dice.uniform(-8, 8)
        self.crossing = dice.choice((0.0, dice.uniform(0, 0.03), dice.uniform(0, 0.2)))
        self.swapped = dice.random() < 0.15
        self.noise_gmm, self.jitter_deg = dice.uniform(1, 8), dice.uniform(0, 0.5)
        self.floor_gmm = dice.choice((10.0, 20.0, 30.0))
        said = self.is_so
        if dice.random() < 0.4:
            said = said._replace(zero=dice.choice((0, 40, 180, 300)))
        if dice.random() < 0.3:
            said = said._replace(sense=SENSES[1 - SENSES.index(said.sense)])
        if dice.random() < 0.15:
            said = said._replace(radius_mm=dice.choice((80.0, 101.6, 150.0)))
        if dice.random() < 0.1:
            said = said._replace(unit=list(UNITS)[dice.randrange(5)])
        self.write(said)
        # The crank, and what hangs on it.
        job = own_readings(self.job)
        self.made, self.planes_mm = job.crank, (job.station.front_plane_mm, job.station.rear_plane_mm)
        self.tools = stationfile.load(self.profile).tools
        self.hang(build=True)
        most = dice.choice((0.8 * self.limit_gmm, 900.0, 2500.0))
        least = 0.0 if most < self.limit_gmm else 60.0
        self.crank = TwoPlanes(*(polar(dice.uniform(least, most), dice.uniform(0, 360)) for _ in range(2)))

    def _document(self):
        engine = invented.V8 | {"layout": self.layout}
        count = {"v8": 8, "in": int(self.layout[-1:]) if self.layout[-1:].isdigit() else 0, "v6": 6, "vt": 2}
        parts = invented.cylinders(count[self.layout[:2]])
        apart_g = self.dice.choice((0.0, 0.2, 0.5))
        for one in parts:
            one["piston"] = round(one["piston"] + apart_g * self.dice.uniform(-1, 1), 1)
        station = {"limit": self.limit_gmm}
        if self.layout == "vtwin-90":
            station |= {"front_plane": -60.0, "rear_plane": 60.0}
        document = invented.document(parts, engine=engine, station=station)
        self.job.write_text(invented.text(document), encoding="utf-8")
        throws = list(dict.fromkeys((one.z_mm, one.angle_deg) for one in own_readings(self.job).layout.throws))
        if "even" in self.layout:  # of a split pin one pair of counterweights
            throws = [(z, a + (b - a) / 2) for (z, a), (_, b) in zip(throws[::2], throws[1::2], strict=True)]
        return document | {"crank": {"counterweight": cranks.v8_weights(throws=throws)}}

    def write(self, said):
        self.said = said
        radius = f"radius = {said.radius_mm}" if said.unit in ("g", "oz") else ""
        told = said._asdict() | {"radius": radius, "floor": self.floor_gmm}
        self.profile.write_text(PROFILE.format(**told), encoding="utf-8")

    def hang(self, *, build=False):
        """Bobweights as the job asks for them; build: with what a stack is off by."""
        job = own_readings(self.job)
        self.throws = work(job).bobweights.throws
        if build:
            self.off_g = [self.dice.uniform(-0.15, 0.15) for _ in self.throws]
        arms = [throw_arms(job, plane) for plane in ("front", "rear")]
        self.hanging = TwoPlanes(
            *(
                sum(
                    (one.hung_g + off - one.bobweight.value_g) * arm
                    for one, off, arm in zip(self.throws, self.off_g, own, strict=True)
                )
                for own in arms
            )
        )

    def shows(self, front=0j, rear=0j):
        """One run on the display: front and rear. front, rear: known masses that are on."""
        true = self.crank.plus(self.hanging).plus(TwoPlanes(front, rear))
        crossed = true.front + self.crossing * true.rear, true.rear + self.crossing * true.front
        read = []
        for one in crossed:
            jitter = self.gain * cmath.rect(
                1 + self.dice.gauss(0, 0.003), math.radians(self.turn_deg + self.dice.gauss(0, self.jitter_deg))
            )
            noise = complex(self.dice.gauss(0, self.noise_gmm), self.dice.gauss(0, self.noise_gmm))
            read.append(one * jitter + noise)
        if self.swapped:
            read.reverse()
        places = max(0, math.ceil(math.log10(self.is_so.gmm)))
        return [self.is_so.shows(one, places) for one in read]

    def add(self, front, rear):
        """Something that changes both planes."""
        self.crank = self.crank.plus(TwoPlanes(front, rear))

    def bobweights(self):
        """What the bobweight of each throw brings to both planes, by the throw's name."""
        arms = [throw_arms(own_readings(self.job), plane) for plane in ("front", "rear")]
        return {
            one.throw.name: (one.hung_g * front, one.hung_g * rear)
            for one, front, rear in zip(self.throws, *arms, strict=True)
        }

    @property
    def is_set(self):
        """How the station is set."""
        return self.swapped, self.gain, self.crossing

    @property
    def worst(self):
        """The worse plane of what turns in the engine, in times the limit."""
        return max(map(abs, self.crank)) / self.limit_gmm

    def drill(self, holes, *, slip):
        """What really becomes of holes to drill. slip: this time at another place."""
        made = [self._by_hand(hole, self.dice, 0.8 if self.slip == "shallow" else 1.0) for hole in holes]
        made = self._slipped(made) if slip else made
        self.crank = self.crank.plus(changed_by(made, self.planes_mm))
        self.made = apply(self.made, made)

    def _by_hand(self, hole, dice, part=1.0):
        """A hole as deep as a hand drills it. part: of what it is to be."""
        if hole.kind == "slug":
            return hole
        deep_mm = max(0.2, hole.depth_mm * part + dice.gauss(0, 0.15))
        return to_depth(self.made.member(hole.member), hole, deep_mm)

    def _slipped(self, holes):
        if self.slip == "mirrored":
            return [hole._replace(angle_deg=-hole.angle_deg % 360) for hole in holes]
        if self.slip == "neighbor":
            names = [member.name for member in self.made.members]
            at = names.index(holes[0].member)
            other = self.made.members[at - 1 if at else 1]
            shift = other.z_mm - self.made.members[at].z_mm
            return [
                hole._replace(member=other.name, z_mm=hole.z_mm + shift) if hole.member == names[at] else hole
                for hole in holes
            ]
        return holes

    def oracle(self):
        """Whether somebody who knows the crank, with these drills and this hand, brings it inside so far that this
        station, in order, can show it."""
        crank, made, dice = self.crank, self.made, random.Random(1)
        unsure_gmm = max(self.floor_gmm, self.noise_gmm)
        allowed = (max(self.limit_gmm - unsure_gmm, 0.2 * self.limit_gmm),) * 2
        for _ in range(4):
            if max(map(abs, crank)) + unsure_gmm < self.limit_gmm:
                return True
            asked = plan(made, self.tools, crank, self.planes_mm, allowed_gmm=allowed)
            done = [self._by_hand(hole, dice) for hole in asked.operations]
            crank, made = crank.plus(changed_by(done, self.planes_mm)), apply(made, done)
        return max(map(abs, crank)) + unsure_gmm < self.limit_gmm


class Ended(NamedTuple):
    """How a crank ended. how: signed, dead end, or lost; true: its worse plane, in times the limit."""

    how: str
    true: float
    spins_after_proof: int
    told: str


class Operator:
    """Who works at a shop's station, by what the program says."""

    MOST_ACTS = 60

    def __init__(self, shop):
        self.shop, self.called = shop, str(shop.job)
        self.spins = self.after_proof = 0
        # Of spins: where holes are ordered on a crank that is well inside. Of plans drilled on one that is inside:
        # those that, drilled as told, make it worse, and those with heavy metal.
        self.good_holed = self.on_inside = self.worse = self.slugged = 0
        self.has_slipped = False
        self.acts, self.refusals = [], []
        self.on = {"front": 0j, "rear": 0j}  # known masses, the last time that any hung

    def run(self, *said):
        """A command; its status, what it said (of a fault with its remedies), and as data where it is."""
        self.acts.append(shlex.join(map(str, said)))
        done = CliRunner().invoke(app, [*map(str, said)])
        if isinstance(done.exception, (BadInput, NotSaved)):
            return 2, "\n".join(map(str, getattr(done.exception, "faults", [done.exception])))
        if done.exception and not isinstance(done.exception, SystemExit):
            raise done.exception
        return done.exit_code, done.output

    def at(self, command, *more):
        return self.run(command, self.called, "--station", self.shop.profile, *more)

    def work(self):
        self.at("spins")
        self.spin()
        for _ in range(self.MOST_ACTS):
            if self.refusals:
                told = self.refusals.pop()
                if not self.does(told):
                    return self.ended("dead end", told)
                continue
            state = json.loads(self.at("spins", "--json")[1])
            if state["inside"]:
                status, said = self.at("sign", "--by", "AB")
                assert status == 0, said
                return self.ended("signed", said)
            if not self.go_on(state):
                return self.ended("dead end", self.at("spins")[1])
        return self.ended("lost", self.at("spins")[1])

    def ended(self, how, said):
        return Ended(how, self.shop.worst, self.after_proof, said)

    def go_on(self, state):
        """One step on; nothing where nothing is told that could be done."""
        waiting = [one for one in (state["plan"] or {}).get("operations", ()) if one["done"] is None]
        if state["plan"] and state["plan"]["operations"] and not state["plan"]["halted"]:
            if waiting:
                self.drill(state, waiting)
            self.spin()
            return True
        return any(self.does(told) for told in state["next"])

    def does(self, told):
        """What a line of next steps says; nothing where it is nothing to do."""
        if "truethrow test-mass" in told:
            self.hang(told)
        elif "truethrow spin " in told and "REAR" in told:
            self.spin(told.count("FRONT REAR"))
        elif "truethrow profile" in told:
            self.says(told)
        elif "--built" in told:
            grams = [
                f"{one.throw.name}={one.hung_g + off:.1f}"
                for one, off in zip(self.shop.throws, self.shop.off_g, strict=True)
            ]
            status, said = self.at("stack", "--built", *grams, "--hung")
            assert status in (0, 1), said
        elif 'hang = "own"' in told:
            text = self.shop.job.read_text("utf-8")
            self.shop.job.write_text(text.replace("[bobweight]", '[bobweight]\nhang = "own"'), encoding="utf-8")
            self.shop.hang()
            self.spin()
        elif "--aim sum" in told:
            status, said = self.at("holes", "--aim", "sum", "--by", "AB", "--why", "these parts go with it")
            assert status in (0, 1), said
        else:
            return False
        return True

    def spin(self, runs=1):
        texts = [text for _ in range(runs) for text in self.shop.shows()]
        status, said = self.at("spin", *texts)
        if status == 2:
            self.refused(said)
            return
        self.spins += 1
        state = json.loads(self.at("spins", "--json")[1])
        self.after_proof += state["proved"]
        self.looked_at(state)

    def looked_at(self, state):
        """What is ordered by a spin, beside what is so."""
        ordered = state["plan"]["operations"] if state["plan"] else []
        sure = [one["uncertainty_gmm"] for one in state["spins"][-1]["planes"].values()]
        true = [abs(one) for one in self.shop.crank.plus(self.shop.hanging)]
        inside = [own < self.shop.limit_gmm - 2 * unsure for own, unsure in zip(true, sure, strict=True)]
        self.good_holed += bool(ordered) and all(inside)

    def refused(self, said):
        """What a refusal says to do first comes next."""
        self.refusals.append(said)

    def drill(self, state, waiting):
        holes = [cranks.hole_told(one) for one in waiting]
        before = max(map(abs, self.shop.crank.plus(self.shop.hanging)))
        slip = self.shop.slip in ("neighbor", "mirrored") and not self.has_slipped
        self.has_slipped |= slip
        if before <= self.shop.limit_gmm:
            as_told = self.shop.crank.plus(self.shop.hanging).plus(changed_by(holes, self.shop.planes_mm))
            self.on_inside += 1
            self.worse += max(map(abs, as_told)) > before
            self.slugged += any(hole.kind == "slug" for hole in holes)
        self.shop.drill(holes, slip=slip)
        named = re.search(r"--done( --plan \S+)?", self.at("holes")[1])
        status, said = self.at("holes", *shlex.split(named[0]))
        assert status in (0, 1), said

    def hang(self, told):
        words = shlex.split(re.search(r"truethrow (test-mass .+? FRONT REAR(?: --turned)?)", told)[1])
        given = dict(zip(words[2::2], words[3::2], strict=False))
        radius_mm = parse(given["--radius"], LENGTH, "mm")
        if "--mass" in given:
            masses = {given["--plane"]: f"{given['--mass']}@{given['--at']}"}
        else:
            masses = {plane: given[f"--{plane}"] for plane in ("front", "rear")}
        on = {"front": 0j, "rear": 0j}
        for plane, text in masses.items():
            mass, _, degrees = text.partition("@")
            on[plane] = polar(parse(mass, MASS, "g") * radius_mm, float(degrees))
        self.on = on
        status, said = self.run(*words[: words.index("FRONT")], *self.shop.shows(**on), "--json")
        if status == 2:
            self.refused(said)
            return
        if status == 0:
            self.after_proof = 0
        self.set_by([one["sentence"] for one in json.loads(said)["findings"]])

    def set_by(self, sentences):
        """What the findings of a test say to do to the station or to its profile, and to say of it."""
        was, self.acts = self.shop.is_set, [*self.acts, *(f"# {text}" for text in sentences)]
        edited = self.shop.said
        for text in sentences:
            self._set_the_station(text)
            edited = self._edited(edited, text)
        if edited != self.shop.said:
            self.shop.write(edited)
            if not self.says(self.at("profile")[1]):  # too small an edit to mean anything
                return
        elif was == self.shop.is_set:
            return
        else:
            status, said = self.at("profile", "--changed-today", "--by", "AB", "--why", "set it")
            assert status in (0, 1), said
        if self.shop.slip != "no spin":
            self.spin()

    def _set_the_station(self, text):
        shop = self.shop
        if "type front before rear" in text:
            shop.swapped = not shop.swapped
        if "calibrate the station" in text:
            shop.gain = shop.dice.uniform(0.99, 1.01) * shop.said.gmm / shop.is_so.gmm
        if "set the station's plane distances" in text:
            shop.crossing = shop.dice.uniform(0, 0.01)

    def _edited(self, said, text):
        """The profile as a finding says to edit it."""
        asked = {
            "sense": r'set sense = "(\w+)"',
            "zero": r"zero = ([\d.]+)",
            "radius_mm": r"set radius = ([\d.]+)|radius, about ([\d.]+)",
            "unit": r'set unit = "(\S+)"',
        }
        for name, pattern in asked.items():
            if found := re.search(pattern, text):
                value = found[found.lastindex]
                said = said._replace(**{name: float(value) if name in ("zero", "radius_mm") else value})
        if re.search("unit on the display|unit right", text):
            said = said._replace(unit=self.shop.is_so.unit)
        return said

    def says(self, told):
        since = re.search(r"--wrong-since (\S+)", told)
        if since is None:
            self.refusals.append(told)
            return False
        status, said = self.at("profile", "--wrong-since", since[1], "--by", "AB", "--why", "a known mass says so")
        if status == 2:
            self.refused(said)
        return True
