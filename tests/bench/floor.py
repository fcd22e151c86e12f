"""The floor under load: 50 screens on the board while 10 benches weigh; how late what is in a log is on each of
them.

Run: python tests/bench/floor.py [seconds]. Aims: below 100 ms in the median, below 500 ms at 99 %, nothing lost
and nothing doubled, and in the second half no more memory than the records themselves take (the log of a job that
is looked at is in memory, about 6 kB a record in all). On a machine that does nothing
else: what else runs there is in the figures."""

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

import floor_load

if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        found = floor_load.load(Path(folder), seconds=float(sys.argv[1]) if len(sys.argv) > 1 else 60.0)
    sys.stdout.write(f"the floor: {found.told()}\n")
