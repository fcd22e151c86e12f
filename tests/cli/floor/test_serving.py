"""The address that it listens at, what is told where it cannot, and that it ends."""

from __future__ import annotations

import socket
import ssl
import sys

import pytest

from truethrow.balance.base.errors import BadInput
from truethrow.cli.floor import serving


def test_a_port_that_is_taken_is_one_line_with_what_to_do():
    with socket.socket() as taken:
        taken.bind((serving.THIS_COMPUTER, 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(BadInput, match=rf"{port} is in use by another program; .*--port \d+"):
            serving.listening(serving.THIS_COMPUTER, port)


def test_an_address_of_another_computer_is_told():
    with pytest.raises(BadInput, match="is no address of this computer"):
        serving.listening("192.0.2.1", 0)


def test_without_its_libraries_it_says_how_to_get_them(monkeypatch):
    monkeypatch.setitem(sys.modules, "uvicorn", None)
    with pytest.raises(BadInput, match=r"not installed; get it: pip install 'truethrow\[floor\]'"):
        serving.must_be_installed()


def test_a_certificate_that_is_none_is_told(tmp_path):
    async def app(scope, receive, send): ...

    (tmp_path / "a.pem").write_text("nothing", encoding="utf-8")
    with pytest.raises(BadInput, match=r"--key: .*no such file"):
        serving.server_of(app, tmp_path / "a.pem", tmp_path / "gone.pem")
    with pytest.raises(BadInput, match="cannot be used"):
        serving.server_of(app, tmp_path / "a.pem", tmp_path / "a.pem")
    assert ssl.SSLError.__mro__[1] is OSError
