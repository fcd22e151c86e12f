"""Ten invented engines as shops name and measure them: labels of two letters and of 24, of Latin, Cyrillic, Greek,
Japanese and Arabic; names of counterweights as long; both papers, both units, three stations. Each is spun once
and has holes to drill. All figures are invented."""

from __future__ import annotations

import cmath
import itertools
from pathlib import Path
from typing import Any, NamedTuple

import cranks
import invented
from card_texts import Shop

from truethrow.balance.engine.layout import Layout, generic_layout
from truethrow.balance.job.job import load
from truethrow.balance.log.place import open_log
from truethrow.balance.matching import proposing
from truethrow.balance.result import plans
from truethrow.balance.result.work import work
from truethrow.balance.station import may_go, stationwork
from truethrow.balance.weighing import benchjob
from truethrow.balance.weighing.session import Session
from truethrow.worksheets.words import station_words


class Labels(NamedTuple):
    """What is written on a part of a cylinder, and on a counterweight of a throw."""

    part: str
    weight: str

    def of(self, kind: str, number: int) -> str:
        return self.part.format(kind=kind[:1].upper(), n=number)

    def of_weight(self, throw: str, side: str) -> str:
        return self.weight.format(throw=throw, side=side)


LABELS = {
    "short": Labels("{kind}{n}", "{throw} {side}"),
    "eight": Labels("OUTSID{kind}{n}", "North {throw}24 {side}"),
    "long": Labels("Northside-{kind}-{n:02}-2026-bx", "counterweight {throw} {side}"),
    "one word": Labels("{kind}{n:02}WITHOUTANYBLANKSATAL", "counterweight-{throw}-{side}"),
    "cyrillic": Labels("Поршень-{n} левый", "Противовес {throw} {side}"),
    "greek": Labels("Έμβολο {n} αριστερά", "Αντίβαρο {throw} {side}"),
    "japanese": Labels("左列ピストン{n}番", "釣合錘 {throw} {side}"),
    "arabic": Labels("مكبس {n} يسار", "ثقل {throw} {side}"),
}

STATIONS = {
    "grams, with": """
[spin]
unit = "g"
radius = 100.0
sense = "with"
zero = 0.0
amount_uncertainty = 2.0
angle_uncertainty = 2.0
floor = 30.0
speed = 550
up = 0.0
""",
    "ounces, against": """
[spin]
unit = "oz"
radius = "4 in"
sense = "against"
zero = 30.0
amount_uncertainty = 2.0
angle_uncertainty = 2.0
floor = "0.05 oz in"
""",
    "g·mm, from 270": """
[spin]
unit = "g·mm"
sense = "with"
zero = 270.0
amount_uncertainty = 1.0
angle_uncertainty = 1.0
floor = 30.0
""",
}
PLATES = {"plate 200": 200, "plate 50": 50, "plate 20": 20, "shim 5": 5, "shim 2": 2}
SHIMS = {"shim 0.5": 0.5, "shim 0.2": 0.2, "shim 0.1": 0.1}
OUNCES = {"plate 8 oz": 8, "plate 2 oz": 2, "plate 1/2 oz": 0.5, "shim 1/8 oz": 0.125, "shim 0.01 oz": 0.01}


def tools(units: str) -> str:
    """What the shop stacks bobweights from, and drills with, in its own sizes."""
    if units == "inch":
        pieces = {name: f'"{ounces} oz"' for name, ounces in OUNCES.items()}
        drills = [(f'"{inches} in"', '"0.02 in"', '"1.4 in"') for inches in (0.3125, 0.5, 0.75)]
        stack = 'clamp_half = "12 oz"\nstep = "0.01 oz"\n'
    else:
        pieces = {name: str(grams) for name, grams in (PLATES | SHIMS).items()}
        drills = [(str(mm), "0.5", "35.0") for mm in (8.0, 12.0, 16.0, 20.0)]
        stack = "clamp_half = 352.4\nstep = 0.2\n"
    made = [f"[stack]\n{stack}"]
    made += [f'[[piece]]\nname = "{name}"\nmass = {mass}\ncount = 60\n' for name, mass in pieces.items()]
    made += [f"[[drill]]\ndiameter = {wide}\nstep = {step}\ndeepest = {deep}\n" for wide, step, deep in drills]
    return "".join(made)


