"""The command line, a process a command: what is printed, what is written, and the exit status."""

from __future__ import annotations

import csv
import io
import json
import os
import pty
import re
import subprocess
from pathlib import Path

import commands
import invented
import pytest
from commands import PROGRAM
from typer.testing import CliRunner

from truethrow.balance import demo
from truethrow.balance.base import files
from truethrow.balance.engine.layout import GENERIC
from truethrow.balance.job import job
from truethrow.balance.result.work import work
from truethrow.cli.main import app
from truethrow.worksheets.data import station_sheet

ENVIRONMENT = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "FORCE_COLOR", "COLUMNS")}
COLOUR = re.compile(r"\x1b\[[0-9;]*3[0-7][0-9;]*m")
BOXES = re.compile("[\u2500-\u257f]")


@pytest.fixture
def run(tmp_path):
    """Run a command in an empty folder: status, standard output, standard error."""

    def ran(*args, stdin: str | bytes = "", **more):
        return commands.run(*args, stdin=stdin, folder=tmp_path, environment=ENVIRONMENT | more)

    return ran


@pytest.fixture
def launch(tmp_path):
    """The demo's files; its engine is outside its limits."""
    return demo.copy_into(tmp_path)


@pytest.fixture
def sound(tmp_path):
    """A job of like parts, all inside."""
    path = tmp_path / "sound.toml"
    path.write_text(invented.text(invented.document(limits={"piston": 1.0})))
    return path


def on_a_terminal(args, cwd, **more) -> tuple[int, str]:
    main_end, terminal = pty.openpty()
    environment = ENVIRONMENT | {"TERM": "xterm-256color", "COLUMNS": "110"} | more
    with subprocess.Popen(
        [*PROGRAM, *map(str, args)], stdout=terminal, stderr=terminal, stdin=terminal, cwd=cwd, env=environment
    ) as process:
        os.close(terminal)
        chunks = []
        try:
            while chunk := os.read(main_end, 65536):
                chunks.append(chunk)
        except OSError:  # how Linux says that the other end is closed
            pass
    os.close(main_end)
    return process.returncode, b"".join(chunks).decode()


def test_the_demo_leaves_its_files_and_shows_the_whole_job(run, tmp_path):
    status, out, err = run("demo")
    assert (status, err) == (0, "")
    assert sorted(path.name for path in (tmp_path / "truethrow-demo").iterdir()) == [
        *("launch-station.csv", "launch-weigh.csv", "launch.toml"),
        *("pump.toml", "shelf-pins.csv", "shelf-pistons.csv", "shelf-rods.csv", "station.toml"),
    ]
    for heading in ("Bobweights [g]", "Spreads: ", "Look again", "Trim", "For the station"):
        assert f"\n{heading}" in out
    assert re.search(r"^Hang [\d.]+ g on every throw", out, re.M)
    assert "OUTSIDE" in out


def test_the_demo_leaves_what_somebody_changed(run, tmp_path):
    (tmp_path / "mine").mkdir()
    changed = demo.text("launch.toml").replace("share = 0.50", "share = 0.48")
    (tmp_path / "mine" / "launch.toml").write_text(changed)
    _, out, _ = run("demo", "--into", "mine")
    assert (tmp_path / "mine" / "launch.toml").read_text() == changed
    assert "share 0.48" in out


@pytest.mark.parametrize("command", ["work", "hang", "check", "trim", "send"])
def test_the_status_tells_inside_from_outside(run, command, sound, launch):
    assert run(command, sound)[0] == 0
    job_path, sheet = launch
    assert run(command, job_path, "--sheet", sheet)[0] == 1


def test_a_job_without_readings_and_one_that_vanished_are_bad_input(run, launch, tmp_path):
    job_path, _ = launch
    assert run("hang", job_path)[0] == 2
    status, out, err = run("hang", tmp_path / "none.toml")
    assert (status, out, err) == (2, "", f"{tmp_path / 'none.toml'}: no such file\n")


def test_a_pipe_gets_plain_columns(run, launch):
    job_path, sheet = launch
    out = run("work", job_path, "--sheet", sheet)[1]
    assert "\x1b" not in out
    assert not BOXES.search(out)
    table = out.split("\nthrow ", 1)[1].splitlines()[1:5]
    assert [line.split()[0] for line in table] == ["1", "2", "3", "4"]


def test_a_terminal_gets_rules_and_colours_and_none_with_no_color(launch, tmp_path):
    job_path, sheet = launch
    status, out = on_a_terminal(["check", job_path, "-s", sheet], tmp_path)
    assert status == 1
    assert COLOUR.search(out)
    assert BOXES.search(out)
    status, plain = on_a_terminal(["check", job_path, "-s", sheet], tmp_path, NO_COLOR="1")
    assert status == 1
    assert not COLOUR.search(plain)
    assert "OUTSIDE" in plain


