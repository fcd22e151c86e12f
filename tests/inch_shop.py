"""A shop where all is in inches and ounces: the scale, the job, the station, its plates and its drills. It works a
V8 through, and hears what each command says. All figures are invented."""

from __future__ import annotations

import cmath
import json
import math
import re
import shlex
from pathlib import Path

import cranks
import invented
from typer.testing import CliRunner

from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.balance.correction import changed_by
from truethrow.balance.station import balancing
from truethrow.cli.main import app

OZ, IN = 28.349523125, 25.4
PROFILE = """
[spin]
unit = "oz in"
sense = "against"
zero = 30.0
amount_uncertainty = 2.0
angle_uncertainty = 2.0
floor = "0.03 oz in"
speed = 550

[stack]
clamp_half = "12 oz"
step = "0.01 oz"

[[piece]]
name = "plate 8 oz"
mass = "8 oz"
count = 60

[[piece]]
name = "plate 2 oz"
mass = "2 oz"
count = 60

[[piece]]
name = "plate 1/2 oz"
mass = "1/2 oz"
count = 60

[[piece]]
name = "shim 1/8 oz"
mass = "1/8 oz"
count = 60

[[piece]]
name = "shim 0.01 oz"
mass = "0.01 oz"
count = 200

[[drill]]
diameter = "5/16 in"
step = "0.02 in"
deepest = "1.2 in"

[[drill]]
diameter = "1/2 in"
step = "0.02 in"
deepest = "1.2 in"

[[drill]]
diameter = "5/8 in"
step = "0.02 in"
deepest = "1.2 in"
"""


def inches(mm: float) -> float:
    return round(mm / IN, 3)


def ounces(grams: float) -> float:
    return round(grams / OZ, 2)


def document(**tables):
    """A V8 as data, every figure of it in ounces and inches."""
    parts = invented.cylinders()
    for part in parts:
        for name, grams in part.items():
            if name != "number":
                part[name] = ounces(grams + (0.4 * (part["number"] % 3) if name in ("piston", "big_end") else 0))
        part["piston"] = [part["piston"], round(part["piston"] + 0.01, 2)]
    engine = {name: inches(one) if isinstance(one, float) else one for name, one in invented.V8.items()}
    weights = [
        {
            key: inches(one) if key in ("at", "thickness", "outer_radius", "inner_radius") else one
            for key, one in own.items()
        }
        for own in cranks.v8_weights()
    ]
    made = invented.document(
        parts,
        job={"id": "launch-in", "title": "Launch in inches", "mass_unit": "oz", "length_unit": "in"},
        engine=engine,
        scale={"resolution": 0.01, "capacity": 100, "repeatability": 0.003, "rod_end_repeatability": 0.005},
        bobweight={"share": 0.5, "oil": 0.14},
        limits={"piston": 0.03, "pin": 0.02, "big_end": 0.04, "bobweight": 0.08},
        trim={"piston": 0.2, "big_end_pad": {"at": -1.9, "most": 0.3}, "small_end_pad": {"at": 7.2, "most": 0.2}},
        bench={"name": "bench", "unit": "oz"},
        station={"limit": "0.2 oz in"},
        crank={"counterweight": weights},
    )
    return made | tables


class Shop:
    """said: what each command said. hidden: the crank's own unbalance in both planes. [g·mm]"""

    def __init__(self, folder: Path, text: str = "", profile: str = PROFILE):
        self.job, self.station = folder / "my.toml", folder / "station.toml"
        self.job.write_text(text or invented.text(document()), encoding="utf-8")
        self.station.write_text(profile, encoding="utf-8")
        self.hidden = [cmath.rect(1100.0, 3.5), cmath.rect(700.0, 4.0)]
        self.said: list[tuple[str, str]] = []

    def run(self, command: str, *more: object, options: tuple[object, ...] = ()) -> str:
        """What a command on the job said, a fault's lines too."""
        words = [*command.split(), str(self.job), *map(str, more), *map(str, options)]
        done = CliRunner().invoke(app, words)
        if isinstance(done.exception, (BadInput, NotSaved)):
            told = "\n".join(
                done.exception.lines() if isinstance(done.exception, BadInput) else [str(done.exception)]
            )
        elif done.exception and not isinstance(done.exception, SystemExit):
            raise done.exception
        else:
            told = done.output
        self.said.append((shlex.join(words).replace(str(self.job.parent), "."), told))
        return told

    def at(self, command: str, *more: object) -> str:
        return self.run(command, *more, options=("--station", self.station))

    def state(self):
        return balancing.load(self.job, self.station)

    def shows(self, *on: complex) -> list[str]:
        """What the display shows. on: what else is on each plane. [g·mm]"""
        state = self.state()
        vectors = [own + more for own, more in zip(self.hidden, on or (0, 0), strict=True)]
        read = [state.instrument.shows(vector) for vector in vectors]
        return [f"{amount:.4f}@{degrees:.2f}" for amount, degrees in read]

    def prove(self, told: str) -> str:
        """Hang the known masses that a command told of."""
        found = re.search(r"--front (\S+)@(\S+) --rear (\S+)@(\S+) --radius (\S+)", told)
        assert found, told
        from truethrow.balance.base.units import LENGTH, MASS, parse

        radius = parse(found[5], LENGTH, "mm")
        on = [
            cmath.rect(parse(mass, MASS, "g") * radius, math.radians(float(at)))
            for mass, at in (found.group(1, 2), found.group(3, 4))
        ]
        front, rear = (f"{found[one]}@{found[one + 1]}" for one in (1, 3))
        return self.at("test-mass", "--front", front, "--rear", rear, "--radius", found[5], *self.shows(*on))

    def drilled(self) -> None:
        """What the plan says comes off."""
        state = self.state()
        change = changed_by(state.plan.operations, state.planes_mm)
        self.hidden = [was + by for was, by in zip(self.hidden, change, strict=True)]


def data(told: str):
    return json.loads(told)
