"""The pages of a file, row by row, against what SQLite itself reads."""

import sqlite3

import pytest

from truethrow.balance.book.pages import Pages, sizes

ROWS = [
    (None, 0, 1, -1, "größe · 重い"),
    (b"\x00\xff", 127, 128, -32769, ""),
    (2**40, 2**47, -(2**63), 538.4, "x" * 40),
    (1e-300, -0.5, 8388607, 2147483648, "long " * 4000),  # over several pages
]


@pytest.fixture(params=[512, 4096, 65536])
def size(request):
    return request.param


def written(path, size, *, wal=False, commit=True):
    """A table of these rows, many times over; the connection is left open, so that a -wal file stays."""
    made = sqlite3.connect(path, isolation_level=None)
    made.execute(f"PRAGMA page_size = {size}")
    made.execute(f"PRAGMA journal_mode = {'wal' if wal else 'delete'}")
    made.execute("CREATE TABLE t (a, b, c, d, e)")
    made.execute("BEGIN")
    for _ in range(30):
        made.executemany("INSERT INTO t VALUES (?, ?, ?, ?, ?)", ROWS)
    if commit:
        made.execute("COMMIT")
    return made


def rows_of(pages):
    found = [row for number in pages.numbers for row in pages.pointed_at(number)]
    assert None not in found
    return [row for row in found if row[:2] != ["table", "t"]]  # what SQLite keeps of the table itself


def in_order(rows):
    return sorted(map(repr, map(list, rows)))


def test_every_row_is_read_as_sqlite_reads_it(tmp_path, size):
    made = written(tmp_path / "a.db", size)
    told = made.execute("SELECT * FROM t").fetchall()
    made.close()
    raw = (tmp_path / "a.db").read_bytes()
    assert size in sizes(raw, b"")
    assert in_order(rows_of(Pages(raw, b"", size))) == in_order(told)
    assert len(told) == 30 * len(ROWS)


def test_what_was_committed_counts_though_it_is_in_the_file_beside_alone(tmp_path):
    made = written(tmp_path / "a.db", 4096, wal=True)
    told = made.execute("SELECT * FROM t").fetchall()
    raw, wal = ((tmp_path / name).read_bytes() for name in ("a.db", "a.db-wal"))
    assert rows_of(Pages(raw, b"", 4096)) == []
    assert in_order(rows_of(Pages(raw, wal, 4096))) == in_order(told)
    made.close()


def test_pages_behind_the_last_sound_commit_are_doubtful(tmp_path):
    made = written(tmp_path / "a.db", 4096, wal=True)
    raw, wal = ((tmp_path / name).read_bytes() for name in ("a.db", "a.db-wal"))
    whole = Pages(raw, wal, 4096)
    assert whole.doubtful == []
    flipped = bytearray(wal)
    flipped[-100] ^= 1  # on the last page of the last commit
    torn = Pages(raw, bytes(flipped), 4096)
    assert torn.doubtful
    assert rows_of(torn) == []
    made.close()


def test_a_row_can_be_found_where_nothing_points_at_it(tmp_path):
    written(tmp_path / "a.db", 4096).close()
    pages = Pages((tmp_path / "a.db").read_bytes(), b"", 4096)
    page = bytearray(next(pages.page(n) for n in pages.numbers if list(pages.pointed_at(n)) and n > 1))
    page[:200] = bytes(200)  # its head, and what points at its rows
    found = list(pages.anywhere(bytes(page)))
    assert list(ROWS[1]) in found
    assert list(pages.anywhere(bytes(4096))) == []


def test_what_points_anywhere_is_no_row_and_no_fault(tmp_path):
    written(tmp_path / "a.db", 4096).close()
    raw = bytearray((tmp_path / "a.db").read_bytes())
    at = raw.index("größe".encode())
    raw[at - 12 : at - 2] = b"\xff" * 10
    pages = Pages(bytes(raw), b"", 4096)
    rows = [row for number in pages.numbers for row in pages.pointed_at(number)]
    assert rows.count(None) <= 2
    assert len(rows) >= 30 * len(ROWS) - 2


def test_a_file_says_how_large_its_pages_are(tmp_path):
    written(tmp_path / "a.db", 512).close()
    assert sizes((tmp_path / "a.db").read_bytes(), b"") == [512]


def test_a_file_that_does_not_say_how_large_its_pages_are_may_have_any_size():
    assert sizes(b"", b"")[0] == 4096
    assert set(sizes(bytes(100), b"")) == {1 << power for power in range(9, 17)}
