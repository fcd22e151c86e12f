"""Two hundred invented jobs, seeded, and every figure that the domain works out of each: what a small change to it
may alter. Bobweights, spreads and verdicts, trims, matches, shelves, planes, what shakes, holes, what is signed.

A figure is a line of text, where it stands and what it is, to seven digits: two runs of one program give the same.
Run: python tests/notice/corpus.py [NUMBER …] prints those of these jobs, or how many figures all of them have."""

from __future__ import annotations

import dataclasses
import json
import random
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

Figures = Iterator[tuple[str, Any]]
LAYOUTS = ("v8-90-crossplane", "inline-4", "v6-90-even", "vtwin-90", "inline-3", "v6-60-even", "opposed-4")
COUNTS = (8, 4, 6, 2, 3, 6, 4)
# What is no figure, and of a job not what was put into it.
SKIPPED = ("job", "layout", "engine", "crank", "at", "record", "digest", "log", "id", "now")


def trims(seed: int) -> Figures:
    """A job weighed and worked through: bobweights, planes, spreads with verdicts, slips, the plan of cuts."""
    import trims_at_random

    from truethrow.balance.result.work import work

    done = work(trims_at_random.job(seed))
    yield from {"result": done, "doubts": done.doubts, "unsure": done.unsure, "trim": done.trim}.items()


def matches(seed: int) -> Figures:
    """A job matched by its own aims, and its limits."""
    import questions
    import scattered_jobs

    from truethrow.balance.matching.match import match

    at = (1, 2, 3, 4, 6)[seed % 5]
    aims = (["bobweight"], ["grams"], ["reciprocating", "residual"], ["limits", "rotating"])[seed % 4]
    job = scattered_jobs.uneven(seed, LAYOUTS[at], COUNTS[at], match={"aims": aims, "move": ["piston", "rod"]})
    yield "matched", match(job, 0.5, now=questions.by_looks())


