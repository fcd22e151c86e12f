"""The file formats, asked of the checks that read them."""

import importlib
import pkgutil

import pytest

from truethrow import balance
from truethrow.balance.base.fields import Table
from truethrow.balance.blanks import texts
from truethrow.balance.job import document
from truethrow.balance.log import records
from truethrow.worksheets.cards.card import CardTable, Typed
from truethrow.worksheets.data import station_sheet
from truethrow.worksheets.handbook import file_formats


def every_table():
    for module in pkgutil.walk_packages(balance.__path__, f"{balance.__name__}."):
        if ".migrations" not in module.name:
            importlib.import_module(module.name)
    left, found = [Table], set()
    while left:
        for one in left.pop().__subclasses__():
            if one.__module__.startswith("truethrow.") and one not in found:
                found.add(one)
                left.append(one)
    return found


@pytest.mark.parametrize("name", file_formats.TABLES)
def test_a_blank_is_printed_as_it_is_written_with_all_keys_of_its_tables(name):
    typed, *tables = file_formats.blank_of(name)
    assert isinstance(typed, Typed)
    if name != "job":
        assert typed.lines == tuple(texts.text(name).rstrip().splitlines())
    for block, table in zip(tables, file_formats.TABLES[name], strict=True):
        assert isinstance(block, CardTable)
        keys = [field.alias or key for key, field in table.model_fields.items()]
        assert [row[0] for row in block.rows] == keys
        assert all(row[1] and row[1] != "anything" and "Input should" not in row[1] for row in block.rows)


def test_what_a_key_may_say_is_what_its_check_says():
    told = {key: (may, without) for key, may, without in file_formats.keys(document.ScaleTable)}
    assert told["resolution"] == ("a mass, above 0 and at most 50000 g", "must be there")
    assert told["tared"] == ("true or false", "true")
    assert told["calibration_percent"] == ("0 to 5", "0.0")


def test_every_blank_is_told():
    assert {*texts.NAMES, "job"} == {*file_formats.TABLES}


def test_every_table_of_every_document_is_told():
    """But those that others are made of."""
    told = {table for tables in file_formats.TABLES.values() for table in tables}
    assert {one for one in every_table() - told if not any(issubclass(other, one) for other in told)} == set()


def test_every_kind_of_record_is_told_with_its_own_fields():
    (table,) = file_formats.log_records()
    assert [row[0] for row in table.rows] == list(records.KINDS)
    assert {row[0]: row[2] for row in table.rows}["built"].startswith("throw, grams, asked_g")
    assert all(row[1].endswith(".") for row in table.rows)


def test_a_file_of_the_demo_is_begun():
    (typed,) = file_formats.begin_of("launch-weigh.csv 3")
    assert len(typed.lines) == 3
    assert typed.lines[0].startswith("cylinder;")


def test_every_column_of_the_stations_sheet_is_told():
    (table,) = file_formats.columns()
    assert tuple(row[0] for row in table.rows) == station_sheet.COLUMNS == tuple(file_formats.COLUMNS)
    assert all(row[1] for row in table.rows)
