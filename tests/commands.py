"""The program as a process of its own, and what a call refuses.

`run` spares the process its start (`loaded`). What only a start can show (what is loaded, how text is encoded,
what becomes of a terminal) takes a process that really starts: PROGRAM."""

from __future__ import annotations

import json
import os
import socket
import sys
import tempfile
from pathlib import Path
from typing import NamedTuple

import loaded
import pytest

from truethrow.balance.base.errors import BadInput

PROGRAM = [sys.executable, "-c", "from truethrow.cli.main import main; main()"]


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
        settings = dict(os.environ) if environment is None else environment
        asked = json.dumps([[str(word) for word in words], str(folder or Path.cwd()), settings])
        line = loaded.line()
        socket.send_fds(line, [asked.encode() + b"\n"], [file.fileno() for file in (given, out, err)])
        status = int(line.recv(16))
        out.seek(0)
        err.seek(0)
        said = Said(status, out.read().decode(), err.read().decode())
    assert "Traceback" not in said.err, said.err
    return said


def refused(call, *arguments):
    with pytest.raises(BadInput) as caught:
        call(*arguments)
    return str(caught.value)
