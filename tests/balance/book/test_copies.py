"""The lines of a copy come back, or are refused line by line."""

from __future__ import annotations

import pytest

from truethrow.balance.base.errors import BadInput
from truethrow.balance.book import copies


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
