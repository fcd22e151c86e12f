"""The shelf: our search beside the alternating assignment with scipy, on the same invented shelves in one run.

Run: python tests/bench/shelf.py [shelves of each size] [seconds as a part of the target's]. Nothing is
asserted; the aims are 7 g an engine for 40 of each part within 10 s, 3 g for 200 and 1 g for 1,000 within 2 s,
0.5 g for 5,000 within 5 s, and never more than the alternating assignment.
"""

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from pools import alternating, invented

from truethrow.balance.shelf.match_shelf import match

TARGETS = ((40, 10.0, 7.0), (200, 2.0, 3.0), (1000, 2.0, 1.0), (5000, 5.0, 0.5))
ROUNDS = {40: 12, 200: 12, 1000: 6, 5000: 1}  # of the alternating assignment, which is slow where it is large


def main() -> None:
    shelves = int(sys.argv[1]) if len(sys.argv) > 1 else 1
    part = float(sys.argv[2]) if len(sys.argv) > 2 else 1.0
    write = sys.stdout.write
    write("    N  seed  ours [g an engine]  bound     gap  time    assignment   time   aim\n")
    for count, seconds, aim in TARGETS:
        for seed in range(101, 101 + shelves):
            shelf = invented(count, seed)
            start = time.perf_counter()
            found = match(shelf, seconds=seconds * part)
            ours_s = time.perf_counter() - start
            start = time.perf_counter()
            theirs_g = alternating(shelf, ROUNDS[count])
            theirs_s = time.perf_counter() - start
            k = len(found.engines)
            ours_g, bound_g = found.cost_g / k, found.bound_g / k
            write(f"{count:5}  {seed:4}  {ours_g:18.3f}  {bound_g:5.3f}  {ours_g - bound_g:6.3f}  {ours_s:4.1f} s")
            write(f"  {theirs_g / k:8.3f}  {theirs_s:5.2f} s   {aim:g} g in {seconds:g} s  ({found.counts})\n")


if __name__ == "__main__":
    main()
