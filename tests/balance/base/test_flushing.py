"""What was written reaches the disk: by the call that goes all the way, where a system has one."""

from __future__ import annotations

import errno
import sys

import pytest

from truethrow.balance.base import flushing

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="calls of POSIX")
ITS_NUMBER = 51  # F_FULLFSYNC of macOS


@pytest.fixture
def asked(monkeypatch):
    """The calls that are made, in order; those named in `fails` fail."""
    calls, fails = [], {}

    def fcntl(_handle, number):
        calls.append(number)
        if number in fails:
            raise OSError(fails[number], "")

    monkeypatch.setattr(flushing.fcntl, "fcntl", fcntl)
    monkeypatch.setattr(flushing.os, "fsync", lambda _handle: calls.append("fsync"))
    return calls, fails


def test_without_such_a_call_a_file_is_flushed_as_ever(asked, monkeypatch):
    monkeypatch.setattr(flushing, "_ALL_THE_WAY", None)
    flushing.to_disk(1)
    assert asked[0] == ["fsync"]


def test_with_it_the_drive_is_flushed_too(asked, monkeypatch):
    monkeypatch.setattr(flushing, "_ALL_THE_WAY", ITS_NUMBER)
    flushing.to_disk(1)
    assert asked[0] == [ITS_NUMBER]


def test_a_file_system_that_cannot_is_flushed_as_ever(asked, monkeypatch):
    monkeypatch.setattr(flushing, "_ALL_THE_WAY", ITS_NUMBER)
    asked[1][ITS_NUMBER] = errno.ENOTSUP
    flushing.to_disk(1)
    assert asked[0] == [ITS_NUMBER, "fsync"]