def test_json_holds_the_figures_of_the_library_to_the_last_digit(run, launch):
    job_path, sheet = launch
    status, out, err = run("work", job_path, "--sheet", sheet, "--json")
    data = json.loads(out)
    result = work(job.load(job_path, sheet))
    assert (status, err) == (1, "")
    assert [t["bobweight_g"] for t in data["bobweights"]["throws"]] == [
        throw.bobweight.value_g for throw in result.bobweights.throws
    ]
    assert data["bobweights"]["hang_g"] == result.bobweights.hung_g
    assert data["job"]["digest"] == result.job.digest
    assert data["outside"] is True
    assert data["station_sheet"] == str(job_path.with_name("launch-station.csv"))


def test_json_and_text_hang_the_same(run, launch):
    job_path, sheet = launch
    hung = json.loads(run("hang", job_path, "--sheet", sheet, "--json")[1])["bobweights"]["hang_g"]
    assert f"Hang {hung:.1f} g on every throw" in run("hang", job_path, "--sheet", sheet)[1]


def test_bad_input_is_a_line_a_fault_and_the_same_in_json(run, tmp_path):
    path = tmp_path / "bad.toml"
    path.write_text(invented.text(invented.document(bobweight={"share": 2}, limits={"pistn": 1}, parts=[])))
    status, out, err = run("work", path, "--json")
    faults = json.loads(out)["faults"]
    assert status == 2
    assert err.splitlines() == faults
    assert len(faults) == 2 + 8
    assert all(line.startswith(f"{path}: ") for line in faults)
    assert run("work", path)[:2] == (2, "")


def test_what_cannot_be_saved_is_told_in_json_too(run, sound):
    status, out, err = run("work", sound, "--json", "--out", "gone/sheet.csv")
    assert status == 2
    assert json.loads(out)["faults"] == err.splitlines()
    assert "no such folder; nothing was written" in err


def test_inch_shows_ounces_and_inches_and_changes_no_file(run, sound):
    metric, inch = run("work", sound), run("work", sound, "--show", "inch")
    sheet = sound.with_name("sound-station.csv").read_bytes()
    assert "Bobweights [g]" in metric[1]
    assert "Bobweights [oz]" in inch[1]
    assert "stroke 3.622 in" in inch[1]
    assert "oz·in" in inch[1]
    run("work", sound)
    assert sound.with_name("sound-station.csv").read_bytes() == sheet


def test_an_unknown_way_to_show_is_refused_with_those_there_are(run, sound):
    status, _, err = run("hang", sound, "--show", "inches")
    assert (status, err) == (2, "--show: 'inches' is not known; allowed: metric, inch\n")


def test_send_to_standard_output_is_csv_with_cr_lf_and_nothing_else(run, sound, tmp_path):
    status, out, _ = run("send", sound, "--out", "-")
    assert status == 0
    assert out.count("\r\n") == out.count("\n") == 5
    rows = list(csv.DictReader(io.StringIO(out, newline="")))
    assert [row["throw"] for row in rows] == ["1", "2", "3", "4"]
    assert {row["digest"] for row in rows} == {job.load(sound).digest}
    assert list(tmp_path.iterdir()) == [sound]


def test_only_send_writes_its_sheet_to_standard_output(run, sound, tmp_path):
    status, _, err = run("work", sound, "--out", "-")
    assert status == 2
    assert err.startswith("--out: ")
    assert list(tmp_path.iterdir()) == [sound]


@pytest.mark.parametrize("there", ["my notes\n", "", "job_id,throw\n"])
def test_a_file_that_is_no_stations_sheet_is_not_written_over(run, sound, tmp_path, there):
    other = tmp_path / "notes.csv"
    other.write_text(there)
    status, _, err = run("work", sound, "--out", other)
    assert status == 2
    assert "is no station's sheet and is not written over" in err
    assert other.read_text() == there


def test_the_job_itself_is_not_written_over_by_its_sheet(run, sound):
    before = sound.read_bytes()
    assert run("send", sound, "--out", sound)[0] == 2
    assert sound.read_bytes() == before


def test_a_name_that_no_folder_takes_is_a_line_and_not_a_traceback(run, sound):
    status, _, err = run("send", sound, "--out", "x" * 300)
    assert status == 2
    assert "name too long" in err


