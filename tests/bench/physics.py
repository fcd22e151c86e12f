"""Physics: our curve against the same numpy operations written out flat, and the Monte Carlo of a V8.

Run: python tests/bench/physics.py [runs]. Nothing is asserted; the aims are a ratio of 3.0 for a 16-cylinder
layout at 3,600 positions with all orders, and 2 s for 50,000 draws.
"""

import math
import statistics
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from truethrow.balance import demo
from truethrow.balance.engine import shaking
from truethrow.balance.engine.layout import Layout, numbered, throws
from truethrow.balance.job.job import load
from truethrow.balance.result.work import work
from truethrow.balance.running import draws


def sixteen() -> Layout:
    """A 90-degree V16: two in-line eights on one crank."""
    placed = throws((0, 90, 270, 180, 180, 270, 90, 0), [112.0 * i for i in range(8)])
    banks = {"left": 45.0, "right": -45.0}
    return Layout(placed, numbered(placed, list(banks), False, "alternating"), banks)


def ours(parts: shaking.Assembly) -> object:
    return shaking.orders(shaking.curve(parts, 5600, 392.0, 3600), 6)


def flat(parts: shaking.Assembly) -> object:
    """The same, as one would type it into a notebook."""
    theta = np.arange(3600) * (2 * math.pi / 3600)
    lam, omega = parts.radius_mm / parts.rod_length_mm, 5600 * 2 * math.pi / 60
    phi = theta + (parts.crank_rad - parts.bank_rad)[:, None]
    sin, cos = np.sin(phi), np.cos(phi)
    q2 = 1 / lam**2 - sin**2
    q = np.sqrt(q2)
    along = cos + (cos**2 - sin**2) / q + sin**2 * cos**2 / (q2 * q)
    vectors = np.exp(1j * parts.bank_rad)[:, None] * along
    weights = parts.reciprocating_g * parts.radius_mm * omega**2 * 1e-6
    force = weights @ vectors
    couple = (weights * (parts.z_mm - 392.0) / 1000) @ vectors
    return np.fft.fft(force) / 3600, np.fft.fft(couple) / 3600


def median_ms(task: object, parts: object, runs: int) -> float:
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        task(parts)
        times.append(time.perf_counter() - start)
    return statistics.median(times) * 1000


def main() -> None:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    layout = sixteen()
    parts = shaking.assembly(layout, np.linspace(690, 710, 16), 46.0, 155.0)
    median_ms(ours, parts, 3), median_ms(flat, parts, 3)
    one, other = median_ms(ours, parts, runs), median_ms(flat, parts, runs)
    sys.stdout.write(f"16 cylinders, 3,600 positions, all orders: ours {one:.2f} ms, flat {other:.2f} ms, ")
    sys.stdout.write(f"ratio {one / other:.2f} (aim 3.0)\n")
    with tempfile.TemporaryDirectory() as folder:
        result = work(load(*demo.copy_into(Path(folder))[:2]))
    start = time.perf_counter()
    draws.draw(result, 50_000)
    sys.stdout.write(f"50,000 draws of a V8, every figure: {time.perf_counter() - start:.2f} s (aim 2 s)\n")


if __name__ == "__main__":
    main()
