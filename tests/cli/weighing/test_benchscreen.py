"""The bench's screen on a terminal: its keys, and the terminal left as it was."""

from __future__ import annotations

import asyncio
import fcntl
import os
import pty
import select
import struct
import subprocess
import termios
import time
from types import SimpleNamespace

import pytest
from commands import PROGRAM
from fed_scale import EMPTY, GOOD, ON, fed, loop_on, masses, more

from truethrow.balance.base.beside import log_path
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.cli.weighing import benchscreen
from truethrow.worksheets.words import bench_words


class Clock:
    at_s = 0.0

    def __call__(self):
        return self.at_s


def keys_of(loop):
    return benchscreen._Keys(loop, Clock())


def press(keys, key):
    """A key, and nothing after it for a moment; whether to leave."""
    keys.press(key)
    keys._now.at_s += benchscreen.ALONE_S + 1e-9
    return keys.tick()


def types(keys, line):
    """A line of a scale that types: one key right after the other, and Enter."""
    for key in line:
        keys.press(key)
        keys._now.at_s += 0.02
        assert not keys.tick()
    return keys.enter()


def test_a_letter_alone_is_a_command_and_q_leaves(blank):
    keys = keys_of(loop_on(blank()))
    assert not press(keys, "S")
    assert keys.loop.session.step.cylinder == 2
    assert press(keys, "q")


def test_a_scale_that_types_may_begin_its_line_with_the_letter_of_a_command(blank):
    """ST,+00613.4 g began with s, which passed the part over."""
    keys = keys_of(loop_on(blank()))
    assert types(keys, "ST,+00538.4 g")
    assert types(keys, "+  538.6 g")
    assert not types(keys, "US,+00538.9 g")
    assert masses(keys.loop) == {1: 538.4, 2: 538.6}


def test_after_a_line_that_was_refused_the_next_is_a_line_of_its_own(blank):
    keys = keys_of(loop_on(blank()))
    assert not types(keys, "#!? 538.4x9")
    assert keys.typed == ""
    assert "refused" in keys.loop.messages[-1]
    assert types(keys, "538.4 g")
    assert masses(keys.loop) == {1: 538.4}


def test_what_did_not_reach_the_disk_comes_before_the_next_line(blank, monkeypatch):
    keys = keys_of(loop_on(blank()))
    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", lambda _: (_ for _ in ()).throw(OSError(28, "No space left on device")))
        assert not types(keys, "538.4")
    assert not types(keys, "538.6")
    assert "NOT SAVED yet: 538.4" in keys.loop.messages[-1]
    assert keys.enter()
    assert types(keys, "538.6")
    assert masses(keys.loop) == {1: 538.4, 2: 538.6}


def test_esc_drops_what_did_not_reach_the_disk(blank, monkeypatch):
    keys = keys_of(loop_on(blank()))
    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", lambda _: (_ for _ in ()).throw(OSError(28, "No space left on device")))
        assert not types(keys, "538.4")
    keys.leave()
    assert types(keys, "538.5")
    assert keys.loop.session.step.cylinder == 2


@pytest.mark.parametrize(("key", "why"), list(bench_words.REASONS.items()))
def test_the_usual_reasons_of_a_strike_are_one_key_each(blank, key, why):
    keys = keys_of(loop_on(blank()))
    keys.loop.accept("538.4")
    press(keys, "x")
    keys.press(key)
    assert [r.why for r in keys.loop.session.log.records if r.action == "strike"] == [why]
    assert keys.loop.taken is None
    assert masses(keys.loop) == {}


class Output:
    rung = 0

    def bell(self):
        self.rung += 1

    def flush(self):
        pass


@pytest.mark.parametrize(("typed", "bell", "rung"), [("538.4", True, 1), ("abc", True, 2), ("538.4", False, 0)])
def test_it_rings_once_for_what_is_taken_and_twice_for_what_is_not(blank, monkeypatch, typed, bell, rung):
    monkeypatch.setattr(benchscreen, "BETWEEN_BELLS_S", 0.0)
    keys = keys_of(loop_on(blank(bench={"bell": bell})))
    types(keys, typed)
    application = SimpleNamespace(output=Output())
    for _ in range(2):  # once heard, it is over
        asyncio.run(benchscreen._ring(application, keys.loop))
    assert application.output.rung == rung


def test_help_comes_and_goes(blank):
    keys = keys_of(loop_on(blank()))
    press(keys, "?")
    assert keys.helping
    press(keys, "?")
    assert not keys.helping


def test_the_reading_to_strike_is_the_one_that_stood_when_x_was_pressed(blank):
    loop = loop_on(blank())
    keys = keys_of(loop)
    loop.accept("538.4")
    press(keys, "x")
    assert "cancel 538.4 of piston 1, why" in keys.asking
    loop.accept("538.6")
    for key in "wrong":
        keys.press(key)
    keys.enter()
    assert masses(loop) == {2: 538.6}


def test_while_a_reason_is_typed_the_scale_waits(blank):
    loop = fed(blank(), GOOD[:-6])
    keys = keys_of(loop)
    press(keys, "x")
    more(loop, [*EMPTY, *ON(538.8)])
    assert loop.session.done == 3
    keys.leave()
    loop.poll()
    assert masses(loop)[4] == 538.8


