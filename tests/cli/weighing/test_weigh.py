"""The bench as a whole: a simulated scale on a pseudo-terminal, the screen as text, and readings piped in."""

from __future__ import annotations

import os
import pty
import select
import subprocess
import time

import commands
import invented
import pytest
from commands import PROGRAM
from simulated_scale import SimulatedScale

from truethrow.balance.base.beside import log_path
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.replaying import counting, replay
from truethrow.balance.weighing.benchjob import load
from truethrow.balance.weighing.scaleline import ScaleProfile, Trouble, check_profile
from truethrow.balance.weighing.session import Session
from truethrow.cli.weighing import benchloop, benchscreen, benchtext, serialport
from truethrow.cli.weighing.benchloop import BenchLoop
from truethrow.cli.weighing.serialport import Port
from truethrow.cli.weighing.weigh import _profile


def loop_on(path, port=None, profile=None, **clock):
    session = Session(load(path), ReadingLog(log_path(path), "bench-1"))
    return BenchLoop(session, profile or ScaleProfile(), port, **clock)


def test_eighty_readings_go_in_from_the_scale_without_a_key(blank, monkeypatch):
    """A V10 with its rods also in one go: 80 loads at 10 lines a second, by the scale's own clock."""
    monkeypatch.setattr(serialport, "POLL_S", 0.001)
    engine = dict(invented.V8, layout="v10-72")
    path = blank(engine=engine, bench={"rod_total": True})
    steps = load(path).steps
    assert len(steps) == 80
    loads = [round({**invented.PARTS, "rod_total": 623.5}[s.kind] + (s.cylinder % 3) / 10, 1) for s in steps]
    with SimulatedScale(loads, lines_per_s=10, seed=7, wait_for_lift=True) as scale:
        profile = ScaleProfile(port=scale.port, settle_s=0.5, capacity_g=3000)
        with Port(profile, scale.now) as port:
            loop, seen = loop_on(path, port, profile, now=scale.now), None
            for _ in scale.played(port):
                loop.poll()
                assert loop.standing not in ("held", "unsaved", "early")
                if loop.taken is not seen:
                    seen = loop.taken
                    scale.lift()
    found = counting(replay(ReadingLog(log_path(path)).records).placed)
    assert {place: [r.grams for r in records] for place, records in found.items()} == {
        (s.cylinder, s.kind): [pytest.approx(grams, abs=0.1001)] for s, grams in zip(steps, loads, strict=True)
    }


class FedPort:
    """A port whose lines a test gives it, ten a second, with the bench's clock, which is that of the lines."""

    def __init__(self, lines):
        self.at_s = 0.0
        self.lines = []
        self.send(lines)

    def send(self, lines, after_s=0.1):
        start_s = self.at_s + after_s
        self.lines += [(start_s + i * 0.1, line) for i, line in enumerate(lines)]

    def now(self):
        return self.at_s

    def get(self, wait_s=0.0):
        if not self.lines:
            return None
        self.at_s = self.lines[0][0]
        return self.lines.pop(0)


def fed(path, lines, auto=True, path_name=""):
    if path_name:
        other = path.with_name(path_name)
        other.write_text(path.read_text(encoding="utf-8"), encoding="utf-8")
        path = other
    port = FedPort(lines)
    loop = loop_on(path, port, ScaleProfile(auto=auto), now=port.now)
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


GOOD = [*EMPTY, *ON(538.4), *EMPTY, *ON(538.6), *EMPTY, *ON(538.2), *EMPTY]


def more(loop, lines, after_s=0.1):
    """Further lines of the scale, so much later."""
    loop.port.send(lines, after_s)
    loop.poll()


def masses(loop, kind="piston"):
    return {s.cylinder: s.mean_g for s in loop.session.now.sisters(kind)}


def test_another_part_than_the_one_asked_for_waits_for_enter(blank):
    loop = fed(blank(), [*GOOD, *ON(18.9)])
    assert (loop.session.done, loop.standing) == (3, "held")
    assert "ounces read as grams?" in loop.flags[0]
    assert "NOT TAKEN" in shown_by(loop)
    assert "taken, lift it off" not in shown_by(loop)
    assert loop.enter()
    assert masses(loop)[4] == 18.9


