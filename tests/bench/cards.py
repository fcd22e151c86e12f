"""The cards of the demo's V8, whole processes: HTML and PDF of all five, drawings, spreadsheet and data.

Run: python tests/bench/cards.py [runs]. Nothing is asserted; the aim is 1.5 s for everything, 3 s at the most.
"""

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from truethrow.balance import demo

CLI = [sys.executable, "-c", "from truethrow.cli.main import main; main()"]
OPTIONS = ["--sheet", "launch-weigh.csv", "--station", "station.toml"]


def seconds(arguments: list[str], folder: str, runs: int) -> float:
    """The median of so many whole processes."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        subprocess.run([*CLI, *arguments], cwd=folder, stdout=subprocess.DEVNULL, check=True)
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def main() -> None:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    with tempfile.TemporaryDirectory() as folder:
        demo.copy_into(Path(folder))
        for name, more in (("all cards, V8 (aim 1.5 s)", []), ("the bench card alone", ["--only", "bench"])):
            found = seconds(["cards", "launch.toml", *OPTIONS, *more], folder, runs)
            written = [path for path in (Path(folder) / "launch-cards").rglob("*") if path.is_file()]
            sys.stdout.write(f"{name:<26} {found:5.2f} s  {len(written):3} files\n")


if __name__ == "__main__":
    main()
