"""The bench's screen on a terminal: its keys, and the terminal left as it was."""

from __future__ import annotations

import os
import pty
import select
import subprocess
import time

from commands import PROGRAM
from fed_scale import EMPTY, GOOD, ON, fed, loop_on, masses, more

from truethrow.balance.base.beside import log_path
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.cli.weighing import benchscreen


def test_the_reading_to_strike_is_the_one_that_stood_when_x_was_pressed(blank):
    loop = loop_on(blank())
    keys = benchscreen._Keys(loop)
    loop.accept("538.4")
    keys.press("x")
    assert "strike 538.4 of piston 1, why" in keys.asking
    loop.accept("538.6")
    for key in "wrong":
        keys.press(key)
    keys.enter()
    assert masses(loop) == {2: 538.6}


def test_while_a_reason_is_typed_the_scale_waits(blank):
    loop = fed(blank(), GOOD[:-6])
    keys = benchscreen._Keys(loop)
    keys.press("x")
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


def _until(handle, wanted, limit_s=300.0):
    """What a terminal got until it got this."""
    seen, end = b"", time.monotonic() + limit_s
    while wanted not in seen and time.monotonic() < end:
        if select.select([handle], [], [], 0.1)[0]:
            seen += os.read(handle, 65536)
    assert wanted in seen, seen[-2000:]
    return seen
