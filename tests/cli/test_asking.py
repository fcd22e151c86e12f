"""Questions at a terminal: asked until they are answered, and left without a trace."""

from __future__ import annotations

import pytest

from truethrow.balance.base.errors import BadInput, Fault, ToWeigh
from truethrow.cli import asking


def answers(monkeypatch, *typed):
    left = list(typed)

    def answer(_question):
        if not left:
            raise EOFError
        return left.pop(0)

    monkeypatch.setattr("builtins.input", answer)


def test_an_answer_that_does_not_pass_is_asked_for_again_with_what_is_wrong(monkeypatch, capsys):
    answers(monkeypatch, "v8", "inline-3")
    assert asking.ask("Layout", asking.layout) == "inline-3"
    assert "'v8' is not known (did you mean v8-90-crossplane or v8-90-flatplane?)" in capsys.readouterr().out


def test_enter_is_the_answer_in_brackets(monkeypatch):
    answers(monkeypatch, "")
    assert asking.ask("Layout", asking.layout, "inline-4") == "inline-4"


def test_questions_that_are_left_write_nothing(monkeypatch):
    answers(monkeypatch)
    with pytest.raises(BadInput, match="nothing was written"):
        asking.ask("Layout", asking.layout)


def test_without_a_terminal_nobody_is_asked(monkeypatch):
    monkeypatch.setattr("sys.stdin", None)
    assert not asking.can_ask()


def test_a_refusal_is_told_in_the_words_of_the_options():
    faults = [Fault("engine, stroke", "0 mm"), Fault("cylinder 1", "missing", to_weigh=ToWeigh("missing", 1))]
    error = asking.in_options(BadInput(faults, "x.toml"), {"engine, stroke": "--stroke"})
    assert error.lines() == ["--stroke: 0 mm"]
