"""Replay: opening a log of 100,000 records, and what an appended reading costs on this disk.

Run: python tests/bench/replay.py [records]. Nothing is asserted; the aim is 0.5 s for 100,000 records.
Garbage is not collected, as main() has it.
"""

import gc
import os
import statistics
import sys
import tempfile
import time
from pathlib import Path

from truethrow.balance.log.chain import Chain
from truethrow.balance.log.lines import link_of, record_in
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Record, Struck, Weighed
from truethrow.balance.log.replaying import counting, replay

KINDS = ("piston", "pin", "locks", "rings", "small_end", "big_end", "bearings")


def record(n: int) -> Record:
    at, typed = f"2025-03-01T09:12:44.{n % 1000:03}Z", f"{500 + n % 97 / 10} g"
    if n % 50 == 49:
        return Struck(f"5f0c31a2b4d6-{n - 1}", id=f"5f0c31a2b4d6-{n}", at=at, bench="bench", by="MK")
    grams = 500 + n % 97 / 10
    return Weighed(n % 16 + 1, KINDS[n % 7], grams, typed, id=f"5f0c31a2b4d6-{n}", at=at, bench="bench", by="MK")


def lines(count: int) -> list[bytes]:
    """The lines of a log of so many records."""
    chain, made = Chain(), []
    for n in range(count):
        for raw in chain.sealed(record(n), lambda: "launch-7", "file"):
            made.append(raw + b"\n")
            if (found := record_in(raw)) is not None:
                chain.take(found, link_of(raw))
    return made


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    gc.disable()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "launch.readings.jsonl"
        path.write_bytes(b"".join(whole := lines(count)))
        opened, replayed = [], []
        for _ in range(5):
            start = time.perf_counter()
            log = ReadingLog(path)
            opened.append(time.perf_counter() - start)
            counting(replay(log.records).placed)
            replayed.append(time.perf_counter() - start)
        assert len(log.records) == count
        appended = []
        bare = os.open(Path(folder) / "bare", os.O_WRONLY | os.O_APPEND | os.O_CREAT)
        flushed = []
        for n in range(50):
            start = time.perf_counter()
            log.append(Weighed(1, "piston", 538.4, "538.4"))
            appended.append(time.perf_counter() - start)
            start = time.perf_counter()
            os.write(bare, whole[n + 1])
            os.fsync(bare)
            flushed.append(time.perf_counter() - start)
        os.close(bare)
        size = path.stat().st_size
    sys.stdout.write(
        f"replay of {count} records, {size / 1e6:.1f} MB (aim 0.5 s): opened in {statistics.median(opened):.2f} s"
        f", with what is current {statistics.median(replayed):.2f} s\n"
        f"append, median of 50: {statistics.median(appended) * 1e3:.2f} ms; "
        f"write and fsync alone {statistics.median(flushed) * 1e3:.2f} ms\n"
    )


if __name__ == "__main__":
    main()
