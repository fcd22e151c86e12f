"""What a screen gets and what a pipe gets; nothing reaches a terminal with an escape."""

from __future__ import annotations

import subprocess

import invented
import pytest
from commands import BOXES, COLOUR, PROGRAM, environment, on_a_terminal


def test_a_pipe_gets_plain_columns(run, launch):
    job_path, sheet = launch
    out = run("work", job_path, "--sheet", sheet)[1]
    assert "\x1b" not in out
    assert not BOXES.search(out)
    table = out.split("\nthrow ", 1)[1].splitlines()[1:5]
    assert [line.split()[0] for line in table] == ["1", "2", "3", "4"]


def test_a_table_in_a_pipe_keeps_to_eighty_columns_where_it_can(run, launch):
    """In ounces the spreads went five columns beyond the edge of the page."""
    job_path, sheet = launch
    for shown in ("metric", "inch"):
        out = run("check", job_path, "--sheet", sheet, "--show", shown)[1]
        table = out[out.index("\nof ") :].split("\n\n")[0].strip().splitlines()
        assert len(table) > 8
        assert max(map(len, table)) <= 80


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


def test_a_path_cannot_reach_the_terminal_with_an_escape(run, sound, tmp_path):
    odd = tmp_path / "\x1b[31mx.toml"
    odd.write_bytes(sound.read_bytes())
    for args in (("work", odd), ("send", odd), ("new", "inline-2", tmp_path / "\x1b[32mnew.toml")):
        status, out, err = run(*args)
        assert status == 0
        assert "\\x1b[3" in out
        assert "\x1b" not in out + err


def test_a_terminal_without_the_signs_gets_question_marks(launch, tmp_path):
    job_path, sheet = launch
    done = subprocess.run(
        [*PROGRAM, "work", job_path, "--sheet", sheet],
        capture_output=True,
        cwd=tmp_path,
        env=environment(PYTHONIOENCODING="ascii", LC_ALL="C"),
        check=False,
    )
    assert (done.returncode, done.stderr) == (1, b"")
    assert done.stdout.isascii()
    assert b"?" in done.stdout
