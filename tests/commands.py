"""The program as a process of its own, and what a call refuses."""

from __future__ import annotations

import subprocess
import sys

import pytest

from truethrow.balance.base.errors import BadInput

PROGRAM = [sys.executable, "-c", "from truethrow.cli.main import main; main()"]


def run(*arguments, stdin=""):
    done = subprocess.run(
        [*PROGRAM, *map(str, arguments)], input=stdin, capture_output=True, text=True, check=False
    )
    return done.returncode, done.stdout, done.stderr


def refused(call, *arguments):
    with pytest.raises(BadInput) as caught:
        call(*arguments)
    return str(caught.value)
