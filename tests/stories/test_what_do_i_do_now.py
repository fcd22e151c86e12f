"""What do I do now: whoever follows nothing but the last line gets from an empty log to a signed and closed job,
and what blocks the work comes first.

By hand: the person here reads what `next` says, pastes its command, fills in what it leaves open (a reading, a
mass, initials, a reason), and knows nothing else of the job.
"""

from __future__ import annotations

import json
import re
import shlex
from functools import cached_property

import cranks
import invented
from commands import in_folder
from station_shop import STATION, Machine, polar

from truethrow.balance import demo
from truethrow.balance.base.beside import log_path
from truethrow.balance.job.job import load, own_readings
from truethrow.balance.result.work import work
from truethrow.balance.weighing import benchjob

MOST_STEPS = 60


def without_status(said):
    """The lines of a command, but for the last one where that says why the status is 1."""
    lines = said.splitlines()
    return lines[:-1] if lines[-1].startswith("Status 1: ") else lines


class Person:
    """One who does what is told. true_g: what the scale reads of a part."""

    def __init__(self, folder, job, true_g, station=""):
        self.run, self.job, self.true_g = in_folder(folder), folder / job, dict(true_g)
        self.named = job
        self.options = ("--station", station) if station else ()
        self.did = []

    @cached_property
    def machine(self):
        """The crank at its station, once there is one."""
        return Machine(7, self.job, noise_gmm=3.0)

    def next(self):
        """What `next` says: the command, and whether it blocks."""
        status, out, err = self.run("next", self.named, *self.options)
        assert status in (0, 1), err
        assert all(line.startswith("Next: ") for line in out.splitlines())
        return out.splitlines()

    def follow(self):
        """Do what is told until nothing is left; what was done, command by command."""
        for _ in range(MOST_STEPS):
            lines = self.next()
            if "nothing, the job is closed" in lines[0]:
                return self.did
            said = self.does(lines)
            told = [line for line in said.splitlines() if line.startswith("Next: ")]
            # What the command itself says last is what next says; one that was given no station knows less of it.
            if told and "--station" in self.did[-1]:
                assert without_status(said)[-len(told) :] == told == self.next()
        raise AssertionError(self.did)

    def does(self, lines):
        line = lines[-1] if "truethrow ground" in lines[-1] else lines[0]
        if "if it is right" in line:
            line = line.split("if it is right, ")[1]
        command = re.search(
            r"truethrow ((?:(?!, then type|; ).)+)", re.sub(r"\(truethrow [^)]*\)", "", line).split("): ")[-1]
        )[1]
        if "truethrow close" in lines[-1] and self.did[-1:] == [command]:
            command = lines[-1].split("truethrow ")[1]
        self.did.append(command)
        command = command.replace("INITIALS", "AB").replace("REASON", "as told").replace('"..."', '"looked at it"')
        words, stdin = shlex.split(command), ""
        if words[0] == "ground":
            made = work(load(self.job)).trim
            self.true_g |= {(p.cylinder, kind): g for p in made.parts for kind, g in p.expected_g.items()}
        elif words[0] == "weigh":
            stdin = self.weighs(line)
        elif words[0] == "stack":
            throws = work(own_readings(self.job)).bobweights.throws
            words = [w.replace("MASS", f"{t.hung_g:.1f}") for w, t in zip(words[5:], throws, strict=True)]
            words = [*shlex.split(command)[:5], *words]
        elif words[0] == "holes":
            self.drills()
        if "FRONT" in words:
            words = [*words[: words.index("FRONT")], *self.spins(words)]
        status, out, err = self.run(*words, stdin=stdin)
        assert status in (0, 1), (command, err)
        return out

    def weighs(self, line):
        typed = []
        for kind, name in re.findall(r"go (piston|pin|big end|small end) (\w+)", line.partition("then type")[2]):
            cylinder = own_readings(self.job).names.meant(kind, name, [], "PART").cylinder
            typed += [f"go {kind} {name}", f"{self.true_g[cylinder, kind.replace(' ', '_')]:.1f}"]
        if typed:
            return "\n".join([*typed, ""])
        parts = load(self.job, partly=True).parts
        waiting = [one for one in benchjob.load(self.job).steps if one.kind not in parts[one.cylinder]]
        return "".join(f"{self.true_g[one.cylinder, one.kind]:.1f}\n" for one in waiting)

    def spins(self, words):
        self.machine.on = [0j, 0j]
        for at, plane in enumerate(("--front", "--rear")):
            if plane in words:
                grams, degrees = words[words.index(plane) + 1].split("g@")
                radius_mm = float(words[words.index("--radius") + 1].removesuffix("mm"))
                self.machine.on[at] = polar(float(grams) * radius_mm, float(degrees))
        readings = self.machine.spin() * max(1, words.count("FRONT"))
        self.machine.on = [0j, 0j]
        return readings

    def drills(self):
        told = json.loads(self.run("spins", self.named, *self.options, "--json")[1])
        for one in told["plan"]["operations"]:
            self.machine.drill(one)


def of_the_demo(folder):
    """What the parts of the demo weigh."""
    path, sheet = demo.copy_into(folder)
    return {(n, kind): one.mean_g for n, parts in load(path, sheet).parts.items() for kind, one in parts.items()}


