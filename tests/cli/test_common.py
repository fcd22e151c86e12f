"""What commands have in common: which job is meant, and in which units it is shown."""

from __future__ import annotations

import pytest
import typer
from typer.testing import CliRunner

from truethrow.balance.base import files
from truethrow.balance.base.errors import BadInput
from truethrow.cli.main import app


def test_a_job_without_readings_and_one_that_vanished_are_bad_input(run, launch, tmp_path):
    job_path, _ = launch
    assert run("hang", job_path)[0] == 2
    status, out, err = run("hang", tmp_path / "none.toml")
    assert (status, out, err) == (2, "", f"{tmp_path / 'none.toml'}: no such file\n")


def test_an_unknown_way_to_show_is_refused_with_those_there_are(run, sound):
    status, _, err = run("hang", sound, "--show", "inches")
    assert (status, err) == (2, "--show: 'inches' is not known; allowed: metric, inch\n")


def test_a_job_and_a_sheet_may_come_from_standard_input_but_not_both(run, launch, sound, tmp_path):
    job_path, sheet = launch
    wanted = run("hang", job_path, "--sheet", sheet)
    told, following = wanted[1].rsplit("Next: ", 1)
    following, why = following.split("\n", 1)
    assert following == f"enter the weigh sheet into the job: truethrow enter {job_path} {sheet}"
    assert why.startswith("Status 1: outside: piston, small end, ")
    told += why
    for command in ("check", "weigh"):
        told = told.replace(f"truethrow {command} {job_path}", f"truethrow {command} JOB")
    piped = (wanted[0], told, wanted[2])
    assert run("hang", "-", "--sheet", sheet, stdin=job_path.read_bytes()) == piped
    pasted = run("hang", job_path, "--sheet", "-", stdin=sheet.read_bytes())
    assert pasted == wanted._replace(out=wanted.out.replace(f"{job_path} {sheet}", f"{job_path} -"))
    status, _, err = run("hang", "-", "--sheet", "-", stdin=job_path.read_bytes())
    assert (status, err) == (2, "--sheet: standard input is the job already; allowed: a file\n")
    run("send", "-", stdin=sound.read_bytes())
    assert (tmp_path / "station.csv").exists()


@pytest.mark.parametrize("stdin", [b"", b"\xff\xfe\x00", b"#" * (files.LARGEST_BYTES + 1)])
def test_junk_on_standard_input_is_bad_input(run, stdin):
    status, out, err = run("hang", "-", stdin=stdin)
    assert (status, out) == (2, "")
    assert err.startswith("-: ")


def commands(group=None, named=()):
    """Every command of the program: its words, and what it takes."""
    for name, command in (group or typer.main.get_command(app)).commands.items():
        if hasattr(command, "commands"):
            yield from commands(command, (*named, name))
        else:
            yield [*named, name], command


@pytest.mark.parametrize(
    ("option", "typed", "said"),
    [
        ("--by", "INITIALS", "--by: 'INITIALS' is nobody; allowed: the initials of whoever does it"),
        ("--by", "..", "--by: '..' is nobody; allowed: the initials of whoever does it"),
        ("--by", "Bartholomew Kuma", "--by: 'Bartholomew Kuma'; allowed: printable, at most 12 characters"),
        ("--why", "REASON", "--why: 'REASON' says nothing; allowed: a word of why"),
        ("--why", "...", "--why: '...' says nothing; allowed: a word of why"),
        ("--why", "a\nb", "--why: 'a\\\\x0ab'; allowed: printable, at most 300 characters"),
    ],
)
def test_no_command_takes_what_a_remedy_has_in_the_place_of_somebodys_word(option, typed, said):
    takes = [words for words, command in commands() if any(option in one.opts for one in command.params)]
    assert len(takes) > (15 if option == "--by" else 7)
    for words in takes:
        done = CliRunner().invoke(app, [*words, option, typed])
        assert isinstance(done.exception, BadInput), words
        assert done.exception.lines() == [said], words
