"""Start-up: whole processes against the bare import of the libraries on the card, as ratios.

Run: python tests/bench/startup.py [runs]. Nothing is asserted; the aim is 2.0 for the help and 4.0 for a V8.
"""

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from truethrow.balance import demo

CLI = [sys.executable, "-c", "from truethrow.cli.main import main; main()"]


def median_seconds(commands: dict[str, list[str]], runs: int) -> dict[str, float]:
    """Each command's median, taken in turn so that a busy moment hits them alike."""
    times: dict[str, list[float]] = {name: [] for name in commands}
    for _ in range(runs):
        for name, command in commands.items():
            start = time.perf_counter()
            subprocess.run(command, stdout=subprocess.DEVNULL, check=False)
            times[name].append(time.perf_counter() - start)
    return {name: statistics.median(values) for name, values in times.items()}


def main() -> None:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 15
    with tempfile.TemporaryDirectory() as folder:
        job, sheet = map(str, demo.copy_into(Path(folder)))
        commands = {
            "bare imports": [sys.executable, "-c", "import pydantic, typer, rich"],
            "--help (aim 2.0)": [*CLI, "--help"],
            "work, V8 (aim 4.0)": [*CLI, "work", job, "--sheet", sheet],
            "work --json, V8": [*CLI, "work", job, "--sheet", sheet, "--json"],
            "hang, V8 (aim 4.0)": [*CLI, "hang", job, "--sheet", sheet],
        }
        median_seconds(commands, 2)
        found = median_seconds(commands, runs)
    base = found["bare imports"]
    for name, seconds in found.items():
        sys.stdout.write(f"{name:<22} {seconds * 1000:6.0f} ms  {seconds / base:5.2f}\n")


if __name__ == "__main__":
    main()
