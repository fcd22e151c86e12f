"""A process that has loaded all that the program is made of, and done nothing else, from which commands are
forked: each is a process of its own, which ends, reads and writes as one that was started."""

from __future__ import annotations

import atexit
import functools
import gc
import json
import os
import socket
import subprocess
import sys
import traceback
from typing import NoReturn

LONGEST_WAIT_S = 300.0


@functools.cache
def line() -> socket.socket:
    """The line to the process that has loaded everything; it ends with this one."""
    own, its = socket.socketpair()
    own.settimeout(LONGEST_WAIT_S)
    with its:
        process = subprocess.Popen(
            [sys.executable, __file__, str(its.fileno())],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            pass_fds=[its.fileno()],
        )
    atexit.register(_end, own, process)
    return own


def _end(own: socket.socket, process: subprocess.Popen[bytes]) -> None:
    own.close()
    process.wait(LONGEST_WAIT_S)


def _load() -> None:
    """Load what the commands are made of, and what they load where they run."""
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
    """Fork a process for each command that comes, and tell how it ended, until there is nobody who asks."""
    while True:
        asked, files, _, _ = socket.recv_fds(asking, 1 << 20, 3)
        while asked and not asked.endswith(b"\n"):
            asked += asking.recv(1 << 20)
        if not asked:
            return
        if (forked := os.fork()) == 0:
            _run(*json.loads(asked), files)
        for file in files:
            os.close(file)
        asking.send(b"%d" % os.waitstatus_to_exitcode(os.waitpid(forked, 0)[1]))


def _run(words: list[str], folder: str, settings: dict[str, str], files: list[int]) -> NoReturn:
    """Run a command in this process, and end it. It is not taken down bit by bit, as Python does at its end: that
    would touch, and so copy, all that was loaded."""
    from truethrow.cli.main import main

    status: object = 1
    try:
        for number, file in enumerate(files):
            os.dup2(file, number)
        os.chdir(folder)
        os.environ.clear()
        os.environ.update(settings)
        sys.argv = ["truethrow", *words]
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
    with socket.socket(fileno=int(sys.argv[1])) as asking:
        _fork_for_each(asking)
