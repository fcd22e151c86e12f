"""One rod cannot sit in two engines. A mark that is in two open jobs of the book is told where it comes in: with
a job's text, with a weigh sheet, with a move of the stock; nothing is refused, since two parts may be marked
alike."""

from __future__ import annotations

import os

import books
import invented
import pytest
from commands import run

SHEET = "cylinder,rod label,piston label,piston\n{}"


@pytest.fixture(params=books.KINDS)
def shop(request, tmp_path):
    with books.fresh(request.param, tmp_path) as url:
        settings = {**os.environ, "XDG_DATA_HOME": str(tmp_path / "data"), "TRUETHROW_BOOK": url}

        def ran(*words, status=0):
            done = run(*words, folder=tmp_path, environment=settings)
            assert done.status == status, done
            return [line for line in done.out.splitlines() if " is open and has these, too: " in line]

        for job in ("launch-1", "launch-2"):
            made = invented.document(job={"id": job})
            made.pop("cylinder")
            (tmp_path / f"{job}.toml").write_text(invented.text(made))
            assert ran("book", "add", f"{job}.toml") == []
        yield ran


def sheet(folder, name: str, rod: str) -> str:
    rows = "".join(f"{number},{rod}{number},{name}-{number},538.{number}\n" for number in range(1, 9))
    (folder / f"{name}.csv").write_text(SHEET.format(rows))
    return f"{name}.csv"


def test_a_mark_of_another_open_job_is_told_with_the_sheet_and_with_the_text(shop, tmp_path):
    assert shop("enter", "launch-1", sheet(tmp_path, "one", "R")) == []
    (told,) = shop("enter", "launch-2", sheet(tmp_path, "two", "R"))
    assert told.startswith("! job launch-1 is open and has these, too: rod R1 (in its 1), rod R2 (in its 2), ")
    assert told.endswith("rod R8 (in its 8); see which one has it: truethrow book part R1")
    shop("book", "export", "launch-2", "--into", "out")
    text = (tmp_path / "out" / "launch-2.toml").read_text()
    (tmp_path / "again.toml").write_text(text.replace('"R1"', '"X1"'))
    (told,) = shop("book", "put", "launch-2", "again.toml", "--revision", "2")
    assert "rod R2 (in its 2)" in told and "R1 " not in told
    (tmp_path / "third.toml").write_text(text.replace("launch-2", "launch-3"))
    assert len(shop("book", "add", "third.toml")) == 2
    shop("book", "verify")


def test_it_is_told_at_the_bench(shop, tmp_path):
    """Once more by whoever weighs: the rod is on his scale."""
    shop("enter", "launch-1", sheet(tmp_path, "one", "R"))
    shop("enter", "launch-2", sheet(tmp_path, "two", "R"))
    (told,) = shop("weigh", "launch-2")
    assert told.startswith("! job launch-1 is open and has these, too: rod R1 (in its 1), ")
    shop("close", "launch-1", "--given-up", "--by", "AB", "--why", "the block is cracked")
    assert shop("weigh", "launch-2") == []


def test_of_a_closed_job_nothing_is_told(shop, tmp_path):
    shop("enter", "launch-1", sheet(tmp_path, "one", "R"))
    shop("close", "launch-1", "--given-up", "--by", "AB", "--why", "the block is cracked")
    assert shop("enter", "launch-2", sheet(tmp_path, "two", "R")) == []


def test_it_is_told_with_a_move_of_the_stock(shop, tmp_path):
    shop("enter", "launch-1", sheet(tmp_path, "one", "R"))
    (tmp_path / "rods.csv").write_text("rod label,big end,small end\nR3,450.1,170.2\nQ9,450.1,170.2\n")
    shop("book", "stock", "add", "rods.csv")
    (told,) = shop("book", "stock", "move", "rod", "R3", "--job", "launch-2", "--cylinder", "1")
    assert told.startswith("! job launch-1 is open and has these, too: rod R3 (in its 3); ")
    assert shop("book", "stock", "move", "rod", "Q9", "--job", "launch-2", "--cylinder", "2") == []
