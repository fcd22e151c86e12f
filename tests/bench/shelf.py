"""The shelf: our search beside sorting by hand, the alternating assignment with scipy and an annealing of whole
engines with as much of the processor, on the same invented shelves in one run, and how far the bound is below;
last 40 and 200 of each part of every kind of scatter and scale (aim: the bound no more than 10 % below).

Run: python tests/bench/shelf.py [shelves of each size] [seconds as a part of the target's]. Nothing is
asserted; the aims are 7 g an engine for 40 of each part within 10 s, 3 g for 200 and 1 g for 1,000 within 2 s,
0.5 g for 5,000 within 5 s, and never more than any of the three beside it.
"""

import itertools
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from pools import SCATTERS, alternating, annealed, invented

from truethrow.balance.shelf.match_shelf import match

TARGETS = ((40, 10.0, 7.0), (200, 2.0, 3.0), (1000, 2.0, 1.0), (5000, 5.0, 0.5))
ROUNDS = {40: 12, 200: 12, 1000: 6, 5000: 1}  # of the alternating assignment, which is slow where it is large


HARD = ((40, 10.0), (200, 10.0))
STEPS_G = (0.5, 0.1, 0.01)


def main() -> None:
    shelves = int(sys.argv[1]) if len(sys.argv) > 1 else 1
    part = float(sys.argv[2]) if len(sys.argv) > 2 else 1.0
    write = sys.stdout.write
    write(
        "    N  seed  what              found [g an engine]  bound    gap  processor"
        "    sorted  assignment   time  annealing\n"
    )
    for count, seconds, aim in TARGETS:
        for seed in range(101, 101 + shelves):
            told(f"plain, aim {aim:g} g", invented(count, seed), count, seed, seconds * part)
    for (count, seconds), scatter, step_g in itertools.product(HARD, SCATTERS, STEPS_G):
        for seed in range(101, 101 + shelves):
            shelf = invented(count, seed, step_g=step_g, scatter=scatter)
            told(f"{scatter}, {step_g:g} g", shelf, count, seed, seconds * part)


def told(what, shelf, count, seed, seconds) -> None:
    start = time.process_time()
    found = match(shelf, seconds=seconds)
    ours_s = time.process_time() - start
    start = time.perf_counter()
    theirs_g = alternating(shelf, ROUNDS[count])
    theirs_s = time.perf_counter() - start
    whole_g = annealed(shelf, max(ours_s, 0.1))
    k = len(found.engines)
    gap = found.gap_g / found.cost_g if found.cost_g else 0.0
    sys.stdout.write(
        f"{count:5}  {seed:4}  {what:17} {found.cost_g / k:19.3f}  {found.bound_g / k:5.3f}  {gap:5.1%}  "
        f"{ours_s:7.1f} s  {found.sorted_g / k:8.3f}  {theirs_g / k:10.3f}  {theirs_s:5.2f} s  {whole_g / k:9.3f}"
        f"  ({found.counts}{', the time ended it' if found.stopped else ''})\n"
    )


if __name__ == "__main__":
    main()
