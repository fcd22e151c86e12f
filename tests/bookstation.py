"""Stations that write into a book and are killed, a server that dies, a line that is cut: for the fault tests.

Run as a program it is a station, or a parent of stations: a station forked from a process that has loaded all
there is to load works within milliseconds, so that hundreds of them can be killed.
"""

from __future__ import annotations

import contextlib
import os
import random
import select
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

STARTER = Path(__file__).parents[1] / ".ci" / "postgres"
KINDS = ("piston", "pin", "locks", "rings", "small_end", "big_end", "bearings")


# Stations


def write(url: str, job: str, name: str, acknowledged: str) -> None:
    """Append readings until killed. Each one that append returned is told in a file, and each refusal, after
    which the same reading is tried again. Without a job, just make the book."""
    from truethrow.balance.base.errors import NotSaved, TruethrowError
    from truethrow.balance.book.book_log import BookLog
    from truethrow.balance.book.open import open_book
    from truethrow.balance.log.records import Weighed

    if not job:
        with contextlib.suppress(TruethrowError):
            open_book(url)
        return
    told = os.open(acknowledged, os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    while True:
        with contextlib.suppress(TruethrowError):  # a server that is just dying
            log = BookLog(open_book(url, create=False), job, name)
            break
        time.sleep(0.02)
    chance = random.Random(name)
    while True:
        one, cylinder, kind = log.next_id(), chance.randint(1, 8), chance.choice(KINDS)
        typed = f"{chance.uniform(100, 600):.1f}"
        while True:
            try:
                made = log.append(Weighed(cylinder, kind, float(typed), typed), id=one)
                break
            except NotSaved as error:
                os.write(told, f"! {one} {error}\n".encode())
                time.sleep(0.1)
        os.write(told, f"{made.id} {typed}\n".encode())


def _breed() -> None:
    """Fork a station for each line of standard input; its process id is the answer. Nobody is waited for before
    the end, so that no process id is used twice."""
    import alembic.command
    import alembic.config  # noqa: F401
    import psycopg  # noqa: F401
    from sqlalchemy.dialects import postgresql, sqlite  # noqa: F401

    import truethrow.balance.book.book_log
    import truethrow.balance.book.open  # noqa: F401

    for line in iter(sys.stdin.readline, ""):
        if (forked := os.fork()) == 0:
            try:
                write(*line.rstrip("\n").split("\t"))
            finally:
                os._exit(0)
        os.write(1, b"%d\n" % forked)
    with contextlib.suppress(ChildProcessError):
        while True:
            os.wait()


class Stations:
    """Makes stations, and kills them. alive: process ids; whole: those that were started as whole processes."""

    def __init__(self) -> None:
        command = [sys.executable, __file__, "parent"]
        self._parent = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        self._whole: dict[int, subprocess.Popen[bytes]] = {}
        self.alive: list[int] = []

    def __enter__(self) -> Stations:
        return self

    def __exit__(self, *_: object) -> None:
        for station in list(self.alive):
            self.kill(station)
        self._parent.stdin.close()
        self._parent.wait(300)
        self._parent.stdout.close()

    def start(self, url: str, job: str, name: str, acknowledged: Path) -> int:
        self._parent.stdin.write("\t".join((url, job, name, str(acknowledged))) + "\n")
        self._parent.stdin.flush()
        station = int(self._parent.stdout.readline())
        self.alive.append(station)
        return station

    def start_whole(self, url: str, job: str, name: str, acknowledged: Path) -> int:
        """One that has yet to load everything."""
        command = [sys.executable, __file__, "station", url, job, name, str(acknowledged)]
        station = subprocess.Popen(command, stderr=subprocess.DEVNULL)
        self._whole[station.pid] = station
        self.alive.append(station.pid)
        return station.pid

    def kill(self, station: int) -> None:
        self.alive.remove(station)
        os.kill(station, signal.SIGKILL)
        if station in self._whole:
            self._whole.pop(station).wait()


def read_told(folder: Path) -> tuple[dict[str, str], list[str]]:
    """What the stations of a folder told: each acknowledged id with what was typed, and every refusal."""
    done: dict[str, str] = {}
    refusals: list[str] = []
    for path in folder.iterdir():
        for line in path.read_text("utf-8").splitlines():
            if line.startswith("! "):
                refusals.append(line)
            else:
                id_, typed = line.split()
                assert id_ not in done, "one id was acknowledged twice"
                done[id_] = typed
    return done, refusals


# A server of one's own


def _as_server(*command: object) -> list[str]:
    """A command as the user who may run the server, who is never root."""
    return [*(["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []), *map(str, command)]


class Server:
    """A PostgreSQL server on loopback, which the test may kill. address: of its database postgres."""

    def __init__(self, folder: Path | None = None) -> None:
        made = folder or Path(tempfile.mkdtemp(prefix="truethrow-server-"))
        self._folder = made
        self.data, self.log = made / "data", made / "server.log"
        done = subprocess.run([STARTER, "start", made], capture_output=True, text=True, timeout=300, check=False)
        if done.returncode:
            shutil.rmtree(made, ignore_errors=True)
            raise RuntimeError(done.stderr)
        self.address = done.stdout.strip()
        self.port = int(self.address.rpartition(":")[2].partition("/")[0])
        start = Path("/proc", (self.data / "postmaster.pid").read_text().split()[0], "exe")
        self._control = start.resolve().parent / "pg_ctl"

    def stop(self, mode: str = "immediate") -> None:
        self._ask("stop", f"--mode={mode}")

    def start(self, mode: str = "fast") -> None:
        """Start it, with the options that it had; one that runs is stopped first."""
        arguments = "restart", f"--mode={mode}", f"--log={self.log}"
        try:
            self._ask(*arguments)
        except RuntimeError:  # one that is just dying by itself can be told nothing
            time.sleep(1)
            self._ask(*arguments)

    def _ask(self, *arguments: str) -> None:
        command = _as_server(self._control, f"--pgdata={self.data}", "--wait", "--timeout=120", *arguments)
        done = subprocess.run(
            command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, cwd="/", timeout=300, check=False
        )
        if done.returncode:
            raise RuntimeError(done.stderr.decode())

    def backends(self) -> list[int]:
        """The process ids of what serves the stations."""
        import psycopg

        with psycopg.connect(self.address, autocommit=True) as asking:
            return [
                row[0]
                for row in asking.execute("SELECT pid FROM pg_stat_activity WHERE application_name = 'truethrow'")
            ]

    def close(self) -> None:
        with contextlib.suppress(subprocess.SubprocessError, RuntimeError):  # it may have died
            self.stop()
        shutil.rmtree(self._folder, ignore_errors=True)


# A line that can be cut


class Line:
    """A line between stations and a server, which can be cut. port: where the stations call.

    at_commit: what to do with the next COMMIT that comes by: "before" the server sees it, cut; "unheard", cut
    when the server has answered, before the station hears it; "" nothing. goes_down: that cut lasts. is_down:
    nobody gets through.
    bytes_each: so many bytes come by, either way, before a connection is cut, asked anew for each."""

    def __init__(self, port: int) -> None:
        self._server = port
        self._listening = socket.create_server(("127.0.0.1", 0))
        self.port = self._listening.getsockname()[1]
        self.at_commit = ""
        self.goes_down = self.is_down = False
        self.bytes_each: Callable[[], int] | None = None
        self.cuts = 0
        self._closing = False
        self._threads = [threading.Thread(target=self._listen, daemon=True)]
        self._threads[0].start()

    def __enter__(self) -> Line:
        return self

    def __exit__(self, *_: object) -> None:
        self._closing = True
        self._listening.close()
        for thread in self._threads:
            thread.join(60)

    def _listen(self) -> None:
        while not self._closing:
            if not select.select([self._listening], [], [], 0.1)[0]:
                continue
            try:
                station, _ = self._listening.accept()
            except OSError:
                return
            if self.is_down:
                station.close()
                continue
            try:
                server = socket.create_connection(("127.0.0.1", self._server), timeout=60)
            except OSError:
                station.close()
                continue
            thread = threading.Thread(target=self._carry, args=(station, server), daemon=True)
            self._threads.append(thread)
            thread.start()

    def _carry(self, station: socket.socket, server: socket.socket) -> None:
        unheard, left = False, self.bytes_each() if self.bytes_each else sys.maxsize
        with station, server:
            while not self._closing:
                try:
                    for source in select.select([station, server], [], [], 0.1)[0]:
                        piece = source.recv(65536)
                        left -= len(piece)
                        is_commit = source is station and b"COMMIT\0" in piece
                        if is_commit and self.at_commit:
                            unheard = self.at_commit == "unheard"
                            ends = self.at_commit == "before"
                            self.at_commit = ""
                        else:
                            ends = not piece or (unheard and source is server) or left < 0
                        if ends:
                            self.cuts += bool(piece)
                            self.is_down, self.goes_down = self.is_down or self.goes_down, False
                            return
                        (server if source is station else station).sendall(piece)
                except (OSError, ValueError):
                    return


# A small disk


@contextlib.contextmanager
def small_disk(megabytes: int, folder: Path) -> Iterator[Path]:
    """A disk of its own, mounted at a folder. Raises PermissionError where nobody may mount one."""
    folder.mkdir(parents=True, exist_ok=True)
    command = ["mount", "-t", "tmpfs", "-o", f"size={megabytes}m,mode=755", "none", str(folder)]
    try:
        done = subprocess.run(command, capture_output=True, timeout=120, check=False)
    except FileNotFoundError:
        raise PermissionError from None
    if done.returncode:
        raise PermissionError
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", str(folder)], timeout=120, check=True)


def fill(path: Path, leaving: int = 0) -> None:
    """Fill up a disk with one file, but for so many bytes."""
    room = shutil.disk_usage(path.parent).free - leaving
    with path.open("wb", buffering=0) as file, contextlib.suppress(OSError):
        for _ in range(room // 4096 + (not leaving)):
            file.write(bytes(4096))


if __name__ == "__main__":
    _breed() if sys.argv[1] == "parent" else write(*sys.argv[2:])