def shown_by(loop):
    return "\n".join(text for _, text in benchtext.screen(loop, "", "", 80, 24))


def test_a_flag_stays_until_the_next_thing_is_done(blank):
    loop = fed(blank(), [*GOOD, *ON(18.9)])
    for _ in range(3):
        loop.port.at_s += 1.01 * benchloop.REFRESH_S
        loop.port.lines = [(loop.port.at_s, line) for line in ON(18.9)]
        loop.poll()
    assert loop.flags
    assert loop.standing == "held"


def test_lifting_a_doubtful_load_off_takes_nothing_and_says_so(blank):
    loop = fed(blank(), [*GOOD, *ON(18.9), *EMPTY])
    assert any("NOT taken: piston 4 is still to be weighed" in said for said in loop.messages)
    more(loop, ON(538.5))
    assert masses(loop) == {1: 538.4, 2: 538.6, 3: 538.2, 4: 538.5}


def test_a_doubtful_load_seated_anew_is_weighed_anew(blank):
    """What is on the screen is what Enter takes, never what was there before."""
    loop = fed(blank(), [*GOOD, *ON(18.9), *ON(538.3), *ON(538.3)])
    assert masses(loop)[4] == 538.3


def test_enter_does_not_take_a_load_twice(blank):
    loop = fed(blank(), GOOD[:-6])
    assert loop.session.done == 3
    assert not loop.enter()
    assert loop.session.done == 3
    assert "this load is taken" in loop.messages[-1]
    by_hand = fed(blank(), [*EMPTY, *ON(538.4)], auto=False, path_name="hand.toml")
    assert [by_hand.enter(), by_hand.enter()] == [True, False]
    assert masses(by_hand) == {1: 538.4}


@pytest.mark.parametrize("trouble", ["  OL  g", "#!?", "19.0 oz"])
def test_a_stale_number_is_not_taken(blank, trouble):
    loop = fed(blank(), [*EMPTY, *ON(538.4), trouble], auto=False)
    assert loop.live is None
    assert not loop.enter()
    assert loop.session.done == 0


def test_a_silent_scale_shows_nothing_and_says_so(blank):
    loop = fed(blank(), [*EMPTY, *ON(538.4)], auto=False)
    loop.port.at_s += 0.99 * benchloop.SILENT_S
    loop.poll()
    assert loop.live is not None
    loop.port.at_s += 0.02 * benchloop.SILENT_S
    loop.poll()
    assert loop.live is None
    assert loop.messages[-1] == "the scale is silent"


def test_a_strike_does_not_weigh_what_still_lies_there(blank):
    loop = fed(blank(), GOOD[:-6])
    target = loop.target()
    assert not loop.strike(target, " ")
    more(loop, ON(538.2))
    assert loop.session.done == 3
    assert loop.strike(target, "wrong rod")
    more(loop, ON(538.2))
    assert loop.session.done == 2
    more(loop, [*EMPTY, *ON(538.9)])
    assert masses(loop)[3] == 538.9


def test_a_load_that_lay_there_at_the_start_is_not_taken(blank):
    path = blank()
    fed(path, GOOD[:-6])
    again = fed(path, ON(538.2))
    assert (again.session.done, again.standing) == (3, "early")
    assert not again.enter()
    assert "tare it" in shown_by(again)
    more(again, [*EMPTY, *ON(538.7)])
    assert masses(again)[4] == 538.7


def test_a_part_swapped_while_the_cable_was_out_waits_until_the_scale_is_seen_empty(blank):
    loop = fed(blank(), [*EMPTY, *ON(538.4)])
    more(loop, [Trouble("cable", "the cable is out"), *ON(539.0), *ON(539.0)])
    assert (masses(loop), loop.standing) == ({1: 538.4}, "early")
    more(loop, [*EMPTY, *ON(539.0)])
    assert masses(loop) == {1: 538.4, 2: 539.0}


