"""The command line, as whole processes: faults, a wrong use, and standard output that is full or gone."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import invented
import pytest
import typer.main
from commands import PROGRAM, environment
from typer.testing import CliRunner

from truethrow.cli.main import BY_USER, app


def test_bad_input_is_a_line_a_fault_and_the_same_in_json(run, tmp_path):
    path = tmp_path / "bad.toml"
    path.write_text(invented.text(invented.document(bobweight={"share": 2}, limits={"pistn": 1}, parts=[])))
    status, out, err = run("work", path, "--json")
    faults = json.loads(out)["faults"]
    assert status == 2
    assert err.splitlines() == faults
    assert len(faults) == 2 + 1
    assert faults[-1] == f"{path}: missing: all parts of cylinders 1-8; weigh them: truethrow weigh {path}"
    assert all(line.startswith(f"{path}: ") for line in faults)
    assert run("work", path)[:2] == (2, "")


def test_what_cannot_be_saved_is_told_in_json_too(run, sound):
    status, out, err = run("work", sound, "--json", "--out", "gone/sheet.csv")
    assert status == 2
    assert json.loads(out)["faults"] == err.splitlines()
    assert "no such folder; nothing was written" in err


@pytest.mark.parametrize(
    "args",
    [("wrok",), ("work",), ("work", "a", "--shwo", "inch")],
)
def test_a_wrong_use_is_status_2_and_says_so(run, args):
    status, out, err = run(*args)
    assert (status, out) == (2, "")
    assert "Usage: " in err


@pytest.mark.parametrize(
    "command",
    ["", "work", "hang", "check", "trim", "send", "compare", "new", "enter", "layouts", "demo", "shelf"],
)
def test_every_command_explains_itself_with_an_example(command):
    told = CliRunner().invoke(app, [*filter(None, [command]), "--help"])
    assert told.exit_code == 0
    assert f"truethrow {command}".strip() in told.stdout


def test_a_reader_that_leaves_early_is_no_fault_of_the_input(launch, tmp_path):
    job_path, sheet = launch
    command = " ".join(f"'{part}'" for part in [*PROGRAM, "work", str(job_path), "-s", str(sheet)])
    done = subprocess.run(
        ["bash", "-c", f"{command} | head -1"], capture_output=True, cwd=tmp_path, env=environment(), check=False
    )
    assert done.stdout.startswith(b"Job launch-7")
    assert b"Traceback" not in done.stderr


def test_a_full_standard_output_is_no_verdict(sound, tmp_path):
    with Path("/dev/full").open("w") as full:
        run = subprocess.run(
            [*PROGRAM, "hang", str(sound)],
            stdout=full,
            stderr=subprocess.PIPE,
            cwd=tmp_path,
            text=True,
            check=False,
        )
    assert (run.returncode, run.stderr) == (2, "standard output: no space left on device\n")


def test_a_screenful_of_faults_is_enough(run, tmp_path, sound):
    rows = "\n".join(["cylinder;piston", *(f"{100 + n};538" for n in range(300))])
    (tmp_path / "many.csv").write_text(rows, encoding="utf-8")
    status, _, err = run("check", sound, "--sheet", "many.csv")
    assert status == 2
    assert len(err.splitlines()) == 20
    assert err.splitlines()[-1] == "… and 281 more; mend these first"


def test_one_slip_in_three_hundred_rows_is_one_line(run, tmp_path, sound):
    (tmp_path / "many.csv").write_text("\n".join(["cylinder;piston", *["1;538"] * 300]), encoding="utf-8")
    err = run("check", sound, "--sheet", "many.csv").err
    assert "row 10, cylinder and 291 more: 1 is in row 2, too" in err
    assert len(err.splitlines()) < 5


def test_version(run):
    status, out, _ = run("--version")
    assert (status, bool(re.fullmatch(r"truethrow \d+\.\d+\.\d+\n", out))) == (0, True)


@pytest.mark.parametrize(
    ("words", "offered"), [("truethrow sha", "shake\nshare"), ("truethrow book sto", "stock")]
)
def test_a_shell_is_offered_all_that_a_word_can_become(run, words, offered):
    """Although only the command that is asked for is made."""
    asking = {"_TRUETHROW_COMPLETE": "complete_bash", "COMP_WORDS": words, "COMP_CWORD": str(words.count(" "))}
    assert run(**asking).out.split() == offered.split()


def test_a_name_that_is_nearly_a_commands_is_told_that_command(run):
    assert "Did you mean 'work'?" in run("wrok", "launch.toml").err


def test_the_help_lists_every_command_once_below_who_uses_it(run):
    told = run("--help")[1].partition("\n\nAt the bench:")
    lines = "".join(told[1:]).strip().splitlines()
    listed = [line.split()[0] for line in lines if line.startswith("  ")]
    assert sorted(listed) == sorted(typer.main.get_command(app).commands)
    assert [line for line in lines if line and line[0] != " "] == [f"{heading}:" for heading in BY_USER]


def test_a_command_of_the_bench_loads_no_solver_and_no_other_benchs_commands(launch, tmp_path):
    """Its last line tells what comes next, which needs neither while no crank was spun."""
    job_path, sheet = launch
    code = (
        "import sys; from truethrow.cli.main import main\n"
        "try: main()\n"
        "finally: print(*sys.modules, file=sys.stderr)"
    )
    command = [sys.executable, "-c", code, "hang", str(job_path), "-s", str(sheet)]
    done = subprocess.run(command, capture_output=True, text=True, cwd=tmp_path, env=environment(), check=False)
    loaded = set(done.stderr.split())
    assert "Next: " in done.stdout and "truethrow.cli.builder.building" in loaded
    assert not loaded & {"numpy", "highspy", "pint", "tomlkit", "sqlalchemy", "truethrow.cli.why.why"}
