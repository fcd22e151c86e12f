"""The working of a figure, as a page: line by line, to be added up by hand on it."""

from __future__ import annotations

from truethrow.balance.job.job import Job
from truethrow.worksheets.cards.card import Block, Card, CardTable, Lines, Word
from truethrow.worksheets.pages.page import page
from truethrow.worksheets.words import about_words
from truethrow.worksheets.words.cautions import MAKERS_FIRST
from truethrow.worksheets.words.worked_lines import MORE_SAID, Line, Working

TITLE = "As a hand works it"
HEADS = ("", "worked", "comes to", "from")


def working_page(job: Job, made: Working, date: str) -> Card:
    rows = tuple(_row(line) for line in made.lines)
    blocks: list[Block] = [Lines(made.against, "Read this first", "framed")] if made.against else []
    blocks.append(CardTable("working", HEADS, rows, made.of[0].upper() + made.of[1:], close=True, most_lines=9))
    said = f"{made.said}." if made.said else ""
    blocks.append(Lines(tuple(one for one in (said, MORE_SAID) if one)))
    whose = job.id, job.title, about_words.line(job.about)
    data = {"working": made.as_data()}
    return page("working", TITLE, whose, data, tuple(blocks), (*made.cautions, MAKERS_FIRST), date, job.digest)


def _row(line: Line) -> tuple[str | Word, ...]:
    return line.what, line.by, Word(str(line.figure)), line.comes_from
