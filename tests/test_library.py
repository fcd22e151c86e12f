"""The library as it is imported: its names, what the import costs, and that whatever it gives can be looked at."""

import ast
import importlib
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import truethrow
from truethrow import load, match, shake, share, sweep, trim, work
from truethrow.balance import demo

ROOT = Path(__file__).parents[1]
SURFACE = ROOT / ".editable" / "truethrow" / "__init__.py"
README = (ROOT / "README.md").read_text(encoding="utf-8")
LONGEST_LINE = 250


def test_every_name_is_there_and_is_the_one_that_types_know():
    tree = ast.parse(SURFACE.read_text(encoding="utf-8"))
    typed = {
        alias.asname: (node.module, alias.name)
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module
        for alias in node.names
        if alias.asname
    }
    assert {*typed, "__version__"} == {*truethrow.__all__}
    for name, (module, there) in typed.items():
        assert name == there
        assert getattr(truethrow, name) is getattr(importlib.import_module(module), name)
        assert getattr(truethrow, name).__doc__
    assert dir(truethrow) == sorted(truethrow.__all__)


def test_the_version_is_the_installed_one():
    assert re.fullmatch(r"\d+\.\d+\.\d+", truethrow.__version__)


def test_a_name_that_is_not_there_is_none():
    with pytest.raises(AttributeError, match="no attribute 'hang'"):
        truethrow.hang  # noqa: B018


def test_the_import_loads_nothing():
    code = "import sys; before = {*sys.modules}; import truethrow; print(sorted({*sys.modules} - before))"
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "['truethrow']"


def test_no_room_and_no_floor_is_called_as_a_name_is():
    """A submodule of the same name would take its place once it is imported."""
    assert not {path.name for path in SURFACE.parent.iterdir() if path.is_dir()} & {*truethrow.__all__}


def test_the_readmes_lines_run(tmp_path, monkeypatch):
    """In order, as they are written, with nothing else known."""
    monkeypatch.chdir(tmp_path)
    blocks = re.findall(r"```python\n(.*?)```", README, re.S)
    assert blocks
    for block in blocks:
        exec(compile(block, "README.md", "exec"), {"__name__": "README"})


def test_every_formula_is_told_in_developers():
    told = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert not [name for name in truethrow.__all__ if f"`{name}`" not in told]


@pytest.fixture(scope="module")
def everything(tmp_path_factory):
    """Whatever the library gives for a job with all that a job may have, and for one that is trimmed."""
    launch = work(load(*demo.copy_into(tmp_path_factory.mktemp("launch"))))
    pump = truethrow.example() | {"limits": {"piston": "1 g"}, "match": {"aims": ["bobweight"]}}
    pump["cylinder"] = [{"number": n, "piston": grams} for n, grams in ((1, 302.2), (2, 300.0), (3, 300.3))]
    del pump["every_cylinder"]["piston"]
    pump["scale"]["repeatability"] = "0.05 g"
    small = work(load(pump | {"trim": {"piston": "3 g"}}))
    return [
        *(launch, launch.job, launch.bobweights, launch.cost, shake(launch, 4200), share(launch, 4200)),
        *(sweep(launch, [0.4, 0.5], 4200), small, trim(small), match(small, 5), share("inline-6")),
    ]


def reached(thing, seen):
    """Every object of the house that can be reached from one, itself among them."""
    if id(thing) in seen or isinstance(thing, str | bytes | int | float | complex | np.ndarray | None):
        return
    seen[id(thing)] = thing
    inner = [*thing.keys(), *thing.values()] if hasattr(thing, "keys") and hasattr(thing, "values") else ()
    if isinstance(thing, tuple | list | set | frozenset):
        inner = thing
    for one in (*inner, *vars(thing).values()) if hasattr(thing, "__dict__") else inner:
        reached(one, seen)


def test_each_object_is_one_readable_line(everything):
    seen = {}
    for thing in everything:
        reached(thing, seen)
    ours = [thing for thing in seen.values() if type(thing).__module__.startswith("truethrow")]
    assert len({type(thing) for thing in ours}) > 20
    long = {type(thing).__name__: repr(thing) for thing in ours if len(repr(thing)) > LONGEST_LINE}
    assert long == {}
    assert not [repr(thing) for thing in ours if "\n" in repr(thing)]


def test_each_answer_is_a_table_in_a_notebook(everything):
    for thing in everything:
        made = thing._repr_html_()
        assert made.count("<table>") == made.count("</table>") >= 1
        assert "<tr>" in made


def test_a_label_in_a_notebook_is_no_markup():
    job = truethrow.example()
    job["job"]["id"] = "<b>pump"
    result = work(load(job))
    assert "<b>" not in result._repr_html_() + result.job._repr_html_()


def test_the_figures_of_a_line_are_those_of_the_object(everything):
    launch, small, plan = everything[0], everything[7], everything[8]
    assert f"hang {launch.bobweights.hung_g:.1f} g on every throw" in repr(launch)
    assert f"hang {small.bobweights.hung_g:.1f} g on every throw" in small.bobweights._repr_html_()
    assert f"{plan.grams:g} g" in repr(plan)
    assert plan.grams > 0
