"""The text of a job file: junk is refused in lines that no terminal minds."""

from __future__ import annotations

from decimal import Decimal

import invented
import pytest
from commands import refused
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.base import fields
from truethrow.balance.base.errors import BadInput
from truethrow.balance.base.fields import Units
from truethrow.balance.job import job
from truethrow.balance.job.document import BenchTable, ScaleTable
from truethrow.balance.job.jobfile import bare_units, load_engine, parse_toml, reach, scale_unit


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 100_000 + "]" * 100_000,
        "job = " + "[" * 200 + "]" * 200,
        "job = " + "{a = " * 100_000,
        "cylinder" + ".a" * 2000 + " = 1",
        "cylinder" + ".a" * 120 + " = 1",
        "[cylinder" + ".a" * 20 + "]\n",
        "job = 1" + "0" * 100_000,
        "job = 0x" + "f" * 100_000,
        "\x01\x02\x03",
        "[job",
        "a = 1\na = 2",
        "= 1",
        '"\x1b[31m" = 1',
        '"\\u001b[31m" = 1',
        "[engine.banks]\n\"\\u001b[31m\" = 'x'",
        "\n".join(f"k{i} = 1" for i in range(5000)),
    ],
    ids=lambda text: text[:12],
)
def test_junk_is_refused_with_lines_that_no_terminal_minds(text):
    with pytest.raises(BadInput) as caught:
        job.build(text, "junk.toml")
    assert all(line.isprintable() and len(line) < 400 for line in caught.value.lines())


@given(st.text() | st.text(alphabet="[]{}=.,\"'\n#0123456789eEjobcylindr +-"))
def test_any_text_is_a_job_or_bad_input(text):
    with pytest.raises(BadInput):
        job.build(text)


def test_every_number_is_kept_as_it_was_written():
    assert parse_toml("a = 538.40\nb = 1e400", "a.toml") == {"a": Decimal("538.40"), "b": Decimal("1e400")}
    assert str(parse_toml("a = 538.40", "a.toml")["a"]) == "538.40"


@pytest.mark.parametrize(
    ("head", "unit"),
    [({"mass_unit": "oz"}, "oz"), ({}, "g"), ({"mass_unit": "mm"}, "g"), ({"mass_unit": 3}, "g"), ("x", "g")],
)
def test_a_unit_that_is_none_is_told_with_the_table_and_bare_numbers_are_read_as_usual(head, unit):
    assert bare_units({"job": head}).mass == unit


def test_what_the_scale_can_read_bounds_every_reading():
    faults = []
    table = fields.validate(ScaleTable, {"resolution": 0.5}, "scale", Units(), faults)
    assert reach(Units("oz", "in"), table) == Units("oz", "in", 0.5, fields.HEAVIEST_G)
    assert reach(Units("oz", "in"), None) == Units("oz", "in")


def test_an_engine_is_read_of_a_job_whose_readings_are_still_blank(tmp_path):
    path = tmp_path / "job.toml"
    data = invented.document(parts=[], scale=None)
    path.write_text(invented.text(data), encoding="utf-8")
    assert load_engine(path).layout_name == "v8-90-crossplane"
    path.write_text(invented.text(data | {"engine": {"stroke": 92.0}}), encoding="utf-8")
    assert f"{path}: engine, layout: missing" in refused(load_engine, path)


@pytest.mark.parametrize(
    ("bench", "read", "step", "unit"),
    [
        ({}, [], "0.1", "g"),
        ({}, [], "0.005 oz", "oz"),
        ({}, ["19.0 ounces", "18.9 oz"], "0.1", "oz"),
        ({}, ["1 lb 3.2 oz"], "0.1", "oz"),
        ({}, ["19.0 oz", "538.4"], "0.1", "g"),
        ({}, ["19.0 oz", "538.4"], "0.005 oz", "oz"),
        ({}, ["538.4"], "0.005 oz", "g"),
        ({"unit": "oz"}, ["538.4"], "0.1", "oz"),
        ({"unit": "g"}, ["19.0 oz"], "0.005 oz", "g"),
        ({"port": "/dev/ttyUSB0"}, ["19.0 oz"], "0.005 oz", "g"),
        ({"name": "floor"}, ["19.0 oz"], "0.1", "oz"),
    ],
)
def test_what_a_scale_shows_is_what_its_bench_says_else_what_was_read_on_it(bench, read, step, unit):
    raw = {"job": {"id": "a"}, "scale": {"resolution": step}, "cylinder": [{"number": 1, "piston": read}]}
    assert scale_unit(raw, BenchTable(**bench)) == unit
    assert scale_unit(raw | {"cylinder": []}, BenchTable(**bench), read) == unit
