"""A blank is written once, and never over a file."""

from __future__ import annotations

import pytest

from truethrow.balance.blanks import texts


@pytest.mark.parametrize("name", texts.NAMES)
def test_it_is_printed_or_written_and_says_what_comes_next(run, tmp_path, name):
    assert run("blank", name) == (0, texts.text(name), "")
    status, out, _ = run("blank", name, "own.toml")
    assert (status, (tmp_path / "own.toml").read_text(encoding="utf-8")) == (0, texts.text(name))
    assert out.startswith("Written: own.toml\nNext: fill it in")


def test_a_file_that_is_there_is_not_written_over(run, tmp_path):
    (tmp_path / "own.toml").write_text("mine", encoding="utf-8")
    status, out, err = run("blank", "station", "own.toml")
    assert (status, out) == (2, "") and "already exists" in err
    assert (tmp_path / "own.toml").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize(("words", "wrong"), [((), "missing"), (("statoin",), "'statoin' is not known")])
def test_what_there_is_is_told(run, words, wrong):
    allowed = "station, bench, crank, candidates, prices, settings"
    assert run("blank", *words) == (2, "", f"WHAT: {wrong}; allowed: {allowed}\n")