def test_compare_tells_a_current_sheet_from_old_altered_and_foreign_ones(run, sound, tmp_path):
    sheet = sound.with_name("sound-station.csv")
    run("send", sound)
    assert run("compare", sheet, sound)[0] == 0
    sent = sheet.read_text()
    text = sound.read_text()
    for said, made, job_text in (
        ("Altered sheet", sent.replace("112", "113", 1), text),
        ("Old sheet", sent, text.replace("oil = 4.0", "oil = 5.0")),
        ("Another job's sheet: launch-7, not launch-8", sent, text.replace("launch-7", "launch-8")),
    ):
        sheet.write_text(made)
        sound.write_text(job_text)
        status, out, _ = run("compare", sheet, sound)
        assert status == 1
        assert out.startswith(said)
    assert run("compare", sound, sound)[0] == 2


def test_a_stations_sheet_cannot_reach_the_terminal_with_an_escape(run, sound):
    run("send", sound)
    sheet = sound.with_name("sound-station.csv")
    good = sheet.read_text()
    for found in ("launch-7", job.load(sound).digest):
        sheet.write_text(good.replace(found, f"{found[0]}\x1b[31m\x9b1m"))
        status, out, err = run("compare", sheet, sound)
        assert status == 1
        assert "\x1b" not in out + err
        assert "\x9b" not in out + err


@pytest.mark.parametrize(
    "text",
    [
        invented.text(invented.document(job={"id": "a\x1b[31mb"})),
        invented.text(invented.document(job={"id": "a", "title": "a\x1b]0;x\x07"})),
        invented.text(invented.document(engine=invented.V8 | {"layout": "\x1b[31m"})),
        invented.text(invented.document(engine=invented.V8 | {"banks": {"\x1b[31m": 1.0}, "first_bank": "x"})),
        invented.text(invented.document()) + '"\\u001b[31m" = 1\n',
        '"\x1b[31m" = 1\n',
        "\x1b[31m",
    ],
)
def test_a_job_file_cannot_reach_the_terminal_with_an_escape(run, tmp_path, text):
    path = tmp_path / "\x1b[32mjob.toml"
    path.write_text(text)
    status, out, err = run("hang", path, "--json")
    assert status == 2
    assert out
    assert err
    assert "\x1b" not in out + err


def test_an_escape_in_a_weigh_sheets_label_is_refused(run, sound, tmp_path):
    sheet = tmp_path / "weigh.csv"
    sheet.write_text("cylinder;piston;rod label\n1;538,4;\x1b[31mR1\n")
    status, out, err = run("send", sound, "--sheet", sheet, "--out", "-")
    assert (status, out) == (2, "")
    assert "row 2, rod label" in err
    assert "\x1b" not in err


def test_a_path_cannot_reach_the_terminal_with_an_escape(run, sound, tmp_path):
    odd = tmp_path / "\x1b[31mx.toml"
    odd.write_bytes(sound.read_bytes())
    for args in (("work", odd), ("send", odd), ("new", "inline-2", tmp_path / "\x1b[32mnew.toml")):
        status, out, err = run(*args)
        assert status == 0
        assert "\\x1b[3" in out
        assert "\x1b" not in out + err


@pytest.mark.parametrize("name", ["=1+2", "'quoted"])
def test_text_that_a_spreadsheet_would_run_is_guarded_and_read_back_as_it_was(run, tmp_path, name):
    path = tmp_path / "job.toml"
    data = invented.document(job={"id": name, "title": name})
    data["cylinder"][0]["labels"] = {"piston": name}
    path.write_text(invented.text(data))
    out = run("send", path, "--out", "-")[1]
    for row in list(csv.reader(io.StringIO(out, newline="")))[1:]:
        for cell in (row[0], row[1], row[7]):
            assert not cell.startswith(tuple("=+-@"))
    sent = station_sheet.from_csv(out)
    assert (sent[0].job_id, sent[0].job_title) == (name, name)
    assert sent[0].part_labels == f"piston {name} (sits in 1)"


def test_new_gives_a_job_with_its_blanks_as_faults_and_refuses_to_write_over_it(run, tmp_path):
    status, out, _ = run("new", "inline-3", "my.toml", "--sheet", "weigh.csv")
    assert (status, out) == (0, "Written: my.toml\nWritten: weigh.csv\n")
    status, _, err = run("work", "my.toml", "--sheet", "weigh.csv")
    assert status == 2
    assert "my.toml: engine, stroke: blank; allowed: a length, above 0 to 20000 mm" in err
    assert "weigh.csv: cylinder 1, piston: missing" in err
    before = (tmp_path / "my.toml").read_bytes()
    assert run("new", "inline-4", "my.toml")[0] == 2
    assert (tmp_path / "my.toml").read_bytes() == before


@pytest.mark.parametrize("args", [(), ("-",)])
def test_new_without_a_file_prints_the_job(run, tmp_path, args):
    status, out, _ = run("new", "inline-3", *args)
    assert status == 0
    assert out.startswith("# A job file")
    assert not list(tmp_path.iterdir())


