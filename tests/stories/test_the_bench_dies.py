"""The bench is left on over lunch, or runs where nobody sits: it neither fills the memory nor waits for ever.

By hand: a balance stands on the bench all day and costs nothing; a scale that is not plugged in is seen at once.
"""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest
from within import ALL_OF_IT

PROGRAM = [sys.executable, "-c", "from truethrow.cli.main import main; main()"]
MOST_BYTES_EACH = 250
TESTS = Path(__file__).parents[1]

# The whole command in a process of its own, on a terminal, but its screen goes nowhere and its keys come from a
# pipe. It counts how often the screen is made anew, and presses q after the last time.
IDLE = """
import json, resource, sys
from prompt_toolkit.application import create_app_session
from prompt_toolkit.data_structures import Size
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

job, warm, more, told = sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), sys.argv[4]
sys.path.insert(0, sys.argv[5])
from within import benchscreen, benchtext, main
benchscreen.POLL_S = 1e-4  # not 0: a loop that is never idle puts off what it draws
drawn, peak, real = 0, {}, benchtext.screen
unit = 1 if sys.platform == "darwin" else 1024

def screen(*given, **named):
    global drawn
    drawn += 1
    if drawn in (warm, warm + more):
        peak[drawn] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit
    if drawn == warm + more:
        keys.send_text("q")
    return real(*given, **named)

class Nowhere(DummyOutput):
    def get_size(self):
        return Size(rows=8, columns=30)  # what is left behind by a refresh does not go by the size; the time does

benchtext.screen = screen
sys.argv = ["truethrow", "weigh", job]
with create_pipe_input() as keys, create_app_session(input=keys, output=Nowhere()):
    try:
        main.main()
    finally:
        with open(told, "w") as file:
            json.dump([drawn, peak[warm + more] - peak[warm]], file)
"""


def test_refreshes_of_the_screen_by_the_thousand_cost_next_to_no_memory(blank, tmp_path, as_many):
    many = as_many(20_000, sample=5_000)
    told = tmp_path / "told.json"
    main_end, child_end = pty.openpty()
    done = subprocess.run(
        [sys.executable, "-c", IDLE, str(blank()), "500", str(many), str(told), str(TESTS)],
        stdin=child_end,
        stdout=child_end,
        stderr=subprocess.PIPE,
        check=False,
    )
    os.close(main_end)
    os.close(child_end)
    assert (done.returncode, done.stderr) == (0, b"")
    drawn, grown = json.loads(told.read_text(encoding="utf-8"))
    assert drawn >= 500 + many
    assert grown < many * MOST_BYTES_EACH


def test_importing_the_command_line_changes_nothing_of_the_process():
    told = (
        "import gc, os; before = dict(os.environ), gc.isenabled(), gc.get_threshold(), gc.get_freeze_count();"
        f"import {ALL_OF_IT}; from truethrow.cli.main import app;"
        "assert before == (dict(os.environ), gc.isenabled(), gc.get_threshold(), gc.get_freeze_count()), before"
    )
    subprocess.run([sys.executable, "-c", told], check=True)


@pytest.mark.parametrize("stdin", ["a pipe", "closed"])
@pytest.mark.parametrize(
    ("port", "why"), [("/dev/no-such-port", "it is not there"), ("socket://localhost:1", "the cable is out")]
)
def test_without_a_keyboard_a_port_that_does_not_open_ends_it(blank, stdin, port, why):
    close = (lambda: os.close(0)) if stdin == "closed" else None
    done = subprocess.run(
        [*PROGRAM, "weigh", str(blank()), "--port", port, "--plain"],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=close,
    )
    assert done.returncode == 2
    assert done.stderr.startswith(f"scale: no scale at {port}: {why}")
    assert len(done.stderr.splitlines()) == 1


def test_without_a_keyboard_and_without_a_port_it_says_what_it_needs(blank):
    done = subprocess.run(
        [*PROGRAM, "weigh", str(blank())],
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=lambda: os.close(0),
    )
    assert done.returncode == 2
    assert done.stderr == (
        "standard input: is closed; allowed: a terminal, or readings piped in, a number a line\n"
    )
