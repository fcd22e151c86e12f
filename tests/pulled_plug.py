"""What a disk can hold after the plug was pulled: a program's traced writes, of which those that were not flushed
by then are there or not, or torn between two sectors.

A kill leaves the system's memory alive; a pulled plug does not. Of the file system nothing is believed but what
POSIX promises: fsync of a file brings what was written into it to the disk, fsync of a folder its names. Whatever
else was done may be there or not, in any order; a rename is done or not done."""

from __future__ import annotations

import itertools
import json
import random
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest
from commands import PROGRAM

DONE = "=done="
SECTOR = 512
ALL_SUBSETS_OF = 5  # of so many writes that wait all subsets are taken, of more some
CALLS = "openat,write,pwrite64,lseek,ftruncate,rename,unlink,fsync,fdatasync,close"
# By none of these is anything of ours written today; where one is used one day, it has to be replayed.
UNKNOWN = "open,creat,writev,pwritev,pwritev2,truncate,fallocate,renameat,renameat2,unlinkat,link,linkat,dup2,dup3"
needs_strace = pytest.mark.skipif(shutil.which("strace") is None, reason="strace is not installed")


class Wrote(NamedTuple):
    """Bytes into a file. Files are numbered, as a name may come to mean another one."""

    file: int
    at: int
    data: bytes


class Cut(NamedTuple):
    file: int
    size: int


class Named(NamedTuple):
    """From here on a name means a file, or (None) none any more. instead: the name that it had before."""

    name: str
    file: int | None
    instead: str = ""


class Flushed(NamedTuple):
    """file: of which all is on the disk now; None: the names of the folder."""

    file: int | None


class Told(NamedTuple):
    """What stood on standard output."""

    text: str


Change = Wrote | Cut | Named
Step = Change | Flushed | Told


class State(NamedTuple):
    """What the disk holds, and what had been told by then."""

    files: dict[str, bytes]
    told: str

    def put_into(self, folder: Path) -> Path:
        folder.mkdir()
        for name, content in self.files.items():
            (folder / name).write_bytes(content)
        return folder


# The trace


# Runs commands one after the other, and says DONE in a line of its own after each.
_RUN_ALL = """
import json, os, subprocess, sys
for words in json.loads(sys.argv[1]):
    status = subprocess.call(words)
    assert status in (0, 1), words
    os.write(1, b"\\n" + DONE.encode() + b"\\n")
"""


def traced(folder: Path, commands: list[list[str]], environment: dict[str, str]) -> list[Step]:
    """What commands of the program, each a process, do to the files of the folder that they run in. Each says DONE
    at its end."""
    return traced_programs(folder, [[*PROGRAM, *words] for words in commands], environment)


