"""Plans of holes: how many, how much metal, and what a plan takes.

Run: python tests/bench/holes.py [cranks]. Nothing is asserted; the aim is 1 s for a crank of twelve counterweights
with a small tolerance.
"""

import cmath
import math
import random
import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
import cranks

from truethrow.balance.correction import TwoPlanes, plan


def measured_plan(question):
    """A plan and the seconds of the processor that it took."""
    start = time.process_time()
    made = plan(
        question.crank,
        cranks.TOOLS,
        TwoPlanes(*question.measured),
        cranks.PLANES_MM,
        allowed_gmm=question.allowed_gmm,
        slugs=False,
    )
    return made, time.process_time() - start


def twelve(seed):
    """Twelve counterweights, two at each of six throws, and 5 to 12 g·mm to keep."""
    rng = random.Random(seed)
    weights = []
    for number, angle in enumerate((0, 120, 240, 240, 120, 0) if seed % 2 else (0, 60, 180, 240, 300, 120)):
        for letter, side in (("a", -16.0), ("b", 16.0)):
            z = 67.2 * number + side
            span = rng.uniform(60, 130)
            weights.append(cranks.weight(f"{number + 1}{letter}", z, angle + 180 + rng.uniform(-25, 25), span))
    to_go = [cmath.rect(rng.uniform(200, 1500), math.radians(rng.uniform(0, 360))) for _ in range(2)]
    allowed = rng.uniform(5, 12)
    return cranks.Scattered(cranks.crank(weights), (to_go[0], to_go[1]), (allowed, allowed))


def told(title, questions):
    made = [measured_plan(question) for question in questions]
    seconds = [one[1] for one in made]
    plans = [one[0] for one in made]
    sys.stdout.write(
        f"{title}: {sum(len(one.operations) for one in plans)} holes, "
        f"{sum(one.mass_g for one in plans):.1f} g, {sum(bool(one.stays) for one in plans)} not inside; "
        f"median {statistics.median(seconds):.2f} s, worst {max(seconds):.2f} s\n"
    )


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    measured_plan(cranks.scattered(0))  # what a first plan loads
    told(f"{count} cranks of 6 and 8 counterweights", [cranks.scattered(seed) for seed in range(count)])
    told("10 of 12 counterweights, small tolerance (aim 1 s)", [twelve(seed) for seed in range(10)])


if __name__ == "__main__":
    main()
