"""The bench as a whole: a simulated scale on a pseudo-terminal, the screen as text, and readings piped in."""

from __future__ import annotations

import os
import pty
import select
import subprocess
import sys
import time

import invented
import pytest
from simulated_scale import SimulatedScale

from truethrow.balance.benchjob import load
from truethrow.balance.beside import log_path
from truethrow.balance.readinglog import ReadingLog, current
from truethrow.balance.scalefeed import Profile
from truethrow.balance.session import Session
from truethrow.cli import benchtext
from truethrow.cli.benchloop import BenchLoop
from truethrow.cli.serialport import Port

PROGRAM = [sys.executable, "-c", "from truethrow.cli.main import main; main()"]


@pytest.fixture
def blank(tmp_path):
    def make(**tables):
        data = {name: table for name, table in invented.document(**tables).items() if name != "cylinder"}
        path = tmp_path / "job.toml"
        path.write_text(invented.text(data), encoding="utf-8")
        return path

    return make


def loop_on(path, port=None, profile=None):
    return BenchLoop(Session(load(path), ReadingLog(log_path(path), "bench-1")), profile or Profile(), port)


def test_eighty_readings_go_in_from_the_scale_without_a_key(blank):
    """A V10 with its rods also in one go: 80 loads at 10 lines a second, the clock sped up 18 times."""
    engine = dict(invented.V8, layout="v10-72")
    path = blank(engine=engine, bench={"rod_total": True})
    steps = load(path).steps
    assert len(steps) == 80
    loads = [round({**invented.PARTS, "rod_total": 623.5}[s.kind] + (s.cylinder % 3) / 10, 1) for s in steps]
    speed = 18.0
    scale = SimulatedScale(loads, lines_per_s=10, speed=speed, seed=7, wait_for_lift=True)
    profile = Profile(port=scale.port, settle_s=0.5 / speed, capacity_g=3000)
    with Port(profile) as port, scale:
        loop = loop_on(path, port, profile)
        seen, limit = None, time.monotonic() + 60
        while loop.session.step is not None and time.monotonic() < limit:
            loop.poll(0.02)
            if loop.held is not None:
                loop.enter()
            if loop.taken is not seen:
                seen = loop.taken
                scale.lift()
    found = current(ReadingLog(log_path(path)).records)
    assert {place: [r.grams for r in records] for place, records in found.items()} == {
        (s.cylinder, s.kind): [pytest.approx(grams, abs=0.1001)] for s, grams in zip(steps, loads, strict=True)
    }


class FedPort:
    """A port whose lines a test gives it."""

    def __init__(self, lines):
        self.lines = [(i * 0.1, line) for i, line in enumerate(lines)]

    def get(self, wait_s=0.0):
        return self.lines.pop(0) if self.lines else None


def fed(path, lines):
    loop = loop_on(path, FedPort(lines))
    loop.poll()
    return loop


EMPTY, ON = ["0.0 g"] * 6, lambda grams: [f"{grams} g"] * 9


def test_a_reading_that_looks_wrong_is_taken_with_its_flag_and_the_list_goes_on(blank):
    loop = fed(
        blank(),
        [*EMPTY, *ON(538.4), *EMPTY, *ON(538.6), *EMPTY, *ON(538.2), *EMPTY, *ON(538.5), *EMPTY, *ON(545.0)],
    )
    assert loop.session.done == 5
    assert "6.5 g above the median of its sisters" in loop.flags[0]
    assert "! 6.5 g above" in "\n".join(text for _, text in benchtext.screen(loop, "", "", 80, 24))


def test_another_part_than_the_one_asked_for_waits_for_enter(blank):
    path = blank()
    loop = fed(path, [*EMPTY, *ON(538.4), *EMPTY, *ON(538.6), *EMPTY, *ON(538.2), *EMPTY, *ON(18.9)])
    assert loop.session.done == 3
    assert "ounces read as grams?" in loop.flags[0]
    assert loop.enter()
    assert loop.session.done == 4


def test_lifting_a_doubtful_load_off_takes_nothing(blank):
    good = [*EMPTY, *ON(538.4), *EMPTY, *ON(538.6), *EMPTY, *ON(538.2), *EMPTY]
    loop = fed(blank(), [*good, *ON(18.9), *EMPTY, *ON(538.5)])
    assert [s.mean_g for s in loop.session.sisters("piston")] == [538.4, 538.6, 538.2, 538.5]


def test_a_repeat_is_taken_without_lifting(blank):
    loop = fed(blank(), [*EMPTY, *ON(538.4)])
    loop.again()
    loop.port.lines = [(10 + i * 0.1, "538.5 g") for i in range(9)]
    loop.poll()
    assert [(s.cylinder, s.repeats) for s in loop.session.sisters("piston")] == [(1, 2)]


def test_troubles_are_told_and_the_bench_goes_on(blank):
    loop = fed(blank(), ["#!?", "12 stone", "OL", *EMPTY, *ON(538.4)])
    assert loop.session.done == 1
    assert len(loop.messages) >= 2


