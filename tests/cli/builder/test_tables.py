"""The builder's tables: what is shown, and what stops somebody."""

import invented
import pytest
from invented import worked

from truethrow.cli.builder import tables
from truethrow.cli.show import Screen
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import result_words
from truethrow.worksheets.words.cautions import TRIM_CAUTIONS

GRAMS = Display("g", "mm", 0.1)
PADS = {"piston": 5.0}


@pytest.fixture
def shown(capsys):
    """The lines of a table, each as its words with single blanks."""

    def lines(table, result, show=GRAMS):
        table(Screen(), result, show)
        return [" ".join(line.split()) for line in capsys.readouterr().out.splitlines()]

    return lines


def heavy(**tables_):
    return worked(invented.cylinders(piston={3: [541.0] * 2}), limits={"piston": 1.0}, trim=PADS, **tables_)


def test_the_head_shows_the_engine_so_that_a_slip_in_it_is_seen(shown):
    said = "\n".join(shown(tables.head, worked()))
    for fact in ("launch-7", "v8-90-crossplane", "92 mm", "155 mm", "5600 r/min"):
        assert fact in said
    inch = "\n".join(shown(tables.head, worked(), Display("oz", "in", 0.1)))
    assert "3.622 in" in inch


def test_each_throw_stands_with_what_it_carries_and_what_is_hung(shown):
    lines = shown(tables.bobweights, worked())
    head = next(n for n, line in enumerate(lines) if line.startswith("throw "))
    assert [line.split(" ", 4)[:4] for line in lines[head + 1 : head + 5]] == [
        *(["1", "0°", "1,", "2"], ["2", "90°", "3,", "4"], ["3", "270°", "5,", "6"], ["4", "180°", "7,", "8"]),
    ]
    assert all("4.0 1866.50 0.21 1866.5 0.00" in line for line in lines[head + 1 : head + 5])
    assert any(line.startswith("Hang 1866.5 g on every throw") for line in lines)


def test_a_spread_outside_its_limit_is_in_capitals_with_who_is_lightest_and_heaviest(shown):
    (row,) = (line for line in shown(tables.spreads, heavy()) if line.startswith("piston "))
    assert row.endswith("OUTSIDE")
    assert "541.0 (3)" in row
    assert "2.6" in row


def test_nothing_that_looks_like_a_slip_is_said_to(shown):
    assert result_words.NO_SLIP in shown(tables.slips, worked())
    said = "\n".join(shown(tables.slips, worked(invented.cylinders(piston={3: 18.99}))))
    assert "- piston 3: 19.0 g is" in said
    assert "ounces read as grams?" in said


def test_a_trim_has_its_cuts_its_name_and_its_cautions(shown):
    lines = shown(tables.trim, heavy())
    assert any(line.startswith("- piston 3: take 1.8 g") for line in lines)
    assert any(line.startswith("This is plan ") for line in lines)
    for caution in TRIM_CAUTIONS:
        assert f"! {caution}" in lines
    assert any("off 1 part. Afterwards" in line for line in shown(tables.trim, heavy()))


def test_a_trim_that_is_held_back_has_no_cut(shown):
    result = worked(invented.cylinders(piston={3: 18.99, 5: [541.0] * 2}), limits={"piston": 1.0}, trim=PADS)
    lines = shown(tables.trim, result)
    assert result_words.HELD in lines
    assert not any("take" in line for line in lines)
    assert shown(tables.trim, worked(limits={"piston": 1.0}))[-1].startswith("Nothing to trim")


def test_the_stations_notes_say_that_parts_are_not_as_they_are_to_be(capsys):
    tables.station_notes(Screen(), heavy())
    assert result_words.AS_WEIGHED in capsys.readouterr().out
    tables.station_notes(Screen(), worked())
    assert result_words.AS_WEIGHED not in capsys.readouterr().out
