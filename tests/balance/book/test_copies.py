"""The lines of a copy come back, or are refused line by line."""

from __future__ import annotations

import books
import pytest

from truethrow.balance.base.errors import BadInput
from truethrow.balance.book import copies, stock
from truethrow.balance.book.place import BookedJob
from truethrow.balance.demo import copy_into
from truethrow.balance.log.place import Outgoing


@pytest.fixture
def full(book, tmp_path, monkeypatch):
    """A book with something in every table."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    fill(book, tmp_path)
    return book


def fill(book, folder, count=3):
    for number in range(1, count + 1):
        books.with_job(book, folder, f"launch-{number}")
        log = BookedJob(book, f"launch-{number}").open_log(by="AB")
        for cylinder in range(1, 9):
            log.append("read", cylinder=cylinder, kind="piston", grams=538.0 + cylinder / 8, why="x" * 40 * number)
    placed = BookedJob(book, "launch-1")
    placed.write_text(placed.text() + "# " + "long " * 3000 + "\n", placed.text())  # more than a page
    with placed.issuing([Outgoing("station", b"sheet", "t0", "launch-1-station.csv")]):
        pass
    copy_into(folder)
    stock.add(book, [folder / "shelf-rods.csv"], "AB")
    stock.move(book, "rod", "R01", "launch-1", 1)


def test_lines_of_a_copy_are_read_back_or_refused_line_by_line(full, tmp_path):
    with full.reading() as connection:
        count = copies.write(connection, tmp_path / "x.jsonl")
    lines = (tmp_path / "x.jsonl").read_bytes().splitlines(keepends=True)
    assert len(lines) == count + 2
    assert len(list(copies.read(tmp_path / "x.jsonl"))) == count
    for wrong in (
        lines[:-1],
        [*lines[:5], *lines[6:]],
        [*lines, lines[3]],
        [lines[0], *reversed(lines[1:-1]), lines[-1]],
    ):
        (tmp_path / "y.jsonl").write_bytes(b"".join(wrong))
        with pytest.raises(BadInput):
            list(copies.read(tmp_path / "y.jsonl"))
