"""The least metal of a trim in whole steps: ours beside a general-purpose exact solver (OR-Tools CP-SAT).

Run: python tests/bench/trims.py [jobs] [seconds that the solver may take]. Nothing is asserted. The aims: 0.1 s in
the median, 2 s at the most, and never a step more than the solver finds. Model building is counted on both sides.
"""

import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import exact_trims
import trims_at_random

from truethrow.balance.result.least_metal import window_of
from truethrow.balance.result.whole_steps import StepProgramme
from truethrow.balance.result.work import work


def main() -> None:
    jobs = int(sys.argv[1]) if len(sys.argv) > 1 else 12
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 10.0
    own, other = [], []
    proved = same = more = less = 0
    for result in (work(trims_at_random.job(seed)) for seed in range(jobs)):
        limited = [spread for spread in result.spreads if spread.limit_g is not None]
        if not any(spread.verdict == "outside" for spread in limited):
            continue
        start = time.perf_counter()
        windows = [window_of(result.job, spread) for spread in limited]
        found = StepProgramme(result.job, windows, result.certainty).solve()
        own.append(time.perf_counter() - start)
        start = time.perf_counter()
        exact = exact_trims.least(result.job, result.spreads, result.certainty, seconds)
        other.append(time.perf_counter() - start)
        steps = round(sum(found.taken_g.values()) / result.job.scale.resolution_g)
        proved += exact.is_proved
        if exact.steps >= 0:
            same += steps == exact.steps
            more += steps > exact.steps
            less += steps < exact.steps
    sys.stdout.write(
        f"{len(own)} trims; ours {statistics.median(own):.3f} s ({max(own):.2f}), all proved; solver"
        f" {statistics.median(other):.2f} s ({max(other):.2f}), proved {proved};"
        f" the same metal {same}, ours less {less}, ours more {more}\n"
    )


if __name__ == "__main__":
    main()
