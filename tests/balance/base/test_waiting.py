"""A wait is told once it took a second, and has an end."""

from __future__ import annotations

import time

import pytest

from truethrow.balance.base import waiting


@pytest.fixture
def said(monkeypatch):
    lines = []
    waiting.telling(lines.append)
    yield lines
    monkeypatch.setattr(waiting, "_tell", None)


def test_a_short_wait_is_not_told(said):
    wait = waiting.Wait("the post", 8.0)
    assert not wait.is_over()
    with waiting.told("the post"):
        pass
    assert said == []


def test_a_longer_one_is_told_once_with_its_end(said, monkeypatch):
    monkeypatch.setattr(waiting, "QUIET_S", 0.0)
    for _ in range(2):
        assert not waiting.Wait("the post", 8.0).is_over()
    assert said == ["waiting for the post, 8 s at most (Ctrl-C ends it)"]


def test_it_is_over_and_begins_anew_with_whatever_comes():
    now_s = [0.0]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(time, "monotonic", lambda: now_s[0])
        wait = waiting.Wait("the post", 8.0)
        now_s[0] = 8.5
        assert wait.is_over()
        wait.again()
        assert not wait.is_over()


def test_a_wait_that_somebody_else_does_is_told_while_it_goes_on(said, monkeypatch):
    monkeypatch.setattr(waiting, "QUIET_S", 0.0)
    with waiting.told("the post"):
        until = time.monotonic() + 10
        while not said and time.monotonic() < until:
            time.sleep(0.01)
    assert said == ["waiting for the post (Ctrl-C ends it)"]


def test_where_nobody_has_a_screen_nothing_is_told(monkeypatch):
    monkeypatch.setattr(waiting, "QUIET_S", 0.0)
    monkeypatch.setattr(waiting, "_tell", None)
    assert not waiting.Wait("the post", 8.0).is_over()
