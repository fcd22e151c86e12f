"""What a document may say, table by table."""

from __future__ import annotations

import pytest
from full_document import TABLES, at, document, faults, whole


@pytest.mark.parametrize("path", [(), *TABLES], ids=lambda path: ".".join(map(str, path)) or "top level")
def test_a_misspelt_key_is_refused_in_every_table_with_the_one_it_resembles(path):
    data = whole()
    key = TABLES[path] if path else "bobweight"
    misspelt = f"{key}x"
    at(data, path)[misspelt] = {} if not path else 1
    assert any(f"'{misspelt}' is not known here (did you mean {key}?)" in line for line in faults(data))


@pytest.mark.parametrize("table", ["job", "engine", "scale", "bobweight", "limits", "trim", "station"])
@pytest.mark.parametrize("value", [1, "x", [], True])
def test_what_is_no_table_is_refused(table, value):
    assert any(
        line.startswith(f"{table}: ") and "is not a table" in line for line in faults(document(**{table: value}))
    )


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("scale", "tared"), 1),
        (("scale", "tared"), "yes"),
        (("bobweight", "share"), "0.5"),
        (("bobweight", "share"), True),
        (("bobweight", "share"), 1.01),
        (("bobweight", "share"), -0.01),
        (("bobweight", "share"), 10**400),
        (("bobweight", "hang"), "median"),
        (("bobweight", "hang"), 0),
        (("bobweight", "hang"), True),
        (("job", "id"), 7),
        (("job", "id"), " "),
        (("job", "id"), "x" * 65),
        (("job", "title"), "a\nb"),
        (("job", "title"), "\x1b[31mred"),
        (("job", "mass_unit"), "mm"),
        (("job", "mass_unit"), 1),
        (("job", "length_unit"), "g"),
        (("engine", "layout"), 8),
        (("engine", "numbering"), "by bank"),
        (("engine", "first_bank"), "lef"),
        (("engine", "without"), ["lock"]),
        (("engine", "without"), "locks"),
        (("engine", "throw_angles"), []),
        (("engine", "throw_angles"), [[], 0, 0, 0]),
        (("engine", "throw_angles"), [721]),
        (("engine", "banks"), {"left": "x"}),
        (("engine", "top_speed"), "93 Hz"),
        (("engine", "stroke"), True),
        (("scale", "resolution"), 0),
        (("scale", "resolution"), [0.1]),
        (("limits", "piston"), 0),
        (("trim", "piston"), -1),
        (("trim", "big_end_pad"), {"at": -48.0}),
        (("station", "grade"), 0),
        (("station", "crank_mass"), "24.3 mm"),
        (("cylinder", 0, "number"), 1.0),
        (("cylinder", 0, "number"), True),
        (("cylinder", 0, "labels"), "R1"),
    ],
    ids=str,
)
def test_a_value_of_the_wrong_kind_is_named_where_it_stands(path, value):
    data = document()
    at(data, path[:-1])[path[-1]] = value
    where = [str(step) for step in path if not isinstance(step, int)]
    assert any(line.startswith(where[0]) and where[-1] in line.split(":")[0] for line in faults(data))


@pytest.mark.parametrize("aims", [[], "grams", ["grams", "grams"], ["grams", "limits", "grams"], 5])
def test_aims_are_each_named_once_and_there_is_one_at_least(aims):
    (line,) = faults(document(match={"aims": aims}))
    assert line.startswith("match, aims: ")
    assert line.endswith(
        "; allowed: each at most once, in order, of: limits, grams, bobweight, reciprocating, rotating, residual"
    )