def test_what_is_not_saved_is_not_called_taken(blank, monkeypatch):
    loop = fed(blank(), EMPTY)
    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", lambda _: (_ for _ in ()).throw(OSError(28, "No space left on device")))
        more(loop, ON(538.4))
        assert loop.standing == "unsaved"
        assert "NOT SAVED: leave it on" in shown_by(loop)
        assert "taken, lift it off" not in shown_by(loop)
    assert loop.enter()
    assert [r.grams for r in ReadingLog(loop.session.log.path).records if r.action == "read"] == [538.4]


def test_the_step_stays_under_busy_hands_when_another_bench_weighs(blank):
    path = blank()
    west, east = loop_on(path), loop_on(path)
    west.typing = True
    east.accept("538.4")
    west._refresh()
    assert west.session.step.cylinder == 1
    assert "was weighed by bench-1; here it would be a repeat" in west.messages[-1]
    west.typing = False
    east.accept("538.5")
    west._refresh()
    assert west.session.step.cylinder == 3


def seat_elsewhere(path):
    ReadingLog(log_path(path)).append("seat", typed="piston 2>5 5>2", of="p")


def test_a_part_seated_elsewhere_meanwhile_is_said_and_its_reading_refused_once(blank):
    path = blank()
    loop = loop_on(path)
    assert loop.accept("538.4")
    seat_elsewhere(path)
    loop._refresh()
    loop._refresh()
    assert ["piston weighed in 5 (goes in 2) is asked for now" in said for said in loop.messages] == [True]
    assert not loop.accept("538.9")
    assert loop.messages[-1].startswith("refused: parts have traded places")
    assert loop.accept("538.9")
    assert masses(loop) == {1: 538.4, 2: 538.9}


def test_a_load_of_a_part_seated_elsewhere_meanwhile_is_not_taken_by_itself(blank):
    path = blank()
    loop = fed(path, [*EMPTY, *ON(538.4), *EMPTY])
    seat_elsewhere(path)
    more(loop, ON(538.9))
    assert (loop.standing, masses(loop)) == ("held", {1: 538.4})
    assert "parts have traded places" in loop.messages[-1]
    more(loop, EMPTY)
    assert "piston weighed in 5 (goes in 2) is still to be weighed" in loop.messages[-1]
    more(loop, ON(538.6))
    assert masses(loop) == {1: 538.4, 2: 538.6}


def test_a_piped_reading_of_a_part_seated_elsewhere_meanwhile_ends_it(blank):
    path = blank()
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE}
    with subprocess.Popen([*PROGRAM, "weigh", str(path)], text=True, **pipes) as weighing:
        weighing.stdin.write("538.4\n")
        weighing.stdin.flush()
        assert weighing.stdout.readline() == "taken: piston 1: 538.4\n"
        seat_elsewhere(path)
        out, err = weighing.communicate("538.9\n")
    assert weighing.returncode == 2
    assert "line 2: refused: parts have traded places: piston weighed in 5 (goes in 2) is asked for now" in out
    assert "line 2: stopped here; what was taken is saved, at hand is: Piston weighed in 5 (goes in 2)" in err
    assert list(counting(replay(ReadingLog(log_path(path)).records).placed)) == [(1, "piston")]


def test_a_strike_is_of_this_sessions_own_reading(blank):
    path = blank()
    one, other = loop_on(path), loop_on(path)
    one.accept("538.4")
    other._refresh()
    other.accept("538.6")
    one._refresh()
    assert one.target().grams == 538.4


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


def test_a_repeat_is_taken_without_lifting(blank):
    loop = fed(blank(), [*EMPTY, *ON(538.4)])
    assert loop.again()
    more(loop, ON(538.5))
    assert [(s.cylinder, s.repeats) for s in loop.session.now.sisters("piston")] == [(1, 2)]