def test_an_unknown_layout_is_refused_with_the_one_it_resembles(run):
    status, _, err = run("new", "v8-crossplane")
    assert status == 2
    assert "'v8-crossplane' is not known (did you mean v8-90-crossplane?); allowed: inline-1, " in err


def test_layouts_lists_every_one_in_both_ways(run):
    lines = run("layouts")[1].splitlines()
    assert [line.split()[0] for line in lines] == ["layout", *GENERIC]
    assert json.loads(run("layouts", "--json")[1]) == {n: g.description for n, g in GENERIC.items()}


def test_a_job_and_a_sheet_may_come_from_standard_input_but_not_both(run, launch, sound, tmp_path):
    job_path, sheet = launch
    wanted = run("hang", job_path, "--sheet", sheet)
    piped = (wanted[0], wanted[1].replace(f"truethrow check {job_path}", "truethrow check JOB"), wanted[2])
    assert run("hang", "-", "--sheet", sheet, stdin=job_path.read_bytes()) == piped
    assert run("hang", job_path, "--sheet", "-", stdin=sheet.read_bytes()) == wanted
    status, _, err = run("hang", "-", "--sheet", "-", stdin=job_path.read_bytes())
    assert (status, err) == (2, "--sheet: standard input is the job already; allowed: a file\n")
    run("send", "-", stdin=sound.read_bytes())
    assert (tmp_path / "station.csv").exists()


@pytest.mark.parametrize("stdin", [b"", b"\xff\xfe\x00", b"#" * (files.LARGEST_BYTES + 1)])
def test_junk_on_standard_input_is_bad_input(run, stdin):
    status, out, err = run("hang", "-", stdin=stdin)
    assert (status, out) == (2, "")
    assert err.startswith("-: ")


def test_enter_fills_the_blanks_from_a_pasted_sheet_and_tells_how_many(run, sound, tmp_path):
    path = tmp_path / "my.toml"
    path.write_text(sound.read_text().replace("piston = 538.4", 'piston = ""').replace("piston = 1.0", ""))
    sheet = "cylinder\tpiston\n" + "".join(f"{n}\t538,40\n" for n in range(1, 9))
    assert run("enter", path, "-", stdin=sheet) == (0, f"8 new readings entered into {path}\n", "")
    assert path.read_text().count("piston = 538.40") == 8
    assert run("enter", path, "-", stdin=sheet)[1].startswith("0 new readings")
    status, _, err = run("enter", path, "-", stdin=sheet.replace("538,40", "538,5"))
    assert status == 2
    assert len(err.splitlines()) == 8
    assert run("enter", tmp_path / "gone.toml", "-", stdin=sheet)[0] == 2


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


def test_a_terminal_without_the_signs_gets_question_marks(launch, tmp_path):
    job_path, sheet = launch
    done = subprocess.run(
        [*PROGRAM, "work", job_path, "--sheet", sheet],
        capture_output=True,
        cwd=tmp_path,
        env=ENVIRONMENT | {"PYTHONIOENCODING": "ascii", "LC_ALL": "C"},
        check=False,
    )
    assert (done.returncode, done.stderr) == (1, b"")
    assert done.stdout.isascii()
    assert b"?" in done.stdout


def test_a_reader_that_leaves_early_is_no_fault_of_the_input(launch, tmp_path):
    job_path, sheet = launch
    command = " ".join(f"'{part}'" for part in [*PROGRAM, "work", str(job_path), "-s", str(sheet)])
    done = subprocess.run(
        ["bash", "-c", f"{command} | head -1"], capture_output=True, cwd=tmp_path, env=ENVIRONMENT, check=False
    )
    assert done.stdout.startswith(b"Job launch-7")
    assert b"Traceback" not in done.stderr


def test_a_slip_alone_is_status_one(run, tmp_path):
    data = invented.document(invented.cylinders(pin={3: 1.1}))
    (tmp_path / "slip.toml").write_text(invented.text(data), encoding="utf-8")
    status, out, _ = run("check", "slip.toml")
    assert status == 1
    assert "pin 3: 1.1 g" in out


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


def test_the_first_hundred_faults_are_enough(run, tmp_path, sound):
    rows = "\n".join(["cylinder;piston", *["1;538"] * 300])
    (tmp_path / "many.csv").write_text(rows, encoding="utf-8")
    status, _, err = run("check", sound, "--sheet", "many.csv")
    assert status == 2
    assert len(err.splitlines()) == 101
    assert err.splitlines()[-1].startswith("… and ")


def test_new_writes_both_files_or_none(run, tmp_path):
    (tmp_path / "there.csv").write_text("mine", encoding="utf-8")
    status, _, _ = run("new", "inline-3", "fresh.toml", "--sheet", "there.csv")
    assert status == 2
    assert not (tmp_path / "fresh.toml").exists()


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
