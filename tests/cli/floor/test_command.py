"""The command as it is typed."""

from __future__ import annotations

import signal
import socket
import subprocess
import sys

from commands import PROGRAM, environment, run
from floor_shop import Client, blank_job

from truethrow.cli.floor.serving import THIS_COMPUTER


def free_port():
    with socket.socket() as one:
        one.bind((THIS_COMPUTER, 0))
        return one.getsockname()[1]


def test_it_serves_until_ctrl_c_with_streams_that_are_open(tmp_path):
    blank_job(tmp_path)
    port = free_port()
    command = [*PROGRAM, "floor", str(tmp_path), "--port", str(port)]
    floor = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment())
    try:
        assert floor.stdout.readline() == f"The floor of {tmp_path}: http://127.0.0.1:{port}/\n"
        assert floor.stdout.readline().startswith("Ctrl-C ends it")
        with Client(port).stream("/board/events") as heard:
            heard.next("beat")
            floor.send_signal(signal.SIGINT)
            out, err = floor.communicate(timeout=60)
        assert (floor.returncode, out, err) == (0, "The floor is closed.\n", "")
    finally:
        floor.kill()
        floor.wait()


def test_a_port_that_is_taken_is_one_line(tmp_path):
    blank_job(tmp_path)
    with socket.socket() as taken:
        taken.bind((THIS_COMPUTER, 0))
        taken.listen()
        said = run("floor", tmp_path, "--port", taken.getsockname()[1])
    assert said.status == 2
    assert len(said.err.splitlines()) == 1
    assert "is in use by another program" in said.err


def test_without_the_extra_it_says_how_to_get_it_and_no_other_command_needs_it(tmp_path):
    path = blank_job(tmp_path)
    without = (
        "import sys; sys.modules.update(starlette=None, uvicorn=None, anyio=None)\n"
        "from truethrow.cli.main import main; main()"
    )

    def asked(*words):
        done = subprocess.run(
            [sys.executable, "-c", without, *map(str, words)],
            capture_output=True,
            text=True,
            check=False,
            env=environment(),
        )
        return done.returncode, done.stdout, done.stderr

    status, _, err = asked("floor", tmp_path)
    assert (status, err) == (
        2,
        "floor: what serves the pages is not installed; get it: pip install 'truethrow[floor]'\n",
    )
    assert asked("--help")[0] == 0
    assert asked("floor", "--help")[0] == 0
    assert asked("next", path)[0] == 0
    assert asked("hang", path)[0] == 2