def questions_of_matching(seed: int) -> Figures:
    """A question of a matching as arrays, proved where that can be; and every arrangement within spreads."""
    import questions
    import small_engines

    from truethrow.balance.matching import cover
    from truethrow.balance.matching.question import spread

    layout = ("inline-4", "v6-90-even", "vtwin-90", "v8-90-crossplane")[seed % 4]
    names = (["bobweight"], ["reciprocating", "bobweight"], ["residual"], ["rotating", "reciprocating"])[
        seed // 4 % 4
    ]
    units = ("rod", "piston") if seed % 3 else ("rod", "piston", "pin")
    asked = questions.question(seed, layout, units, scatter=list(questions.SCATTERS)[seed % 5])
    asked = small_engines.ruled(asked, seed) if seed % 2 else asked
    yield "solved", small_engines.answer(asked, names, 0.5)
    if layout in ("inline-4", "vtwin-90"):
        found = questions.every(asked)
        apart = spread(asked.masses(found[:2000]).bobweight)
        yield "within", cover.within(asked, {"bobweight": int(sorted(apart)[len(apart) // 10])})


def plans(seed: int) -> Figures:
    """Holes for a crank: the plan, what is left, and of every third one with heavy metal."""
    import cranks

    from truethrow.balance.correction import TwoPlanes, plan

    asked, planes = cranks.odd(seed) if seed % 2 else (cranks.scattered(seed), cranks.PLANES_MM)
    measured = TwoPlanes(*asked.measured)
    more = 6 if seed % 3 == 0 else 1
    measured = TwoPlanes(measured.front * more, measured.rear * more)
    yield (
        "plan",
        plan(
            *(asked.crank, cranks.TOOLS, measured, planes),
            allowed_gmm=asked.allowed_gmm,
            slugs=seed % 3 == 0,
            speed_rpm=6000.0,
        ),
    )


def lathes(seed: int) -> Figures:
    """Counterweights turned, a target of the crank's maker, members made into the crank's own, and walls."""
    import cranks

    from truethrow.balance.correction import TwoPlanes, against_target, apply, converted, plan
    from truethrow.balance.correction.breaches import all_breaches
    from truethrow.balance.correction.lathe import on_the_lathe
    from truethrow.balance.correction.planes import split
    from truethrow.balance.correction.slug_sizes import misfits
    from truethrow.balance.engine.layout import Throw

    draw, asked, planes = random.Random(seed), cranks.scattered(seed), cranks.PLANES_MM
    made = plan(asked.crank, cranks.TOOLS, TwoPlanes(*asked.measured), planes, allowed_gmm=asked.allowed_gmm)
    drilled = apply(asked.crank, made.operations)
    yield (
        "breaches",
        all_breaches(asked.crank, [one._replace(depth_mm=one.depth_mm + 9) for one in made.operations]),
    )
    outer = min(member.outer_mm for member in asked.crank.members)
    yield "lathe", on_the_lathe(drilled, outer - draw.uniform(1, 4), (), planes)
    throws = [Throw(str(n), angle, z) for n, (z, angle) in enumerate(cranks.THROWS, start=1)]
    hung = [1850 + draw.gauss(0, 6) for _ in throws]
    how = {"allowed_gmm": (90.0, 120.0)}
    yield "arriving", against_target(hung, 1846.0, 46.0, throws, asked.crank, cranks.TOOLS, planes, **how)
    brings = {"damper": split(complex(draw.gauss(0, 500), draw.gauss(0, 500)), -80.0, planes)}
    to = ("internal", "external")[seed % 2]
    now = TwoPlanes(*asked.measured)
    yield "converted", converted(asked.crank, cranks.TOOLS, now, brings, planes, to=to, **how)
    yield "misfits", misfits(asked.crank, cranks.TOOLS)


def shaking(seed: int) -> Figures:
    """What shakes, the best shares, what hangs at each share, what pulls, how sure, and what that is made of."""
    import invented
    import scattered_jobs

    from truethrow.balance.running import budget, draws, inertia, running, sweeping

    at = seed % len(LAYOUTS)
    parts = scattered_jobs.scattered(seed, COUNTS[at])
    scale = {"resolution": 0.1, "repeatability": 0.05, "rod_end_repeatability": 0.1, "calibration": 0.1}
    engine = invented.V8 | {"layout": LAYOUTS[at], "mounts": {"front": -50.0, "rear": 400.0}}
    if seed % 3 == 0:
        engine |= {"desaxe": 1.5}
    if seed % 4 == 0 and COUNTS[at] == 8:
        engine |= {"rods_apart": 24.0, "rod_in_front": "left"}
    done = scattered_jobs.worked(parts, engine=engine, scale=scale, limits=scattered_jobs.LIMITS)
    yield "result", done
    yield "shake", running.shake(done, 4200.0 + seed, steps=72)
    yield "pulls", inertia.at_speed(done, 4200.0)
    yield "swept", sweeping.sweep(done, [0.3, 0.5, 0.6], 3000.0, 72)
    yield "budget", budget.budgets(done)
    if seed % 5 == 0:
        yield "shares", running.job_shares(done, 3000.0)
        yield "drawn", draws.draw(done, 500)


def shelves(seed: int) -> Figures:
    """The best engines out of loose parts."""
    import pools

    layout = LAYOUTS[1 + seed % 4]
    scatter = pools.SCATTERS[seed % 4]
    shelf = pools.invented(COUNTS[1 + seed % 4] * 3 + seed % 3, seed, layout, scatter=scatter, more=(("pin", 2),))
    yield "shelf", pools.match(shelf, seconds=0.4)


def replacements(seed: int) -> Figures:
    """What another part may weigh, and how a given one would fit."""
    import replacements as jobs

    from truethrow.balance.result.fitting import around, heaviest_to_cut, tried
    from truethrow.balance.result.replacing import replacement

    made = jobs.job(seed)
    unit = ("piston", "pin", "rod", "rings", "bearings")[seed % 5]
    wanted = replacement(made, unit, 1 + seed % 8)
    yield "windows", wanted.windows
    yield "out", wanted.out
    if unit != "rod":
        yield "heaviest", heaviest_to_cut(wanted, unit)
    yield "tried", [tried(wanted, masses) for masses in around(wanted)[:3]]


def signatures(seed: int) -> Figures:
    """A crank from its first spin to the signature, through the command line: a station that is proved by two
    known masses, holes as told, a little too deep, and what is signed."""
    import invented
    from balancing_shop import Station, polar

    draw = random.Random(seed)
    parts = invented.cylinders(piston={1 + seed % 8: 538.4 + draw.choice((0.0, 0.3, 0.6))})
    with tempfile.TemporaryDirectory() as folder:
        tables = {"station": {"crank_mass": "24.3 kg", "grade": 6.3}} if seed % 2 else {}
        document = {"cylinder": parts, "scale": {"resolution": 0.1, "repeatability": 0.05}} | tables
        station = Station(
            Path(folder), unit="g·mm", with_rotation=seed % 3 != 0, zero=30.0 * (seed % 4), **document
        )
        station.edit(sense="with" if station.with_rotation else "against", zero=station.zero)
        station.crank = [polar(draw.uniform(150, 900), draw.uniform(0, 360)) for _ in range(2)]
        station.spin()
        yield "masses", station.hang_both()[0]
        for _ in range(3):
            state = station.state()
            yield "state", state
            if state["inside"] or not state["plan"]:
                break
            for one in state["plan"]["operations"]:
                taken = polar(one["removes_gmm"] * draw.uniform(0.97, 1.03), one["crank_angle_deg"])
                behind = one["z_mm"] / 336.0
                station.crank[0] -= taken * (1 - behind)
                station.crank[1] -= taken * behind
            yield "done", station.run("holes", "--done")[0]
            station.spin()
        yield "signed", station.run("sign", "--by", "AB")[0]
        yield "state", station.state()


JOBS: tuple[tuple[Callable[[int], Figures], int], ...] = tuple(
    (kind, seed)
    for kind, count in (
        *((trims, 50), (questions_of_matching, 32), (plans, 40), (matches, 16), (lathes, 14)),
        *((shaking, 21), (replacements, 10), (shelves, 8), (signatures, 9)),
    )
    for seed in range(count)
)


def figures(number: int) -> list[str]:
    """All of a job; what is refused is a figure, too."""
    from truethrow.balance.base.errors import TruethrowError

    kind, seed = JOBS[number]
    found = [f"{kind.__name__} {seed}"]
    try:
        for name, value in kind(seed):
            found += told(name, value)
    except TruethrowError as error:
        found.append(f"refused: {type(error).__name__}")
    return found


def told(name: str, value: Any) -> Iterator[str]:  # noqa: PLR0912 (a branch is a kind)
    """The figures of a value, each where it stands."""
    if isinstance(value, bool | int | None):
        yield f"{name} {value}"
    elif isinstance(value, float | complex) or hasattr(value, "dtype"):
        if getattr(value, "shape", ()):
            for n, one in enumerate(value.tolist()):
                yield from told(f"{name}.{n}", one)
        else:
            number = complex(value)
            yield f"{name} {number.real:.7g}" + (f"{number.imag:+.7g}j" if number.imag else "")
    elif isinstance(value, str):
        if not value.count(" ") and not any(
            letter.isdigit() for letter in value
        ):  # a name or a verdict, no sentence
            yield f"{name} {value}"
    elif isinstance(value, Mapping):
        for key, one in value.items():
            if key not in SKIPPED:
                yield from told(f"{name}.{key}", one)
    elif dataclasses.is_dataclass(value):
        yield from told(name, {one.name: getattr(value, one.name) for one in dataclasses.fields(value)})
    elif isinstance(value, tuple | list):
        names = getattr(value, "_fields", range(len(value)))
        yield from told(name, dict(zip(names, value, strict=True)))
    elif isinstance(value, set | frozenset):
        yield from told(name, sorted(value, key=str))


if __name__ == "__main__":
    if asked := [int(number) for number in sys.argv[1:]]:
        sys.stdout.write("".join(f"{line}\n" for number in asked for line in figures(number)))
    else:
        sys.stdout.write(json.dumps({number: len(figures(number)) for number in range(len(JOBS))}) + "\n")
