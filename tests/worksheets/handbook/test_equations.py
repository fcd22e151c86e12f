"""Each equation's example, worked again out of its text, and held to the function that the program works it by."""

import importlib
import re
import tomllib
from importlib import resources

import numpy as np
import pytest
from added_by_hand import FIGURE, adds_up

from truethrow.worksheets.handbook import equations

TABLE = tomllib.loads(
    resources.files("truethrow.worksheets.handbook").joinpath("equations.toml").read_text(encoding="utf-8")
)["equation"]
CALLED = [one for one in TABLE if one["where"]]


@pytest.mark.parametrize("one", TABLE, ids=lambda one: one["of"])
def test_its_example_adds_up(one):
    assert adds_up(f"of = {one['example']}"), one["example"]


@pytest.mark.parametrize("one", CALLED, ids=lambda one: one["of"])
def test_its_example_is_what_the_program_says(one):
    module, _, name = one["where"].partition(":")
    found = getattr(importlib.import_module(module), name)(*one["call"])
    found = found[one["index"]] if "index" in one else found
    printed = FIGURE.search(one["example"].rpartition(" = ")[2])[0]
    places = len(printed.rstrip("…").partition(".")[2])
    assert float(np.real(found)) == pytest.approx(float(printed.rstrip("…")), abs=10.0**-places)


def test_each_symbol_is_in_its_formula_and_each_has_a_source():
    made = equations.equations()
    assert len(made) == len(TABLE) >= 25
    assert len({one.of for one in made}) == len(made)
    for one in made:
        assert one.source
        text = f"{one.of} {one.formula}"
        assert [
            symbol
            for symbol, _, _ in one.symbols
            if not re.search(rf"(?<![A-Za-z_]){re.escape(symbol)}(?![A-Za-z_])", text)
        ] == []


def test_they_are_printed_each_with_its_symbols():
    blocks = equations.blocks()
    assert [one.heading for one in blocks] == [one["of"] for one in TABLE]
    for block, one in zip(blocks, TABLE, strict=True):
        assert len(block.lines) == 3 + len(one["symbols"])
        assert one["source"] in block.lines[-2]
