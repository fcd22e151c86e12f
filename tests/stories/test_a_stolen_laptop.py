"""A laptop is stolen, or another user logs in: jobs name customers, and none of what was made is theirs to read.

Where a shop shares one account's folders on purpose, it says so, and the system's own mask counts.
"""

from __future__ import annotations

import os
import stat

import pytest
from commands import run


def made(folder):
    return {path.relative_to(folder): stat.S_IMODE(path.stat().st_mode) for path in folder.rglob("*")}


@pytest.mark.skipif(os.name == "nt", reason="modes of POSIX")
@pytest.mark.parametrize(("shared", "file", "folder"), [("", 0o600, 0o700), ("yes", 0o644, 0o755)])
def test_what_is_made_is_its_owners_alone_unless_the_shop_shares(tmp_path, shared, file, folder):
    home = tmp_path / "home"
    home.mkdir(mode=0o755)
    settings = {**os.environ, "XDG_DATA_HOME": str(home / "data"), "TRUETHROW_SHARED": shared}
    mask = os.umask(0o022)
    try:
        for command in (
            ["new", "v8-90-crossplane", "my.toml"],
            ["demo", "--into", "launch"],
            ["weigh", "launch/pump.toml"],
            ["cards", "launch/pump.toml", "--only", "bench", "--into", "cards"],
            ["book", "add", "launch/pump.toml"],
            ["book", "backup", "b.bak"],
            ["book", "export-all", "out"],
        ):
            done = run(
                *command, folder=home, environment=settings, stdin="go 1 piston\n538.0\n" * (command[0] == "weigh")
            )
            assert done.status in (0, 1), done
    finally:
        os.umask(mask)
    found = made(home)
    modes = {path: mode for path, mode in found.items() if mode != (folder if (home / path).is_dir() else file)}
    private = {path for path in modes if path.parts[:2] == ("data", "truethrow") and modes[path] in (0o600, 0o700)}
    assert {path: oct(mode) for path, mode in modes.items() if path not in private} == {}
    assert any(path.name == "book.db" for path in found)
    assert any(path.name.endswith(".readings.jsonl") for path in found)