def test_zero_is_taken_by_the_empty_scale(blank):
    loop = fed(blank(bench={"reference": 500.0}), [*EMPTY, *ON(500.0)])
    assert [(r.action, r.kind, r.grams) for r in loop.session.log.records] == [
        ("zero", "start", 0.0),
        ("reference", "start", 500.0),
    ]


@pytest.mark.parametrize(("width", "height"), [(80, 24), (200, 50), (40, 12)])
def test_the_screen_fits_and_says_what_is_next(blank, width, height):
    loop = fed(blank(limits={"piston": 1.0}), [*EMPTY, *ON(538.4), *EMPTY, *ON(540.6), *EMPTY, "538.1 g"])
    lines = benchtext.screen(loop, "53", "", width, height)
    assert len(lines) == height
    assert all(len(text) <= width for _, text in lines)
    text = "\n".join(text for _, text in lines)
    assert "Cylinder 3: piston" in text
    assert "2 of 56" in text
    assert "number> 53_" in text
    if height >= 24:
        assert "spread 2.2 g, limit 1 g: outside" in text
        assert "moving" in text


def test_big_figures_tell_every_digit_apart():
    drawn = {digit: tuple(benchtext.big(digit)) for digit in "0123456789.-"}
    assert len(set(drawn.values())) == 12
    assert benchtext.big("1.7", "#")[4] == "#####  ##    #  "


def run(path, text, *arguments):
    return subprocess.run(
        [*PROGRAM, "weigh", str(path), *arguments], input=text, capture_output=True, text=True, check=False
    )


def test_readings_and_commands_piped_in(blank):
    path = blank()
    script = "538.4\n538,9\nagain\n538.8\n# a note\n18.99\nstrike ounces\n538.1\ngo 3 pin\n112.1\n"
    found = run(path, script, "--by", "AB")
    assert (found.returncode, found.stderr) == (0, "")
    assert found.stdout.splitlines()[-1] == f"4 of 56 weighed, in {log_path(path)}"
    records = ReadingLog(log_path(path)).records
    assert [r.typed for r in records if r.action == "read"] == [
        "538.4",
        "538,9",
        "538.8",
        "18.99",
        "538.1",
        "112.1",
    ]
    assert {r.by for r in records} == {"AB"}
    assert "! 519.6 g below the median of its sisters; ounces read as grams?" in found.stdout


def test_refused_lines_are_named_and_the_rest_is_saved(blank):
    path = blank()
    found = run(path, "538.4\nabc\n538.6\ngo 9 pin\n")
    assert found.returncode == 2
    assert "line 2: refused: 'abc' is not a number" in found.stdout
    assert "line 4: cylinder 9, pin: is not weighed on this job" in found.stdout
    assert len(ReadingLog(log_path(path)).records) == 2


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--by", "x" * 13), "--by: does not do"),
        (("--port", "no/such"), "scale"),
        (("--bench", "missing.toml"), "missing.toml: no such file"),
    ],
)
def test_weigh_refuses_with_a_reason(blank, arguments, said):
    found = run(blank(), "", *arguments)
    assert found.returncode == 2
    assert said in found.stderr


def test_the_full_screen_leaves_the_terminal_as_it_was(blank):
    """On a pseudo-terminal: a reading typed, Ctrl-C; the alternate screen is left, the cursor is shown, echo is
    on, and the reading is saved."""
    path = blank()
    main_end, child_end = pty.openpty()
    before = subprocess.run(["stty", "-g"], stdin=child_end, capture_output=True, check=True).stdout
    process = subprocess.Popen(
        [*PROGRAM, "weigh", str(path)],
        stdin=child_end,
        stdout=child_end,
        stderr=child_end,
        env={**os.environ, "TERM": "xterm", "NO_COLOR": "1"},
    )
    seen = _until(main_end, b"Cylinder 1: piston")
    os.write(main_end, b"538.4\r")
    seen += _until(main_end, b"taken: ")
    os.write(main_end, b"\x03")
    seen += _until(main_end, b"1 of 56 weighed")
    assert process.wait(10) == 0
    after = subprocess.run(["stty", "-g"], stdin=child_end, capture_output=True, check=True).stdout
    os.close(main_end)
    os.close(child_end)
    assert before == after
    assert seen.rfind(b"\x1b[?1049l") > seen.rfind(b"\x1b[?1049h") >= 0
    assert seen.rfind(b"\x1b[?25l") < max(seen.rfind(b"\x1b[?25h"), seen.rfind(b"\x1b[?12l\x1b[?25h"))
    assert b"\x1b[31m" not in seen
    assert b"\x1b[32m" not in seen
    assert [r.grams for r in ReadingLog(log_path(path)).records] == [538.4]


def _until(handle, wanted, limit_s=15.0):
    """What a terminal got until it got this."""
    seen, end = b"", time.monotonic() + limit_s
    while wanted not in seen and time.monotonic() < end:
        if select.select([handle], [], [], 0.1)[0]:
            seen += os.read(handle, 65536)
    assert wanted in seen, seen[-2000:]
    return seen
