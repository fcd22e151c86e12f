"""A job from Python, by the names of the commands: load it, work it through, ask what comes of it. Nothing here
writes: what is to be recorded is recorded by the commands.

The examples' engine is a pump's three, weighed as one set.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.parts import label
from truethrow.balance.job import job as jobs
from truethrow.balance.job.job import Job
from truethrow.balance.library.quantities import (
    Quantity,
    is_truth,
    length_mm,
    number,
    numbers,
    plain,
    speed_rpm,
)
from truethrow.balance.log.place import Place, is_file
from truethrow.balance.result import work as working
from truethrow.balance.result.work import Result

if TYPE_CHECKING:
    from truethrow.balance.engine.share import Shares
    from truethrow.balance.matching.match import Matching
    from truethrow.balance.result.trim import TrimPlan
    from truethrow.balance.running.running import Shake
    from truethrow.balance.running.sweeping import Sweep

# A layout by name has no lengths: its figures are per gram, throw radius and angular speed, at this r/L.
USUAL_RATIO = 0.3
MOST_SECONDS = 3600.0
# Positions over a turn at which a sweep looks: the peak between two of them is refined (shaking.largest).
SWEEP_STEPS = 360


def load(
    job: str | Path | Mapping[str, Any],
    sheet: str | Path | None = None,
    *,
    estimated: bool = False,
) -> Job:
    """A job, with all readings of its log and of a weigh sheet.

    job: the path of its file, the id of a job in the book, or its tables as a mapping, whose masses and lengths
    may be numbers in the job's units, text with a unit, or quantities of pint; sheet: the path of a weigh sheet
    (CSV); estimated: with what its [estimate] has in the place of readings that nobody took yet, for what is
    planned before anything is cut or hung.
    Raises BadInput with every fault found.

    >>> job = {"job": {"id": "pump"}, "scale": {"resolution": "0.1 g"}}
    >>> job["engine"] = {"layout": "inline-3", "stroke": "80 mm", "rod_length": "5.5 in"}
    >>> job["every_cylinder"] = {"piston": 300, "pin": 80, "locks": 2, "rings": 20}
    >>> job["every_cylinder"] |= {"small_end": "120 g", "big_end": 320, "bearings": 30}
    >>> load(job)
    Job pump: inline-3, 3 cylinders
    """
    path = _sheet(sheet)
    if not is_truth(estimated):
        raise BadInput([Fault("estimated", shown(estimated), "True or False")])
    if isinstance(job, Mapping):
        return jobs.build(plain(job), "", path, estimated=estimated)
    return jobs.load(_place(job), path, estimated=estimated)


def _sheet(sheet: object) -> Path | None:
    if sheet is None or (isinstance(sheet, str | Path) and "\0" not in str(sheet)):
        return None if sheet is None else Path(sheet)
    raise BadInput([Fault("sheet", f"{shown(sheet)} is no sheet", "the path of a weigh sheet (CSV)")])


def _place(job: object) -> Place:
    if not isinstance(job, str | Path):
        raise BadInput([Fault("job", f"{shown(type(job).__name__)} is no job", "a path, an id, or a mapping")])
    if isinstance(job, Path) or is_file(job):
        return Path(job)
    from truethrow.balance.book.booked import find  # noqa: PLC0415 (SQLAlchemy, which no file needs)

    return find(job)


def work(job: Job, share: Quantity = None) -> Result:
    """A job worked through: bobweights, what hanging leaves in the planes, spreads, slips.

    share: of the reciprocating mass, in the place of the job's own. Raises BadInput.

    >>> job = load(example())
    >>> work(job)
    Result pump: hang 611.0 g on every throw (mean)
    >>> work(job, share=0.4)
    Result pump: hang 558.8 g on every throw (mean)
    """
    _must_be(job, Job, "job", "load(…)")
    if share is not None:
        job = dataclasses.replace(job, share=number("share", share, 0, 1))
    return working.work(job)


def trim(result: Result) -> TrimPlan:
    """What to take off which part, empty where no spread is outside its limit.

    Raises BadInput while readings are to be looked at again: nothing may be ground by them.

    >>> trim(work(load(example())))
    TrimPlan: 0 cuts on 0 parts, 0 g
    """
    from truethrow.balance.result import doubts  # noqa: PLC0415
    from truethrow.balance.result.trim import NO_PLAN  # noqa: PLC0415

    _must_be(result, Result, "result", "work(…)")
    _must_be_weighed(result, "ground")
    if result.is_held:
        raise BadInput(doubts.faults(result))
    if result.of_no_cut:
        which = "; ".join(dict.fromkeys(f"cylinder {one.cylinder}, {one.part}" for one in result.of_no_cut))
        raise BadInput([Fault(which, "reads as no cut can have left it: weigh it again")])
    return result.trim or NO_PLAN


def match(result: Result, seconds: float = 60.0) -> Matching:
    """Which part goes into which cylinder, by the aims and the rules of the job's [match]; nothing is recorded.

    seconds: the time that it may take at the most; the search ends by itself once its work is done. Raises
    BadInput where nothing can change places, and for rules that no arrangement keeps.

    >>> job = example() | {"match": {"aims": ["bobweight"]}}
    >>> job["cylinder"] = [{"number": n, "piston": grams} for n, grams in ((1, 300.4), (2, 300.0), (3, 300.2))]
    >>> del job["every_cylinder"]["piston"]
    >>> match(work(load(job)), seconds=5)
    Matching: 0 parts trade places, proved best
    """
    from truethrow.balance.matching.match import match as match_parts  # noqa: PLC0415

    _must_be(result, Result, "result", "work(…)")
    _must_be_weighed(result, "matched")
    return match_parts(result, number("seconds", seconds, 0.01, MOST_SECONDS))


def shake(result: Result, speed: Quantity = None, about: Quantity = None) -> Shake:
    """What shakes over one turn: its curve, the largest force and couple with how sure they are, what masses pull.

    speed: in r/min, the job's top_speed without one; about: the z about which couples are, in mm, the crank's
    middle without one. Raises BadInput.

    >>> shake(work(load(example())), "1500 rpm").curve
    Curve: 3600 steps, force up to 0.2299 N, couple up to 59.56 N·m
    """
    from truethrow.balance.running import running  # noqa: PLC0415 (numpy)

    _must_be(result, Result, "result", "work(…)")
    about_mm = None if about is None else length_mm("about", about)
    return running.shake(result, _speed(result, speed), about_mm)


def share(of: Result | str, speed: Quantity = None, ratio: float = USUAL_RATIO) -> Shares:
    """The best share of the reciprocating mass for every aim.

    of: a job worked through, or a layout by its name, whose peaks are over m·r·ω² at ratio, the throw's radius
    over the rod's length. speed: of a job, as shake has it. Raises BadInput.

    >>> share("v8-90-crossplane")
    Shares: best 0.5000 for couple
    """
    from truethrow.balance.engine import shaking  # noqa: PLC0415 (numpy)
    from truethrow.balance.engine import share as finder  # noqa: PLC0415
    from truethrow.balance.library.formulas import layout_named  # noqa: PLC0415
    from truethrow.balance.running import running  # noqa: PLC0415

    if isinstance(of, Result):
        return running.job_shares(of, _speed(of, speed))
    made = layout_named(of, 1000.0)  # a spacing of a metre: couples come out per spacing
    lengths = 1.0, 1.0 / number("ratio", ratio, 0.01, 0.99)
    parts = shaking.assembly(made, [1.0] * len(made.places), *lengths)
    return finder.shares(made, parts, shaking.UNIT_SPEED_RPM)


def sweep(result: Result, shares: Any, speed: Quantity = None) -> Sweep:
    """What would be hung at each of these shares, and what shakes then; speed: as shake has it.

    The hung masses follow the job's own rule, mean or own. Raises BadInput for a job whose masses to hang do not
    depend on the share.

    >>> found = sweep(work(load(example())), [0, 0.25, 0.5, 0.75, 1], 1500)
    >>> found.hung_g[:, 0]
    array([350. , 480.5, 611. , 741.5, 872. ])
    """
    from truethrow.balance.running import sweeping  # noqa: PLC0415 (numpy)

    _must_be(result, Result, "result", "work(…)")
    if (rule := result.bobweights.rule) not in ("mean", "own"):
        wrong = f"the job hangs what it declares ({rule}), whatever the share"
        raise BadInput([Fault("bobweight, hang", wrong, '"mean" or "own"')])
    at, rpm = numbers("shares", shares, 0, 1), _speed(result, speed)
    return sweeping.sweep(result, at, rpm, SWEEP_STEPS)


def example() -> dict[str, Any]:
    """The tables of a small invented job, for trying things out: a pump's three, weighed as one set.

    >>> sorted(example())
    ['engine', 'every_cylinder', 'job', 'scale']
    """
    return {
        "job": {"id": "pump"},
        "scale": {"resolution": "0.1 g"},
        "engine": {
            "layout": "inline-3",
            "stroke": "80 mm",
            "rod_length": "140 mm",
            "cylinder_spacing": "90 mm",
            "top_speed": 3000,
        },
        "every_cylinder": {
            **{"piston": 300, "pin": 80, "locks": 2, "rings": 20, "small_end": 120},
            **{"big_end": 320, "bearings": 30},
        },
    }


def _speed(result: Result, speed: Quantity) -> float:
    if speed is not None:
        return speed_rpm("speed", speed)
    if result.job.engine.top_speed_rpm is None:
        raise BadInput([Fault("speed", "missing, and the job has no top_speed", "a speed")])
    return result.job.engine.top_speed_rpm


def _must_be(given: object, kind: type, name: str, made_by: str) -> None:
    if not isinstance(given, kind):
        raise BadInput(
            [Fault(name, f"{shown(type(given).__name__)}, not a {kind.__name__}", f"what {made_by} gives")]
        )


def _must_be_weighed(result: Result, what: str) -> None:
    """Nothing is cut, and no part moved, by what nobody weighed."""
    if waits := result.job.estimated:
        kinds = ", ".join(map(label, waits))
        raise BadInput([Fault(kinds, f"an estimate, which nothing is to be {what} by", "readings")])