class Kind(NamedTuple):
    """One of the ten."""

    layout: str
    labels: str
    paper: str
    units: str
    station: str
    hang: str = "mean"


# The longest words, the most parts and a script of another direction come first.
TEN = {
    "in-line six": Kind("inline-6", "one word", "letter", "inch", "ounces, against"),
    "V12": Kind("v12-60", "eight", "a4", "metric", "g·mm, from 270", "own"),
    "even V6": Kind("v6-60-even", "arabic", "a4", "metric", "ounces, against", "own"),
    "V8": Kind("v8-90-crossplane", "long", "a4", "metric", "ounces, against"),
    "V8 of short names": Kind("v8-90-crossplane", "short", "letter", "inch", "grams, with"),
    "V-twin": Kind("vtwin-45", "greek", "letter", "inch", "grams, with"),
    "flat-plane V8": Kind("v8-90-flatplane", "cyrillic", "letter", "inch", "g·mm, from 270"),
    "opposed four": Kind("opposed-4", "japanese", "a4", "metric", "grams, with"),
    "in-line three": Kind("inline-3", "one word", "a4", "metric", "ounces, against"),
    "V10": Kind("v10-72", "long", "letter", "inch", "g·mm, from 270", "own"),
}
# One more, with as many holes as a first page can hold.
ENGINES = TEN | {"odd V6": Kind("v6-90-shared", "eight", "letter", "inch", "ounces, against")}
SPACING_MM = 112.0


def shop(folder: Path, name: str) -> Shop:
    """The engine in a folder of its own, with the station that it is spun on, and its first spin."""
    kind = ENGINES[name]
    made = Shop(folder, invented.text(document(kind)))
    made.station.write_text(STATIONS[kind.station] + tools(kind.units), encoding="utf-8")
    made.hidden = _heavy(kind)
    made.spin()
    return made


# From the first blank bench card to the signature. Each stage holds what those before it have.
STAGES = ("fresh", "weighed", "traded", "trimmed", "spun", "half drilled", "signed")


def shop_at(folder: Path, name: str, stage: str) -> Shop:
    """The engine in a folder of its own, come as far as a stage. Where it is signed, each throw hangs its own."""
    kind, come = ENGINES[name], STAGES.index(stage)
    data = document(kind._replace(hang="own") if stage == "signed" else kind)
    if stage == "fresh":
        data["cylinder"] = [{"number": one["number"], "labels": one["labels"]} for one in data["cylinder"]]
    made = Shop(folder, invented.text(data))
    made.station.write_text(STATIONS[kind.station] + tools(kind.units), encoding="utf-8")
    made.hidden = _heavy(kind)
    steps = (_trade, _grind, Shop.spin, _drill_the_first, _drill_and_sign)
    for step in steps[: max(0, come - 1)]:
        step(made)
    return made


def _trade(shop: Shop) -> None:
    """Parts move in a circle of three, as many kinds of them as there are cylinders for."""
    job = load(shop.job)
    first, second, last = (job.layout.cylinders[at] for at in (0, 1, -1))
    moves = {"piston": {first: second, second: first}, "pin": {first: last, last: first}}
    if len(job.layout.cylinders) > 3:
        moves["rod"] = {first: 3, 3: 4, 4: first}
    accepted = proposing.propose(shop.job, job, moves, "by hand")
    proposing.accept(shop.job, accepted.id)


