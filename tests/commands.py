"""The program as a process of its own, and what a call refuses.

`run` spares the process its start (`loaded`). What only a start can show (what is loaded, how text is encoded,
what becomes of a terminal) takes a process that really starts: PROGRAM."""

from __future__ import annotations

import os
import pty
import re
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import NamedTuple

import loaded
import pytest

from truethrow.balance.base.errors import BadInput

PROGRAM = [sys.executable, "-c", "from truethrow.cli.main import main; main()"]
# What would make a terminal of another kind of where a command runs.
_OF_A_TERMINAL = ("NO_COLOR", "FORCE_COLOR", "COLUMNS")
COLOUR = re.compile(r"\x1b\[[0-9;]*3[0-7][0-9;]*m")
BOXES = re.compile("[\u2500-\u257f]")


def environment(**more: str) -> dict[str, str]:
    """What commands run in: as this process has it now, when its data folder is the tests' own."""
    return {name: value for name, value in os.environ.items() if name not in _OF_A_TERMINAL} | more


class Said(NamedTuple):
    """How a command ended, and all that it printed."""

    status: int
    out: str
    err: str


def run(
    *words: object, stdin: str | bytes = "", folder: Path | None = None, environment: dict[str, str] | None = None
) -> Said:
    """Run a command. folder, environment: where it runs, and in what, if not as this process does."""
    with tempfile.TemporaryFile() as given, tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        given.write(stdin.encode() if isinstance(stdin, str) else stdin)
        given.seek(0)
        files = given, out, err
        process = loaded.Process("truethrow", *words, folder=folder, environment=environment, files=files)
        status = process.wait()
        out.seek(0)
        err.seek(0)
        said = Said(status, out.read().decode(), err.read().decode())
    assert "Traceback" not in said.err, said.err
    return said


def answer(*words: object) -> tuple[int, str]:
    """How a command ended, and all that it said."""
    said = run(*words)
    return said.status, said.out + said.err


def in_folder(folder: Path):
    """A way to run commands in a folder; more: of the environment."""

    def ran(*words, stdin: str | bytes = "", **more):
        return run(*words, stdin=stdin, folder=folder, environment=environment(**more))

    return ran


def on_a_terminal(args, cwd, typed="", **more) -> tuple[int, str]:
    """How a command ended on a terminal, and what that showed. typed: at its keyboard."""
    main_end, terminal = pty.openpty()
    os.write(main_end, typed.encode())
    settings = environment(**{"TERM": "xterm-256color", "COLUMNS": "110"} | more)
    with subprocess.Popen(
        [*PROGRAM, *map(str, args)], stdout=terminal, stderr=terminal, stdin=terminal, cwd=cwd, env=settings
    ) as process:
        os.close(terminal)
        chunks = []
        try:
            while chunk := os.read(main_end, 65536):
                chunks.append(chunk)
        except OSError:  # how Linux says that the other end is closed
            pass
    os.close(main_end)
    return process.returncode, b"".join(chunks).decode()


def refused(call, *arguments):
    with pytest.raises(BadInput) as caught:
        call(*arguments)
    return str(caught.value)
