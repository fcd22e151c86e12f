"""The command as it is typed."""

from __future__ import annotations

import re
import shutil
import signal
import socket
import ssl
import stat
import subprocess
import sys

import pytest
from commands import PROGRAM, environment, run
from floor_shop import Client, blank_job

from truethrow.balance.base.errors import BadInput
from truethrow.cli.floor import command, serving
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


@pytest.mark.skipif(shutil.which("openssl") is None, reason="no openssl to make a certificate with")
def test_with_lan_the_owner_comes_in_by_the_address_that_the_terminal_shows(tmp_path):
    """And with a certificate all of it is encrypted, with a cookie that goes nowhere else."""
    blank_job(tmp_path)
    port, name = free_port(), tmp_path / "shop"
    making = "openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -days 1 -subj /CN=shop"
    files = ["-keyout", f"{name}.key", "-out", f"{name}.pem"]
    subprocess.run([*making.split(), *files], check=True, capture_output=True)
    command = [*PROGRAM, "floor", str(tmp_path), "--port", str(port), "--lan", "--address", THIS_COMPUTER]
    command += ["--certificate", f"{name}.pem", "--key", f"{name}.key"]
    own = environment(XDG_DATA_HOME=str(tmp_path / "data"))
    floor = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=own)
    try:
        told = [floor.stdout.readline() for _ in range(3)]
        code = re.search(rf"https://127\.0\.0\.1:{port}/pair\?code=(\w+)", told[1])[1]
        client = Client(port)
        client.secure = ssl._create_unverified_context()
        assert client.get("/")[0] == 403
        status, headers, _ = client.send("/pair", code=code, initials="AB")
        assert status == 303
        assert headers["set-cookie"].startswith("__Host-truethrow-floor=")
        assert headers["set-cookie"].endswith("; HttpOnly; SameSite=Strict; Secure")
        client.headers["Cookie"] = headers["set-cookie"].partition(";")[0]
        assert client.get("/devices")[0] == 200
        kept = tmp_path / "data" / "truethrow" / "floor-devices.json"
        assert stat.S_IMODE(kept.stat().st_mode) == 0o600
        floor.send_signal(signal.SIGINT)
        out, err = floor.communicate(timeout=60)
        assert (floor.returncode, err) == (0, "")
        assert "as bench" in told[2]
        assert "read along" not in out
    finally:
        floor.kill()
        floor.wait()


def test_an_empty_address_is_refused_before_anything_listens(monkeypatch):
    def listens(address, port):
        raise AssertionError(f"it listens at {address!r}")

    monkeypatch.setattr(serving, "listening", listens)
    for empty in ("", "  ", "\t"):
        with pytest.raises(BadInput, match="--address: is empty"):
            command.floor(lan=True, address=empty)


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["--demo", "--scale", "/dev/ttyUSB0"], "--demo: has a scale of its own"),
        (["--address", "127.0.0.1"], "--address: is for --lan"),
        (["--certificate", "a.pem"], "--certificate: needs --key"),
        (["--lan", "--address", "192.0.2.1"], "--address: '192.0.2.1' is no address of this computer"),
        (["--lan", "--address", ""], "--address: is empty; allowed: an address of this computer"),
        (["--lan", "--address", " "], "--address: is empty; allowed: an address of this computer"),
        (["--address", ""], "--address: is empty; allowed: an address of this computer"),
        (["gone"], "gone: no such folder or job file"),
    ],
)
def test_options_that_cannot_be_are_one_line(tmp_path, words, why):
    blank_job(tmp_path)
    said = run("floor", *words, "--port", free_port(), folder=tmp_path)
    assert (said.status, said.out) == (2, "")
    assert said.err.startswith(why)
    assert len(said.err.splitlines()) == 1


@pytest.mark.parametrize("name", ["six-weigh.csv", "notes.toml", "broken.toml"])
def test_a_file_that_is_no_job_is_not_served(tmp_path, name):
    text = {"six-weigh.csv": "part,g\npiston 1,538.4\n", "notes.toml": 'note = "none"\n', "broken.toml": "[job\n"}
    (tmp_path / name).write_text(text[name], encoding="utf-8")
    said = run("floor", name, "--port", free_port(), folder=tmp_path)
    assert (said.status, said.out) == (2, "")
    assert said.err.startswith(name)


def test_the_demo_runs_with_one_command(tmp_path):
    """The live figure moves, and the first part is taken by itself."""
    port = free_port()
    command = [*PROGRAM, "floor", "--demo", "--port", str(port)]
    floor = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment(), cwd=tmp_path)
    try:
        assert floor.stdout.readline() == f"The floor of truethrow-floor-demo: http://127.0.0.1:{port}/\n"
        page = Client(port)
        with page.stream("/bench/launch/events") as heard:
            shown = {"texts": set()}

            def is_seen(data):
                """A page in front gives a sign of life with what it shows; without one nothing is taken."""
                shown.update(data)
                shown["texts"].add(data.get("text"))
                assert page.post("/bench/launch/alive", {"step": shown["step_id"]})[0] == 204
                return shown["taken"] == "taken: piston 1: 538.1 g"

            heard.until(is_seen, "state", "live")
            assert "538.1" in shown["texts"]
    finally:
        floor.kill()
        floor.wait()
        floor.stdout.close()
