"""The demo's job on a floor of its own: fresh files, and a simulated scale with the demo's parts."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from truethrow.balance import demo
from truethrow.balance.base.fields import Units
from truethrow.balance.job.weighsheet import in_text
from truethrow.cli.floor.scales import Scales
from truethrow.cli.floor.simulated import Asked, SimulatedScale, Touch

if TYPE_CHECKING:
    from truethrow.balance.weighing.scaleline import ScaleProfile
    from truethrow.cli.floor.bench import Bench

PORT = "simulated"
FOLDER = "truethrow-floor-demo"
# Invented, as the demo's job has them once for all its cylinders.
ALIKE_G = {"rings": 41.0, "locks": 3.2, "bearings": 46.0}


def folder(named: str | None) -> Path:
    """A folder with the demo's files that nobody weighed anything in yet. Raises NotSaved."""
    first = Path(named or FOLDER)
    made, number = first, 1
    while made.exists():
        number += 1
        made = first.with_name(f"{first.name}-{number}")
    demo.copy_into(made)
    return made


def scales(bench_of: Callable[[str], Bench | None]) -> Scales:
    """The simulated scale, at one bench at a time. bench_of: finds a bench by its job."""

    masses = masses_g()  # what was ground stays ground, whichever bench has the scale

    def opened(profile: ScaleProfile, job: str) -> SimulatedScale:
        def asked() -> Asked | None:
            return bench.asked if (bench := bench_of(job)) is not None else None

        def taken() -> int:
            return bench.taken_here if (bench := bench_of(job)) is not None else 0

        def touch() -> Touch | None:
            return bench.touch if (bench := bench_of(job)) is not None else None

        return SimulatedScale(masses, asked, taken, touch)

    return Scales(PORT, opened)


def masses_g() -> dict[Asked, float]:
    """What each of the demo's parts weighs, by kind and cylinder: what its sheet has first."""
    sheet = in_text(demo.text("launch-weigh.csv"), "launch-weigh.csv", Units())
    found = {(kind, number): one.grams[0] for number, own in sheet.readings.items() for kind, one in own.items()}
    return found | {(kind, number): grams for kind, grams in ALIKE_G.items() for number in sheet.readings}