def test_pasted_lines_are_readings_of_their_own(blank):
    keys = benchscreen._Keys(loop_on(blank()))
    keys.paste("538.4\n538,6\n538")
    assert masses(keys.loop) == {1: 538.4, 2: 538.6}
    assert keys.typed == "538"


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
    seen = _until(main_end, b"Piston 1")
    os.write(main_end, b"538.4\r")
    seen += _until(main_end, b"taken: ")
    os.write(main_end, b"\x03")
    seen += _until(main_end, b"1 of 56 weighed")
    assert process.wait(300) == 0
    after = subprocess.run(["stty", "-g"], stdin=child_end, capture_output=True, check=True).stdout
    os.close(main_end)
    os.close(child_end)
    assert before == after
    assert seen.rfind(b"\x1b[?1049l") > seen.rfind(b"\x1b[?1049h") >= 0
    assert seen.rfind(b"\x1b[?25l") < max(seen.rfind(b"\x1b[?25h"), seen.rfind(b"\x1b[?12l\x1b[?25h"))
    assert b"\x1b[31m" not in seen
    assert b"\x1b[32m" not in seen
    assert [r.grams for r in ReadingLog(log_path(path)).records] == [538.4]


def test_at_80_by_24_few_bytes_go_over_the_line_and_none_while_nothing_happens(blank):
    path = blank(limits={"piston": 1.0})
    main_end, child_end = pty.openpty()
    fcntl.ioctl(child_end, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    process = subprocess.Popen(
        [*PROGRAM, "weigh", str(path)],
        stdin=child_end,
        stdout=child_end,
        stderr=child_end,
        env={**os.environ, "TERM": "xterm", "NO_COLOR": "1"},
    )
    try:
        _until(main_end, b"Piston 1")
        _quiet(main_end)  # while it looks at the scale ten times a second
        os.write(main_end, b"5")
        assert len(_until(main_end, b"5") + _quiet(main_end)) < 250
        os.write(main_end, b"38.4\r")
        seen = _until(main_end, b"taken: piston 1: 538.4") + _quiet(main_end)
        assert seen.count(b"\a") == 1
        assert len(seen) < 1000  # a second at 9600 baud: a letter of the large ones, and three lines
        os.write(main_end, b"abc\r")
        assert (_until(main_end, b"\a") + _quiet(main_end)).count(b"\a") == 2
        os.write(main_end, b"q")
        _until(main_end, b"1 of 56 weighed")
        assert process.wait(300) == 0
    finally:
        process.kill()
        process.wait()
        os.close(main_end)
        os.close(child_end)


def _quiet(handle, quiet_s=1.0, limit_s=300.0):
    """What a terminal gets until for so long nothing comes any more, which it must not go on for ever."""
    seen, end = b"", time.monotonic() + limit_s
    while select.select([handle], [], [], quiet_s)[0]:
        seen += os.read(handle, 65536)
        assert time.monotonic() < end, "the screen is drawn again and again"
    return seen


def _until(handle, wanted, limit_s=300.0):
    """What a terminal got until it got this."""
    seen, end = b"", time.monotonic() + limit_s
    while wanted not in seen and time.monotonic() < end:
        if select.select([handle], [], [], 0.1)[0]:
            seen += os.read(handle, 65536)
    assert wanted in seen, seen[-2000:]
    return seen


def test_over_a_slow_line_the_screen_is_drawn_no_sooner_than_the_line_takes_it():
    """At 1,200 baud a screen was half a minute behind the scale: what to put on was that of three parts ago."""
    pace = benchscreen.Pace(120.0)
    assert pace.may_draw(10.0)
    pace.draws(600, 10.0)
    assert not pace.may_draw(14.9)
    assert pace.may_draw(15.0)
    fast = benchscreen.Pace(float("inf"))
    fast.draws(100_000, 10.0)
    assert fast.may_draw(10.0 + benchscreen.DRAW_S)


def test_what_a_change_costs_is_what_differs():
    before = [("class:plain", "  1: 512.3\n"), ("class:live", "█████\n")]
    assert benchscreen._changed(before, before) == 0
    assert benchscreen._changed(before, [("class:plain", "  1: 512.4\n"), before[1]]) == 1 + benchscreen.WAY
    assert benchscreen._changed([], before) >= len("  1: 512.3\n█████\n".encode())


@pytest.mark.parametrize(("speed", "rate"), [(termios.B1200, 120.0), (termios.B38400, float("inf"))])
def test_the_terminal_tells_its_lines_rate(monkeypatch, speed, rate):
    main_end, child_end = pty.openpty()
    try:
        told = termios.tcgetattr(child_end)
        told[4] = told[5] = speed
        termios.tcsetattr(child_end, termios.TCSANOW, told)
        with os.fdopen(os.dup(child_end), "w") as terminal:
            monkeypatch.setattr("sys.stdout", terminal)
            assert benchscreen.told_rate() == rate
    finally:
        os.close(main_end)
        os.close(child_end)