def traced_programs(folder: Path, programs: list[list[str]], environment: dict[str, str]) -> list[Step]:
    """The same of any programs. They may say DONE as often as they like."""
    reader = _Reader(folder)
    trace = folder.with_name(f"{folder.name}.trace")
    options = ["-f", "--seccomp-bpf", "-xx", "-s", "100000000", "-e", f"trace={CALLS},{UNKNOWN}", "-o", str(trace)]
    script = _RUN_ALL.replace("DONE", repr(DONE))
    done = subprocess.run(
        ["strace", *options, sys.executable, "-c", script, json.dumps(programs)],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    for line in trace.read_text().splitlines():
        reader.take(line)
    trace.unlink()
    return reader.steps


class _Reader:
    """Reads the lines of a trace. What a folder holds before is on the disk."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder.resolve()
        self.steps: list[Step] = []
        self._numbers = itertools.count()
        self._begun: dict[str, str] = {}  # a call of a process that another came between
        self._of: dict[str, tuple[dict[int, int | None], dict[int, int], set[int]]] = {}
        self._names: dict[str, int] = {}
        self._sizes: dict[int, int] = {}
        # Of the process at work: what a descriptor means (None: the folder), where it stands, which append.
        self._open: dict[int, int | None] = {}
        self._at: dict[int, int] = {}
        self._appending: set[int] = set()
        for path in sorted(self.folder.iterdir()):
            self._write(self._make(path.name), 0, path.read_bytes())
        self.steps += [*map(Flushed, self._sizes), Flushed(None)]

    def take(self, line: str) -> None:
        process, line = line.split(maxsplit=1)
        if line.startswith(("+++", "---")):
            return
        if line.endswith(" <unfinished ...>"):
            self._begun[process] = line.removesuffix(" <unfinished ...>")
            return
        if resumed := re.match(r"<\.\.\. \w+ resumed>", line):
            line = self._begun.pop(process) + line[resumed.end() :]
        if process not in self._of:
            self._of[process] = {}, {}, set()
        self._open, self._at, self._appending = self._of[process]
        call = re.fullmatch(r"(\w+)\((.*)\) += (-?\d+).*", line)
        assert call is not None, line[:200]
        if int(call[3]) >= 0:
            self._called(call[1], call[2].split(", "), int(call[3]))

    def _called(self, name: str, given: list[str], done: int) -> None:
        match name:
            case "openat":
                self._opened(_bytes(given[1]).decode(), given[2].split("|"), done)
            case "write":
                self._written(int(given[0]), _bytes(given[1])[:done], None)
            case "pwrite64":
                self._written(int(given[0]), _bytes(given[1])[:done], int(given[3]))
            case "lseek":
                self._at[int(given[0])] = done
            case "ftruncate":
                self._cut(self._open.get(int(given[0])), int(given[1]))
            case "fsync" | "fdatasync":
                self._flushed(int(given[0]))
            case "rename":
                self._renamed(*(_bytes(name).decode() for name in given))
            case "unlink":
                self._unlinked(_bytes(given[0]).decode())
            case "close":
                self._open.pop(int(given[0]), None)
                self._appending.discard(int(given[0]))
            case _:
                names = [name for name in self._names if name.encode() in b"".join(map(_bytes, given))]
                handles = [handle for handle in self._open if str(handle) in given]
                assert not names + handles, f"{name} of {names or handles} is not replayed"

    def _ours(self, path: str) -> str:
        whole = self.folder / path
        return whole.name if whole.parent == self.folder else ""

    def _make(self, name: str) -> int:
        file = self._names[name] = next(self._numbers)
        self._sizes[file] = 0
        self.steps.append(Named(name, file))
        return file

    def _write(self, file: int, at: int, data: bytes) -> None:
        self.steps.append(Wrote(file, at, data))
        self._sizes[file] = max(self._sizes[file], at + len(data))

    def _cut(self, file: int | None, size: int) -> None:
        if file is not None:
            self.steps.append(Cut(file, size))
            self._sizes[file] = size

    def _flushed(self, handle: int) -> None:
        if handle in self._open:
            self.steps.append(Flushed(self._open[handle]))

    def _opened(self, path: str, flags: list[str], handle: int) -> None:
        if self.folder / path == self.folder:
            self._open[handle] = None
        elif name := self._ours(path):
            file = self._names[name] if name in self._names else self._make(name)
            self._open[handle], self._at[handle] = file, 0
            if "O_APPEND" in flags:
                self._appending.add(handle)
            if "O_TRUNC" in flags:
                self._cut(file, 0)

    def _written(self, handle: int, data: bytes, at: int | None) -> None:
        file = self._open.get(handle)
        if handle == 1:
            self.steps.append(Told(data.decode()))
        elif file is not None:
            start = self._at[handle] if at is None else at
            self._write(file, self._sizes[file] if handle in self._appending else start, data)
            if at is None:
                self._at[handle] = start + len(data)

    def _renamed(self, old: str, new: str) -> None:
        if (before := self._ours(old)) and (name := self._ours(new)):
            file = self._names[name] = self._names.pop(before)
            self.steps.append(Named(name, file, instead=before))

    def _unlinked(self, path: str) -> None:
        if (name := self._ours(path)) in self._names:
            del self._names[name]
            self.steps.append(Named(name, None))


def _bytes(shown: str) -> bytes:
    return bytes.fromhex(shown.strip('"').replace("\\x", "")) if shown.startswith('"') else b""


# What may be left of it


def states(steps: list[Step], chance: random.Random, some: float) -> Iterator[State]:
    """What the disk may hold, for a pulled plug after each step; no state twice. some: this part of them."""
    seen = set()
    for end in range(steps.index(Flushed(None)) + 1, len(steps) + 1):  # what was there before stays
        done = steps[:end]
        for kept in _kept(done, chance):
            if chance.random() < some:
                state = State(_replayed(kept), _told(done))
                if (key := (state.told, tuple(sorted(state.files.items())))) not in seen:
                    seen.add(key)
                    yield state


def acknowledged(steps: list[Step]) -> list[State]:
    """What the disk holds when nothing is lost: before the first command, and as each says that it is done."""
    ends = [steps.index(Flushed(None)) + 1]
    ends += [number + 1 for number, step in enumerate(steps) if isinstance(step, Told) and DONE in step.text]
    return [State(_replayed([one for one in steps[:end] if _changes(one)]), _told(steps[:end])) for end in ends]


def _told(steps: list[Step]) -> str:
    return "".join(step.text for step in steps if isinstance(step, Told))


def _kept(done: list[Step], chance: random.Random) -> Iterator[list[Change]]:
    """The changes that reached the disk, those that were flushed among them, in every way or in some."""
    waits = _waits(done)
    waiting = [number for number, one in enumerate(waits) if one]
    if len(waiting) <= ALL_SUBSETS_OF:
        lost = [set(some) for size in range(len(waiting) + 1) for some in itertools.combinations(waiting, size)]
    else:
        lost = [set(), set(waiting), *({one} for one in waiting)]
        lost += [{one for one in waiting if chance.random() < 0.5} for _ in range(2**ALL_SUBSETS_OF)]
    for without in lost:
        changes = [number for number, step in enumerate(done) if _changes(step) and number not in without]
        yield [done[number] for number in changes]
        torn = [number for number in changes if waits[number] and len(_sectors(done[number])) > 1]
        if torn:
            one = chance.choice(torn)
            parts = _sectors(done[one])
            some = [part for part in parts if chance.random() < 0.5] or parts[:1]
            yield [change for number in changes for change in (some if number == one else [done[number]])]


def _changes(step: Step) -> bool:
    return isinstance(step, Wrote | Cut | Named)


def _waits(done: list[Step]) -> list[bool]:
    """Of each step whether it is a change that is in the system's memory alone."""
    waits, flushed = [], set()
    for step in reversed(done):
        if isinstance(step, Flushed):
            flushed.add(step.file)
        waits.append(_changes(step) and (None if isinstance(step, Named) else step.file) not in flushed)
    return waits[::-1]


def _sectors(step: Step) -> list[Wrote]:
    """A write as the sectors that it goes into."""
    if not isinstance(step, Wrote):
        return []
    bounds = [step.at, *range((step.at // SECTOR + 1) * SECTOR, step.at + len(step.data), SECTOR)]
    ends = [*bounds[1:], step.at + len(step.data)]
    return [
        Wrote(step.file, at, step.data[at - step.at : end - step.at]) for at, end in zip(bounds, ends, strict=True)
    ]


def _replayed(changes: list[Change]) -> dict[str, bytes]:
    names: dict[str, int] = {}
    contents: dict[int, bytearray] = {}
    for change in changes:
        match change:
            case Named(name, file, instead):
                names.pop(instead, None)
                if file is None:
                    names.pop(name, None)
                else:
                    names[name] = file
            case Wrote(file, at, data):
                content = contents.setdefault(file, bytearray())
                content.extend(bytes(max(0, at + len(data) - len(content))))
                content[at : at + len(data)] = data
            case Cut(file, size):
                content = contents.setdefault(file, bytearray())
                content.extend(bytes(max(0, size - len(content))))
                del content[size:]
    return {name: bytes(contents.get(file, b"")) for name, file in names.items()}
