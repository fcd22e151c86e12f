"""A job closed and opened again, by its commands."""

import invented
from commands import run


def test_it_is_closed_given_up_and_opened_again(tmp_path):
    path = tmp_path / "launch.toml"
    path.write_text(invented.text(invented.document(invented.cylinders())))
    assert "is closed." in run("close", path, "--by", "AB", "--why", "handed over").out
    assert "is open again" in run("reopen", path, "--by", "AB", "--why", "came back").out
    said = run("close", path, "--given-up", "--by", "AB", "--why", "cracked")
    assert "is given up." in said.out
    assert f"truethrow reopen {path}" in said.out
    told = run("history", path).out
    assert [line.split()[4] for line in told.splitlines()[1:] if line[:1].strip()] == ["close", "reopen", "close"]
    assert run("close", path, "--by", "AB", "--why", "\x07").status == 2


def test_taking_the_last_step_back_after_closing_cancels_no_reading(tmp_path):
    path = tmp_path / "launch.toml"
    path.write_text(invented.text(invented.document(invented.cylinders())))
    run("weigh", path, stdin="go piston 2\n538.9\n")
    run("close", path, "--by", "AB", "--why", "handed over")
    said = run("strike", path, "--last", "--yes", "--why", "not yet")
    assert said.status == 2
    assert "truethrow reopen" in said.err
    run("reopen", path, "--by", "AB", "--why", "came back")
    assert f"truethrow close {path}" in run("strike", path, "--last", "--yes", "--why", "x").err
    assert "538.9" in run("history", path).out
