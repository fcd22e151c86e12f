"""What the README promises, and what an installation leaves behind."""

import importlib.metadata
import os
import re
import runpy
import shlex
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_every_command_of_the_tour_runs(tmp_path):
    """In order, in one folder; the demo engine is outside its limits, so 1 is as good as 0."""
    blocks = re.findall(r"```sh\n(.*?)```", README, re.S)
    commands = [line for block in blocks for line in block.splitlines() if line.startswith("truethrow ")]
    assert len(commands) >= 10
    for command in commands:
        program = [sys.executable, "-c", "from truethrow.cli.main import main; main()"]
        run = subprocess.run(
            [*program, *shlex.split(command)[1:]],
            cwd=tmp_path,
            capture_output=True,
            text=True,
            check=False,
            stdin=subprocess.DEVNULL,
            env=os.environ | {"TRUETHROW_BOOK": f"sqlite:///{tmp_path / 'book.db'}"},
        )
        assert (run.returncode in (0, 1), run.stderr) == (True, ""), command


def test_the_picture_is_the_demo_as_it_is():
    drawing = runpy.run_path(str(ROOT / ".ci" / "picture.py"))["drawing"]()
    assert drawing == (ROOT / "worksheets" / "pictures" / "demo.svg").read_text(encoding="utf-8")


def test_nothing_but_truethrow_is_installed():
    """Neither cli nor tests, nor any other name of ours, lands at the top of site-packages."""
    names = {path.parts[0] for path in importlib.metadata.files("truethrow") or () if ".." not in path.parts}
    assert names
    assert all(re.fullmatch(r"truethrow|truethrow-[\d.]+\.dist-info|_truethrow\.pth", n) for n in names), names