def test_the_demos_job_from_an_empty_log_to_the_signature(tmp_path):
    """By hand: weigh, confirm both that are far off, grind, weigh again, build, spin, prove, drill until both
    planes are inside, sign, close."""
    person = Person(tmp_path, "launch.toml", of_the_demo(tmp_path), "station.toml")
    did = person.follow()
    order = list(dict.fromkeys(command.split()[0] for command in did))
    assert order == ["weigh", "confirm", "ground", "stack", "spin", "test-mass", "holes", "sign", "close"]


def test_an_in_line_four_without_a_station(tmp_path):
    """By hand: weigh, twice where that settles what is too close to call; the sheet; close."""
    made = in_folder(tmp_path)(
        "new", "inline-4", "four.toml", "--stroke", "86", "--rod-length", "140", "--spacing", "90"
    )
    assert made[0] == 0, made
    true_g = {(n, kind): g for n in range(1, 5) for kind, g in invented.PARTS.items()}
    person = Person(tmp_path, "four.toml", true_g)
    did = [command.split()[0] for command in person.follow()]
    assert did[0] == "weigh" and did[-2:] == ["send", "close"]


def at_a_station(folder):
    """A sound job with a crank, my.toml, and the shop's profile beside it; how commands are run there."""
    data = invented.document(station=STATION, crank={"counterweight": cranks.v8_weights()})
    (folder / "my.toml").write_text(invented.text(data), encoding="utf-8")
    (folder / "station.toml").write_text(demo.text("station.toml"), encoding="utf-8")
    return in_folder(folder)


def test_what_blocks_comes_first_in_the_order_in_which_it_blocks(tmp_path):
    """By hand: a station that nobody proved; then also an edit of its profile; then also a line of the log that
    does not say any more what was written: the last of them is first, and each way out shows the one behind it."""
    run, profile, log = at_a_station(tmp_path), tmp_path / "station.toml", log_path(tmp_path / "my.toml")

    def told():
        status, out, _ = run("next", "my.toml", "--station", "station.toml")
        assert status == 1
        return out

    assert run("spin", "my.toml", "--station", "station.toml", "6.1@203", "5.0@169")[0] == 1
    assert told().startswith("Next: truethrow test-mass my.toml --station station.toml --front ")
    profile.write_text(profile.read_text("utf-8").replace("zero = 0.0", "zero = 40.0"), encoding="utf-8")
    edited = told()
    assert "if the station was changed today: truethrow profile my.toml" in edited
    whole = log.read_bytes()
    log.write_bytes(whole.replace(b"6.1", b"9.1"))
    way_out = "say what became of it before anything goes on: truethrow damaged my.toml"
    assert told() == f"Next: line 2 is damaged and does not count; {way_out}\n"
    log.write_bytes(whole)
    assert told() == edited
    said = ("--changed-today", "--by", "AB", "--why", "encoder mounted anew")
    assert run("profile", "my.toml", "--station", "station.toml", *said)[0] == 0
    assert told() == "Next: truethrow spin my.toml --station station.toml FRONT REAR\n"


def test_what_was_done_beside_the_plan_is_spun_before_anything_else(tmp_path):
    """By hand: the station is proved, a hole goes in that the plan does not have: spin again."""
    run = at_a_station(tmp_path)
    at = ("my.toml", "--station", "station.toml")
    why = ("--unproved", "--by", "AB", "--why", "no tapped hole for a mass")
    run("spin", *at, "6.1@203", "5.0@169")
    assert without_status(run("holes", *at, *why)[1])[-1].startswith("Next: drill as planned (")
    said = run("holes", *at, "--did", "2a, 270 deg crank, 8 mm drill, 10 mm deep")
    said = said.out or said.err
    said = without_status(said)
    assert said[-1] == "Next: spin again: truethrow spin my.toml --station station.toml FRONT REAR"
    assert run("next", *at)[1].splitlines() == said[-1:]


def test_a_reading_that_looks_like_a_slip_stops_the_work(tmp_path):
    """By hand: piston 3 is 6 g off; everything else is as it should be."""
    parts = invented.cylinders(piston={3: 532.4})
    (tmp_path / "my.toml").write_text(invented.text(invented.document(parts)), encoding="utf-8")
    run = in_folder(tmp_path)
    status, out, _ = run("next", "my.toml")
    assert status == 1 and out.startswith(
        "Next: look again at piston 3: weigh it once more: truethrow weigh my.toml"
    )
    for command in ("check", "hang", "trim"):
        said = run(command, "my.toml")[1]
        assert said.splitlines()[-1].startswith("Status 1: ")
        assert without_status(said)[-1] == out.strip()


def test_next_only_reads(tmp_path):
    """By hand: nothing is there afterwards that was not there before, and machines are told the same."""
    (tmp_path / "my.toml").write_text(invented.text(invented.document()), encoding="utf-8")
    run = in_folder(tmp_path)
    said = run("next", "my.toml")[1].splitlines()
    assert json.loads(run("next", "my.toml", "--json")[1])["next"] == [one.removeprefix("Next: ") for one in said]
    assert [one.name for one in tmp_path.iterdir()] == ["my.toml"]
