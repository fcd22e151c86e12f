"""What the README promises, and what an installation leaves behind."""

import ast
import importlib.metadata
import os
import re
import runpy
import shlex
from pathlib import Path

import pytest
from commands import run

ROOT = Path(__file__).parents[1]
FLOORS = ("balance", "worksheets", "cli")
# Modules without a test file of their name, and why. Only what does nothing by itself may be here.
NO_TEST_OF_ITS_NAME = {
    "balance/base/arrays.py": "names for kinds of arrays, for the type checker alone",
    "balance/book/migrations/env.py": "where Alembic begins: held by tests/balance/book/test_open.py",
    "balance/book/migrations/versions/first_jobs.py": "tables of a revision: tests/balance/book/test_schema.py",
    "balance/book/migrations/versions/second_shelf.py": "tables of a revision: tests/balance/book/test_schema.py",
    "balance/book/migrations/versions/third_kept.py": "tables of a revision: tests/balance/book/test_schema.py",
}
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_every_command_of_the_tour_runs(tmp_path):
    """In order, in one folder; the demo engine is outside its limits, so 1 is as good as 0."""
    blocks = re.findall(r"```sh\n(.*?)```", README, re.S)
    commands = [line for block in blocks for line in block.splitlines() if line.startswith("truethrow ")]
    assert len(commands) >= 10
    for command in commands:
        book = {"TRUETHROW_BOOK": f"sqlite:///{tmp_path / 'book.db'}"}
        said = run(*shlex.split(command)[1:], folder=tmp_path, environment=os.environ | book)
        told = [line for line in said.err.splitlines() if not line.startswith("Station: launch/station.toml, ")]
        assert (said.status in (0, 1), told) == (True, []), f"{command}\n{said.err}"


def test_the_picture_is_the_demo_as_it_is():
    drawing = runpy.run_path(str(ROOT / ".ci" / "picture.py"))["drawing"]()
    assert drawing == (ROOT / "worksheets" / "pictures" / "demo.svg").read_text(encoding="utf-8")


def test_nothing_but_truethrow_is_installed():
    """Neither cli nor tests, nor any other name of ours, lands at the top of site-packages."""
    names = {path.parts[0] for path in importlib.metadata.files("truethrow") or () if ".." not in path.parts}
    assert names
    assert all(re.fullmatch(r"truethrow|truethrow-[\d.]+\.dist-info|_truethrow\.pth", n) for n in names), names


def rooms():
    return [room.parent for floor in FLOORS for room in sorted((ROOT / floor).glob("*/__init__.py"))]


@pytest.mark.parametrize("room", rooms(), ids=lambda room: f"{room.parent.name}/{room.name}")
def test_a_room_imports_what_its_first_lines_say_and_no_other_of_its_floor(room):
    """Imports inside functions and for types counted."""
    floor, told = (
        room.parent.name,
        ast.get_docstring(ast.parse((room / "__init__.py").read_text(encoding="utf-8"))),
    )
    may = set(re.findall(r"\w+", told.partition("May import:")[2].partition(".")[0]))
    assert may, "says nothing of what it may import"
    used = {
        name.split(".")[2]
        for path in room.rglob("*.py")
        for name in imported(ast.parse(path.read_text(encoding="utf-8")))
        if name.startswith(f"truethrow.{floor}.")
    }
    assert used - {room.name} <= may


def imported(tree):
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def test_no_text_names_a_constant_of_the_code():
    """As a constant put into a sentence by hand does, where its value was meant."""
    named = [
        (path.relative_to(ROOT).as_posix(), node.value)
        for floor in FLOORS
        for path in (ROOT / floor).rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
        if re.search(r"\b[a-z_]+\.[A-Z][A-Z_]+\b", node.value) and "\n" not in node.value
    ]
    assert named == []


def test_every_module_has_a_test_file_of_its_name_and_no_other_is_there():
    """tests/balance/job/test_enter.py is of balance/job/enter.py; what is exempt is there, and has none. No
    test file is of a module that is gone."""
    modules = {
        path.relative_to(ROOT).as_posix(): ROOT / "tests" / path.relative_to(ROOT).with_name(f"test_{path.name}")
        for floor in FLOORS
        for path in (ROOT / floor).rglob("*.py")
        if path.name != "__init__.py"
    }
    assert len(modules) > 200
    assert {name for name, test in modules.items() if not test.exists()} == NO_TEST_OF_ITS_NAME.keys()
    # What a module does when something goes wrong may be in a file beside it, test_open_faults.py.
    tests = {path for floor in FLOORS for path in (ROOT / "tests" / floor).rglob("test_*.py")}
    named = {path.with_name(path.name.replace("_faults.py", ".py")) for path in tests}
    assert named <= set(modules.values()), "a test file that is of no module"


@pytest.mark.parametrize("word", ["unbalance", "residual", "plane", "balance quality"])
def test_the_words_are_those_of_the_vocabulary(word):
    """ISO 21940-2, from memory: unbalance (not imbalance), residual unbalance, correction plane, balance quality
    grade."""
    from pathlib import Path

    from truethrow import cli

    house = Path(next(iter(cli.__path__))).resolve().parent
    text = "".join(
        path.read_text(encoding="utf-8")
        for part in ("balance", "worksheets", "cli")
        for path in (house / part).rglob("*.py")
    )
    assert word in text
    assert "imbalance" not in text