def _grind(shop: Shop) -> None:
    """All of the trim, weighed again at a step more or less than it should be; nothing where there is none."""
    result = work(load(shop.job))
    if result.trim is None or not result.trim.parts:
        return
    plans.record(shop.job, by="AB")
    expected_g = {(one.cylinder, kind): g for one in result.trim.parts for kind, g in one.expected_g.items()}
    bench = benchjob.load(shop.job)
    session, off_steps = (
        Session(bench, open_log(shop.job, bench.table.name, "AB")),
        itertools.cycle((0, 1, 0, -1, 0)),
    )
    step_g = bench.scale.resolution_g
    while session.step is not None:
        should_g = expected_g[session.step.cylinder, session.step.kind]
        session.take(f"{(round(should_g / step_g) + next(off_steps)) * step_g:.1f} g")


def _drill_the_first(shop: Shop) -> None:
    if shop.state().plan.operations:
        shop.drill({1: None})


def _drill_and_sign(shop: Shop) -> None:
    while not may_go.is_inside(state := shop.state()):
        if left := {one.number: None for one in station_words.operations(state) if not one.is_done}:
            shop.drill(left)
        shop.spin()
    stationwork.sign(shop.job, shop.state(), "AB")


def _heavy(kind: Kind) -> list[complex]:
    """What the crank has too much, in both planes; on one throw there is metal opposite it alone."""
    front_rad, rear_rad = (2.8, 3.6) if len(generic_layout(kind.layout).throws) == 1 else (1.0, 4.0)
    return [cmath.rect(900.0, front_rad), cmath.rect(700.0, rear_rad)]


def document(kind: Kind) -> dict[str, Any]:
    """The engine's job as data."""
    layout, named = generic_layout(kind.layout, SPACING_MM), LABELS[kind.labels]
    parts = invented.cylinders(len(layout.cylinders))
    for part in parts:
        number = part["number"]
        part["pin"] = round(112.1 + 0.1 * (number % 3), 1)
        for kind_of_part, grams, step, of in (
            ("piston", 538.4, 0.3, 5),
            ("big_end", 452.3, 0.3, 4),
            ("small_end", 171.2, 0.3, 3),
        ):
            own = grams + step * (number % of)
            part[kind_of_part] = [round(own, 1), round(own + 0.1, 1)]
        part["labels"] = {unit: named.of(unit, number) for unit in ("piston", "pin", "rod")}
    return invented.document(
        parts,
        job={"id": "North 124", "title": f"{named.of('piston', 7)}, the engine of a launch"},
        engine=invented.V8 | {"layout": kind.layout, "cylinder_spacing": SPACING_MM},
        scale={"resolution": 0.1, "capacity": 3000, "repeatability": 0.05, "rod_end_repeatability": 0.1},
        bobweight={"share": 0.5, "oil": 4.0, "hang": kind.hang},
        limits={"piston": 0.8, "pin": 0.6, "big_end": 0.8, "small_end": 1.0, "bobweight": 2.0},
        trim={
            "piston": 6.0,
            "big_end_pad": {"at": -48.0, "most": 9.0},
            "small_end_pad": {"at": 182.0, "most": 5.0},
        },
        station={"limit": 130.0, **_planes(layout)},
        crank={"counterweight": _weights(layout, named)},
    )


def _planes(layout: Layout) -> dict[str, float]:
    low, high = _reach(layout)
    return {"front_plane": low, "rear_plane": high}


def _reach(layout: Layout) -> tuple[float, float]:
    z = [throw.z_mm for throw in layout.throws]
    return min(z) - 22.0, max(z) + 22.0


def _weights(layout: Layout, named: Labels) -> list[dict[str, Any]]:
    """Two about each throw, opposite it; of the pins of a split throw, opposite the first."""
    found = []
    for throw in {throw.z_mm: throw for throw in reversed(layout.throws)}.values():
        for side, aside in (("front", -22.0), ("rear", 22.0)):
            name = named.of_weight(throw.name, side)
            found.append(cranks.weight(name, throw.z_mm + aside, throw.angle_deg + 180, 150.0))
    return found
