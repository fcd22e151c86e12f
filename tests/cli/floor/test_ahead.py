"""What lies ahead is told on a page as the commands tell it, without one to type, and none of it is recorded."""

from __future__ import annotations

import asyncio

import pytest
from build_shop import weighed
from commands import run
from floor_bench import VIEWER, until
from floor_shop import served

from truethrow.balance import demo
from truethrow.balance.book import jobs, stock
from truethrow.balance.book.booked import BookedJob
from truethrow.cli.floor.ahead import ahead, files_of, stamp
from truethrow.worksheets.words import build_words as words
from truethrow.worksheets.words import shelf_words

PAPERS = ("choice.toml", "shelf-rods.csv", "shelf-pistons.csv", "shelf-pins.csv")


@pytest.fixture
def job(tmp_path):
    path = weighed(tmp_path)
    for name in PAPERS:
        (path.parent / name).write_text(demo.text(name), encoding="utf-8")
    return path


def told(job, what, **asked):
    found = asyncio.run(ahead(job, "launch", what, asked))
    assert found.fault == ""
    for one in found.told:
        assert "truethrow" not in one.text
        assert "--" not in one.text
        assert str(job.parent) not in one.text
    return found


def cells(found):
    """All that stands in its tables, and in its lines."""
    yield from (cell for one in found.told for row in (one.columns, *one.rows) for cell in row if cell)
    yield from (one.text for one in found.told if one.kind in ("line", "strong"))


def flat(text):
    return " ".join(text.split())


def test_a_folder_has_what_lies_in_it_and_a_weigh_sheet_is_no_shelf(job):
    assert files_of(job)[:2] == (("choice.toml",), ("shelf-pins.csv", "shelf-pistons.csv", "shelf-rods.csv"))
    for name in PAPERS:
        (job.parent / name).unlink()
    assert not files_of(job).has_loose_parts


def test_what_a_change_would_do_is_what_what_if_tells(job):
    found = told(job, "what-if", share="0.48", part="piston -12; pin 3 = 118.2")
    said = flat(run("what-if", job, "--share", "0.48", "--part", "piston -12", "--part", "pin 3 = 118.2").out)
    assert len([one for one in found.told if one.kind == "table"]) > 4
    assert [one for one in cells(found) if flat(one) not in said] == []


def test_what_no_change_can_be_is_refused_by_the_forms_fields(job):
    found = asyncio.run(ahead(job, "launch", "what-if", {"share": "x", "oil": "lots"}))
    assert found.fault.splitlines()[0].startswith(f"{words.WHAT_IF_FIELDS['share']}: x")
    assert words.WHAT_IF_FIELDS["oil"] in found.fault
    assert found.told == ()


def test_candidates_are_those_that_candidates_tells_and_one_may_be_looked_at_alone(job):
    found = told(job, "candidates", file="choice.toml", by="slugs")
    said = flat(run("candidates", job.parent / "choice.toml", "--sort", "slugs").out)
    assert [one for one in cells(found) if flat(one) not in said] == []
    assert found.count == 6
    alone = told(job, "candidates", file="choice.toml", by="slugs", pick="3")
    every = [one.rows[2:3] for one in found.told if one.kind == "table"]
    assert [one.rows for one in alone.told if one.kind == "table"] == every
    assert [one.text for one in alone.told] == [one.text for one in found.told]


def test_the_builders_page_leads_to_what_lies_there_and_whoever_was_let_in_reads_it(job):
    before = job.with_suffix(".readings.jsonl").read_bytes()
    with served(job, owner=VIEWER) as client:
        page = client.get("/build/launch")[2]
        for address in ("candidates?file=choice.toml", "shelf", "what-if"):
            assert f'href="/build/launch/{address}"' in page
        assert words.WORK_OUT in client.get("/build/launch/what-if")[2]
        address = "/build/launch/what-if?share=0.48"
        until(lambda: words.WORKS_IT_OUT not in client.get(address)[2])
        assert "share 0.48" in client.get(address)[2]
        for strange in ("candidates", "candidates?file=../launch.toml", "candidates?file=launch.toml"):
            assert client.get(f"/build/launch/{strange}")[0] == 404
        assert client.get("/build/nobody/what-if?share=0.5")[0] == 409
        for name in PAPERS:
            (job.parent / name).unlink()
        assert client.get("/build/launch/shelf")[0] == 404
    assert job.with_suffix(".readings.jsonl").read_bytes() == before


def test_of_a_job_of_the_book_the_loose_parts_of_its_stock_are_told_as_shelf_tells_them(book, job):
    jobs.add(book, jobs.from_file(job))
    place = BookedJob(book, "launch-7")
    assert files_of(place) == ((), (), True)
    assert asyncio.run(ahead(place, "launch-7", "shelf", {})).fault == words.EMPTY_STOCK
    before = stamp(place)
    stock.add(book, [job.parent / name for name in PAPERS if name.startswith("shelf")])
    assert stamp(place) != before
    found = asyncio.run(ahead(place, "launch-7", "shelf", {}))
    assert found.fault == ""
    assert "5 engines of 8 from 40 rods, 40 pistons, 40 pins" in found.told[0].text
    assert any(one.kind == "caution" and one.text == shelf_words.WHICH_ENGINE for one in found.told)
    assert not any("truethrow" in one.text for one in found.told)
    cells = {cell for one in found.told for row in one.rows for cell in row}
    assert {"R06", "P23", "N37"} <= cells
