"""A floor under load: many screens on its board, several benches weighing, all over loopback, each a connection of
its own. The floor is a process of its own, so that its screens do not share its interpreter."""

from __future__ import annotations

import asyncio
import contextlib
import itertools
import json
import signal
import socket
import statistics
import subprocess
import time
import uuid
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NamedTuple

from commands import PROGRAM, environment
from floor_shop import blank_job

HERE = "127.0.0.1"
LONGEST_WAIT_S = 60.0
# What parts of each kind weigh, about. [g]
MASSES_G = {
    "piston": 538.0,
    "pin": 112.0,
    "rings": 41.0,
    "locks": 3.2,
    "bearings": 46.0,
    "big": 450.0,
    "small": 170.0,
}


class Load(NamedTuple):
    """What came of it. lost, doubled: records on screens, all together; records: in the logs; late_s: from the log
    to each screen; kilobytes: of the floor's memory, looked at every second. What a log holds is in memory while
    its job is looked at, about 6 kB a record in all, so memory cannot stay the same. What
    grows beyond it is a leak."""

    records: int
    lost: int
    doubled: int
    late_s: list[float]
    kilobytes: list[int]

    @property
    def kilobytes_a_record(self) -> float:
        """What a record of the second half added: the first fills what is then filled again and again."""
        return 2 * (self.kilobytes[-1] - self.kilobytes[len(self.kilobytes) // 2]) / max(1, self.records)

    def told(self) -> str:
        late = sorted(self.late_s)
        return (
            f"{self.records} records on {len(late) // max(1, self.records)} screens: {self.lost} lost, "
            f"{self.doubled} doubled; late by {1000 * statistics.median(late):.0f} ms in the median, "
            f"{1000 * late[int(0.99 * len(late))]:.0f} ms at 99 %, {1000 * late[-1]:.0f} ms at the most; memory "
            f"{self.kilobytes[len(self.kilobytes) // 4] / 1024:.1f} MB after a quarter, "
            f"{self.kilobytes[-1] / 1024:.1f} MB at the end, {self.kilobytes_a_record:.1f} kB for each record of "
            "the second half"
        )


def jobs_in(folder: Path, benches: int) -> list[str]:
    names = [f"job-{number}" for number in range(benches)]
    for name in names:
        blank_job(folder, name, job={"id": name, "title": f"Job of {name}"})
    return names


@contextlib.contextmanager
def running(*words: object) -> Iterator[tuple[subprocess.Popen[str], int]]:
    """A floor as a process, and its port; it ends with the body."""
    with socket.socket() as one:
        one.bind((HERE, 0))
        port = one.getsockname()[1]
    command = [*PROGRAM, "floor", *map(str, words), "--port", str(port)]
    floor = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment())
    try:
        assert floor.stdout is not None
        assert str(port) in floor.stdout.readline(), floor.communicate()
        end_s = time.monotonic() + LONGEST_WAIT_S
        while True:
            with contextlib.suppress(OSError), socket.create_connection((HERE, port), 1.0):
                break
            assert time.monotonic() < end_s
        yield floor, port
        floor.send_signal(signal.SIGINT)
        assert floor.communicate(timeout=LONGEST_WAIT_S)[1] == ""
    finally:
        floor.kill()
        floor.wait()


class Screen:
    """One on the board: which records it was told, how often and how late."""

    def __init__(self) -> None:
        self.told: Counter[tuple[str, int]] = Counter()
        self.late_s: list[float] = []

    async def watch(self, port: int) -> None:
        reads, writes = await asyncio.open_connection(HERE, port, limit=1 << 22)
        writes.write(f"GET /board/events HTTP/1.1\r\nHost: {HERE}:{port}\r\n\r\n".encode())
        kind = ""
        try:
            while line := await reads.readline():
                if line.startswith(b"event: "):
                    kind = line[7:].strip().decode()
                elif line.startswith(b"data: ") and kind == "record":
                    data = json.loads(line[6:])
                    self.told[data["job"], data["number"]] += 1
                    at = datetime.fromisoformat(data["at"].replace("Z", "+00:00"))
                    self.late_s.append((datetime.now(UTC) - at).total_seconds())
        finally:
            writes.close()


async def _asked(port: int, method: str, path: str, data: Any = None) -> str:
    reads, writes = await asyncio.open_connection(HERE, port, limit=1 << 22)
    body = b"" if data is None else json.dumps(data).encode()
    own = (
        f"Host: {HERE}:{port}\r\nOrigin: http://{HERE}:{port}\r\nConnection: close\r\nContent-Length: {len(body)}"
    )
    writes.write(f"{method} {path} HTTP/1.1\r\n{own}\r\n\r\n".encode() + body)
    try:
        head, _, text = (await reads.read()).decode().partition("\r\n\r\n")
    finally:
        writes.close()
    assert head.startswith("HTTP/1.1 200"), (head, text)
    return text


async def _look(port: int, job: str) -> None:
    """A screen at a bench: one that nobody looks at is closed after a while, with what was gone to."""
    reads, writes = await asyncio.open_connection(HERE, port, limit=1 << 22)
    writes.write(f"GET /bench/{job}/events HTTP/1.1\r\nHost: {HERE}:{port}\r\n\r\n".encode())
    try:
        while await reads.read(1 << 16):
            pass
    finally:
        writes.close()


async def _weigh(port: int, job: str, until_s: float, pause_s: float) -> int:
    """One bench: a reading, a pause, and so on, over all parts and over again; how many were acknowledged."""
    looks = asyncio.create_task(_look(port, job))
    try:
        return await _weighed(port, job, until_s, pause_s)
    finally:
        looks.cancel()


async def _weighed(port: int, job: str, until_s: float, pause_s: float) -> int:

    async def does(action: str, typed: str) -> Any:
        own = {"id": str(uuid.uuid4()), "action": action, "typed": typed, "step": state["step_id"]}
        return json.loads(await _asked(port, "POST", f"/bench/{job}/do", own))

    state: Any = {"step_id": ""}
    state = (await does("back", ""))["state"]
    done = 0
    for number in itertools.count():
        if time.monotonic() > until_s:
            return done
        if not state["is_part"]:
            kinds = ("piston", "pin", "big end", "small end")
            state = (await does("go", f"{number % 8 + 1} {kinds[number // 8 % 4]}"))["state"]
        kind = state["step"].split()[0]
        answer = await does("type", f"{MASSES_G[kind] + number % 7 / 10:.1f}")
        assert answer["ok"], answer
        done, state = done + 1, answer["state"]
        await asyncio.sleep(pause_s)
    raise AssertionError


def memory_kb(pid: int) -> int:
    text = Path(f"/proc/{pid}/status").read_text(encoding="ascii")
    return int(text.split("VmRSS:")[1].split()[0])


async def _loaded(pid: int, port: int, jobs: list[str], screens: int, seconds: float, pause_s: float) -> Load:
    watching = [Screen() for _ in range(screens)]
    tasks = [asyncio.create_task(one.watch(port)) for one in watching]
    await asyncio.sleep(1.0)
    until_s, kilobytes = time.monotonic() + seconds, [memory_kb(pid)]

    async def look() -> None:
        while True:
            await asyncio.sleep(1.0)
            kilobytes.append(memory_kb(pid))

    looks = asyncio.create_task(look())
    counts = await asyncio.gather(*(_weigh(port, job, until_s, pause_s) for job in jobs))
    wanted = {(job, number) for job, count in zip(jobs, counts, strict=True) for number in range(1, count + 1)}
    end_s = time.monotonic() + LONGEST_WAIT_S
    while any(len(one.told) < len(wanted) for one in watching) and time.monotonic() < end_s:
        await asyncio.sleep(0.05)
    looks.cancel()
    for task in tasks:
        task.cancel()
    lost = sum(len(wanted - one.told.keys()) for one in watching)
    doubled = sum(count - 1 for one in watching for count in one.told.values())
    return Load(len(wanted), lost, doubled, [late for one in watching for late in one.late_s], kilobytes)


def load(
    folder: Path, *, screens: int = 50, benches: int = 10, seconds: float = 60.0, pause_s: float = 0.5
) -> Load:
    """So many screens on the board while so many benches weigh for so long."""
    jobs = jobs_in(folder, benches)
    with running(folder) as (floor, port):
        return asyncio.run(_loaded(floor.pid, port, jobs, screens, seconds, pause_s))
