"""The bench as a whole: a simulated scale on a pseudo-terminal, and readings piped in."""

from __future__ import annotations

import subprocess

import commands
import invented
import pytest
from commands import PROGRAM
from fed_scale import loop_on, seat_elsewhere
from simulated_scale import SimulatedScale
from typer.testing import CliRunner

from truethrow.balance.base.beside import log_path
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.replaying import counting, replay
from truethrow.balance.weighing.benchjob import load
from truethrow.balance.weighing.scaleline import ScaleProfile, check_profile
from truethrow.cli.main import app
from truethrow.cli.weighing import serialport
from truethrow.cli.weighing import weigh as weigh_command
from truethrow.cli.weighing.serialport import Port
from truethrow.cli.weighing.weigh import scale_profile


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


def test_a_piped_reading_of_a_part_moved_elsewhere_meanwhile_ends_it(blank):
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
    at_hand = "line 2: stopped here; what was taken is saved, at hand is: Piston weighed in 5 (goes in 2)"
    assert at_hand in " ".join(err.split())
    assert list(counting(replay(ReadingLog(log_path(path)).records).placed)) == [(1, "piston")]


@pytest.mark.parametrize("resolution", [0.01, 0.1, 2.0, 5.0])
def test_scales_of_any_step_have_a_least_load(blank, resolution):
    made = load(blank(scale={"resolution": resolution, "capacity": 9000}, limits=None))
    profile = scale_profile(made, 2 * resolution)
    assert check_profile(profile) == []
    assert profile.least_g == 5 * resolution


def run(path, text, *arguments):
    return commands.run("weigh", path, *arguments, stdin=text)


def test_readings_and_commands_piped_in(blank):
    path = blank()
    script = "538.4\n538,9\nagain\n538.8\n# a note\n18.99\nstrike ounces\n538.1\ngo 3 pin\n112.1\n"
    found = run(path, script, "--by", "AB")
    assert (found.status, found.err) == (0, "")
    assert found.out.splitlines()[-3:] == [
        f"4 of 56 weighed, in {log_path(path)}",
        "! nobody saw what the empty scale showed before 6 readings, and their ± does not count it",
        f"Next: weigh what is missing of cylinders 1-8: truethrow weigh {path}",
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
    assert "! 519.6 g below the median of the others; ounces read as grams?" in found.out


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
        (("--by", "x" * 13), "--by: 'xxxxxxxxxxxxx'; allowed: printable, at most 12 characters"),
        (("--port", "no/such", "--plain"), "scale"),
        (("--port", "/dev/null"), "--plain: is needed to weigh from a port without a screen"),
        (("--bench", "missing.toml"), "missing.toml: no such file"),
    ],
)
def test_weigh_refuses_with_a_reason(blank, arguments, said):
    found = run(blank(), "", *arguments)
    assert found.status == 2
    assert said in found.err


@pytest.mark.parametrize(("answer", "is_kept"), [("y\n", True), ("n\n", False), ("", False)])
def test_a_yes_at_the_end_puts_the_scatter_into_the_profile(tmp_path, blank, monkeypatch, answer, is_kept):
    """The session's second weighings; who says nothing has said no, and is told the command."""
    path = blank(scale={"resolution": 0.1, "repeatability": None, "rod_end_repeatability": None})
    profile = tmp_path / "bench.toml"
    profile.write_text("# mine\n[bench]\n", encoding="utf-8")
    monkeypatch.setattr(weigh_command, "_has_keyboard", lambda: True)
    typed = "538.4\nagain\n538.5\n"
    asked = iter([answer])
    monkeypatch.setattr(weigh_command, "_says_yes", lambda _: next(asked).startswith("y"))
    done = CliRunner().invoke(app, ["weigh", str(path), "--bench", str(profile)], input=typed)
    assert done.exit_code == 0, done.output
    assert ("repeatability_from = 1" in profile.read_text(encoding="utf-8")) == is_kept
    assert ("truethrow remember " in done.output) != is_kept
