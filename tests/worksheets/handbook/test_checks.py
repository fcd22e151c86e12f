"""The table of checks as it is printed."""

from truethrow.worksheets.cards.card import CardTable
from truethrow.worksheets.handbook import checks


def test_each_row_that_the_tests_made_is_printed_once_under_its_source():
    stored = checks.checks()
    first, *tables = checks.blocks()
    assert all(isinstance(one, CardTable) for one in tables)
    assert [one.caption for one in tables] == list(dict.fromkeys(one.source for one in stored))
    rows = [row for table in tables for row in table.rows]
    assert [(row[1], row[3], row[4]) for row in rows] == [(one.what, one.ours, one.difference) for one in stored]
    assert f"{len(stored)} printed answers" in first.lines[0]


def test_what_is_from_memory_is_marked():
    stored = checks.checks()
    rows = [row for table in checks.blocks()[1:] for row in table.rows]
    for row, one in zip(rows, stored, strict=True):
        assert row[2].endswith(checks.FROM_MEMORY) == bool(one.memory)
        assert row[2].startswith(one.printed)