def test_troubles_are_told_and_the_bench_goes_on(blank):
    loop = fed(blank(), ["#!?", "12 stone", "OL"])
    assert len(loop.messages) >= 2
    more(loop, [*EMPTY, *ON(538.4)])
    assert loop.session.done == 1


@pytest.mark.parametrize("auto", [True, False])
def test_zero_is_taken_of_the_empty_scale_only(blank, auto):
    loop = fed(blank(bench={"reference": 500.0}), ON(500.0), auto=auto)
    assert not loop.enter()
    more(loop, [*EMPTY, *EMPTY])
    if not auto:
        assert loop.enter()
    more(loop, ON(500.0))
    if not auto:
        assert loop.enter()
    assert [(r.action, r.kind, r.grams) for r in loop.session.log.records] == [
        ("zero", "start", 0.0),
        ("reference", "start", 500.0),
    ]


@pytest.mark.parametrize("resolution", [0.01, 0.1, 2.0, 5.0])
def test_scales_of_any_step_have_a_least_load(blank, resolution):
    made = load(blank(scale={"resolution": resolution, "capacity": 9000}, limits=None))
    profile = _profile(made, 2 * resolution)
    assert check_profile(profile) == []
    assert profile.least_g == 5 * resolution


@pytest.mark.parametrize(("width", "height"), [(80, 24), (200, 50), (40, 12)])
def test_the_screen_fits_and_says_what_is_next(blank, width, height):
    loop = fed(blank(limits={"piston": 1.0}), [*EMPTY, *ON(538.4), *EMPTY, *ON(540.6), *EMPTY, "538.1 g"])
    lines = benchtext.screen(loop, "53", "", width, height)
    assert len(lines) == height
    assert all(len(text) <= width for _, text in lines)
    text = "\n".join(text for _, text in lines)
    assert "Piston 3" in text
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
    return commands.run("weigh", path, *arguments, stdin=text)


def test_readings_and_commands_piped_in(blank):
    path = blank()
    script = "538.4\n538,9\nagain\n538.8\n# a note\n18.99\nstrike ounces\n538.1\ngo 3 pin\n112.1\n"
    found = run(path, script, "--by", "AB")
    assert (found.status, found.err) == (0, "")
    assert found.out.splitlines()[-2:] == [
        f"4 of 56 weighed, in {log_path(path)}",
        "! nobody saw what the empty scale showed before 6 readings, and their ± does not count it",
    ]
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
    assert "! 519.6 g below the median of its sisters; ounces read as grams?" in found.out


def test_a_refused_line_ends_it_before_others_land_on_the_wrong_part(blank):
    path = blank()
    found = run(path, "\ufeff538.4\nabc\n538.6\n")
    assert found.status == 2
    assert "line 2: refused: 'abc' is not a number" in found.out
    assert "line 2: stopped here; what was taken is saved, at hand is: Piston 2" in found.err
    assert [r.grams for r in ReadingLog(log_path(path)).records] == [538.4]


@pytest.mark.parametrize("line", ["go 9 pin", "go ² pin", "go", "strike", "back", "9" * 100])
def test_commands_that_make_no_sense_are_refused(blank, line):
    found = run(blank(), f"{line}\n")
    assert (found.status, "Traceback" in found.err) == (2, False)
    assert "line 1: refused" in found.out


def test_notes_on_a_damaged_log_are_told(blank):
    path = blank()
    run(path, "538.4\n538.5\n")
    with log_path(path).open("a", encoding="utf-8") as log:
        log.write('{"id": "torn')
    found = run(path, "")
    assert "! " in found.out
    assert "2 of 56 weighed" in found.out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--by", "x" * 13), "--by: does not do"),
        (("--port", "no/such", "--plain"), "scale"),
        (("--port", "/dev/null"), "--plain: is needed to weigh from a port without a screen"),
        (("--bench", "missing.toml"), "missing.toml: no such file"),
    ],
)
def test_weigh_refuses_with_a_reason(blank, arguments, said):
    found = run(blank(), "", *arguments)
    assert found.status == 2
    assert said in found.err


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
