"""Processes forked from one that has loaded all that the program is made of, and has done nothing else: each ends,
reads and writes as one that was started."""

from __future__ import annotations

import atexit
import functools
import gc
import json
import os
import signal
import socket
import subprocess
import sys
import traceback
from pathlib import Path
from typing import NoReturn

LONGEST_WAIT_S = 300.0


class Process:
    """One that runs the program (`truethrow`, and what it is told) or a script (`-c`, the script, and what it is
    told); to be used as subprocess.Popen with text.

    folder, environment: where it runs, and in what, if not as this process does. files: its standard input, output
    and error, if not pipes."""

    def __init__(self, *words: object, folder: Path | None = None, environment=None, files=()) -> None:
        self.returncode: int | None = None
        its = [file.fileno() for file in files]
        if not files:
            (given, stdin), (stdout, out), (stderr, err) = os.pipe(), os.pipe(), os.pipe()
            its = [given, out, err]
            self.stdin, self.stdout, self.stderr = open(stdin, "w"), open(stdout), open(stderr)  # noqa: SIM115, PTH123
        settings = dict(os.environ) if environment is None else environment
        asked = json.dumps([[str(word) for word in words], str(folder or Path.cwd()), settings])
        socket.send_fds(_line(), [asked.encode() + b"\n"], its)
        self.pid = int(_line().recv(16))
        if not files:
            for file in its:
                os.close(file)

    def wait(self) -> int:
        if self.returncode is None:
            _line().send(b"%d\n" % self.pid)
            self.returncode = int(_line().recv(16))
        return self.returncode

    def __enter__(self) -> Process:
        return self

    def __exit__(self, *_: object) -> None:
        for stream in (self.stdin, self.stdout, self.stderr):
            stream.close()
        self.wait()

    def kill(self) -> None:
        if self.returncode is None:
            os.kill(self.pid, signal.SIGKILL)

    def communicate(self, given: str = "") -> tuple[str, str]:
        """What it prints until it ends, which must fit into a pipe each."""
        with self:
            self.stdin.write(given)
            self.stdin.close()
            return self.stdout.read(), self.stderr.read()


@functools.cache
def _line() -> socket.socket:
    """The line to the process that has loaded everything; it ends with this one."""
    own, its = socket.socketpair()
    own.settimeout(LONGEST_WAIT_S)
    with its:
        command = [sys.executable, __file__, str(its.fileno())]
        process = subprocess.Popen(command, pass_fds=[its.fileno()])
    atexit.register(lambda: (own.close(), process.wait(LONGEST_WAIT_S)))
    return own


def _load() -> None:
    """Load what the program is made of, and what it loads where it is used."""
    import importlib
    import pkgutil

    import truethrow.balance
    import truethrow.cli
    import truethrow.worksheets

    for floor in (truethrow.balance, truethrow.worksheets, truethrow.cli):
        for module in pkgutil.walk_packages(floor.__path__, f"{floor.__name__}."):
            if ".migrations" not in module.name:  # Alembic runs those
                importlib.import_module(module.name)
    for name in ("alembic.command", "alembic.config", "highspy", "jinja2", "pint", "psycopg", "segno", "tomlkit"):
        importlib.import_module(name)
    for name in ("rich.console", "rich.table", "sqlalchemy.dialects.postgresql", "typst", "xlsxwriter"):
        importlib.import_module(name)


def _fork_for_each(asking: socket.socket) -> None:
    """Fork a process where one is asked for, and tell its id; tell how one has ended, once it has; until there is
    nobody who asks."""
    while True:
        asked, files, _, _ = socket.recv_fds(asking, 1 << 20, 3)
        while asked and not asked.endswith(b"\n"):
            asked += asking.recv(1 << 20)
        if not asked:
            return
        if not files:
            asking.send(b"%d" % os.waitstatus_to_exitcode(os.waitpid(int(asked), 0)[1]))
            continue
        if (forked := os.fork()) == 0:
            asking.close()
            _run(*json.loads(asked), files)
        for file in files:
            os.close(file)
        asking.send(b"%d" % forked)


def _run(words: list[str], folder: str, settings: dict[str, str], files: list[int]) -> NoReturn:
    """Do what was asked for in this process, and end it. It is not taken down bit by bit, as Python does at its
    end: that would touch, and so copy, all that was loaded."""
    from truethrow.cli.main import main

    status: object = 1
    try:
        for number, file in enumerate(files):
            os.dup2(file, number)
            os.close(file)
        sys.stdin, sys.stdout = open(0), open(1, "w")  # noqa: SIM115
        sys.stderr = open(2, "w", buffering=1, errors="backslashreplace")  # noqa: SIM115
        os.chdir(folder)
        os.environ.clear()
        os.environ.update(settings)
        if words[0] == "-c":
            sys.argv = [words[0], *words[2:]]
            exec(words[1], {"__name__": "__main__"})
        else:
            sys.argv = words
            main()
        status = 0
    except SystemExit as ended:
        status = ended.code or 0
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status if isinstance(status, int) else 1)


if __name__ == "__main__":
    _load()
    gc.freeze()
    with socket.socket(fileno=int(sys.argv[1])) as line:
        _fork_for_each(line)
