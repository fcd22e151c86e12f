"""The handbook, whole: its chapters in their order, as one page of the cards' own type."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from truethrow.balance.base.program import version
from truethrow.worksheets.cards.card import Block, Card, CardTable, Chapter, Contents, Lines, Picture, Side, Word
from truethrow.worksheets.drawn.on_the_scale import on_the_scale
from truethrow.worksheets.handbook import (
    chapter_text,
    checks,
    commands,
    equations,
    file_formats,
    library_pages,
    messages,
)
from truethrow.worksheets.handbook.chapter_text import WHOLE, Parts
from truethrow.worksheets.handbook.example import Example, example
from truethrow.worksheets.pages.page import page
from truethrow.worksheets.words import cautions
from truethrow.worksheets.words.worked_lines import Working

TITLE = "The program's own handbook"
CHAPTERS = (
    *("cautions", "weigh", "benches", "equations", "library"),
    *("files", "commands", "messages", "checks"),
)
# Of the page's width, for a drawing by itself.
ALONE = 0.55
HEADS = ("", "worked", "comes to", "from")
# In the order in which hands meet them.
CAUTIONS = {
    "Always": (cautions.MAKERS_FIRST,),
    "At the scale": (cautions.BENCH_CAUTION,),
    "Grinding": (*cautions.TRIM_CAUTIONS, cautions.GRIND_CAUTION),
    "At the station": (
        *(cautions.STACK_CAUTION, cautions.SPIN_CAUTION, cautions.MASS_CAUTION, cautions.BARE_CAUTION),
        *(cautions.DRILL_CAUTION, cautions.LIMIT_CAUTION, cautions.SLUG_CAUTION, cautions.MEMBER_CAUTION),
        *(cautions.STATION_CAUTIONS[0], cautions.SIGN_CAUTION),
    ),
    "Figures, prices and reports": (cautions.SHAKE_CAUTION, cautions.QUOTE_CAUTION, cautions.REPORT_CAUTION),
}


def handbook(told: Sequence[commands.Command], program: Path, date: str) -> Card:
    """told: the commands, as the command line has them; program: the folder that the program is in; date: of
    issue, ISO 8601."""
    of_demo = example()
    pictures = of_demo.pictures | _on_the_scale(of_demo)
    parts: Parts = {
        "cautions": lambda _: tuple(Lines(said, heading, "framed") for heading, said in CAUTIONS.items()),
        "picture": lambda names: _pictures([pictures[name] for name in names.split()]),
        "working": lambda figure: (_worked(of_demo.working(figure)),),
        "hole": lambda _: (_worked(of_demo.hole),),
        "equations": lambda _: equations.blocks(),
        "library": lambda _: library_pages.blocks(),
        "blank": file_formats.blank_of,
        "begin": file_formats.begin_of,
        "columns": lambda _: file_formats.columns(),
        "records": lambda _: file_formats.log_records(),
        "commands": lambda _: commands.blocks(told),
        "messages": lambda _: messages.blocks(program),
        "checks": lambda _: checks.blocks(),
    }
    texts = {name: chapter_text.text(name) for name in CHAPTERS}
    made: list[Block] = [Contents(tuple(Chapter(chapter_text.title(text), name) for name, text in texts.items()))]
    for name, text in texts.items():
        made += chapter_text.blocks(name, text, of_demo.figures, parts)
    data = {"program": version(), "figures": of_demo.figures}
    return page("handbook", TITLE, (f"truethrow {version()}", "", ""), data, tuple(made), (), date)


def _pictures(found: list[Picture]) -> tuple[Block, ...]:
    """One by itself, or two beside each other, each told in words below it."""
    alone = len(found) == 1
    told = [
        replace(one, wide=(one.wide if one.wide < 1 else ALONE) if alone else 1.0, caption=one.words)
        for one in found
    ]
    return (Side(tuple((one,) for one in told), (1.0,) * len(told)),) if len(told) > 1 else (told[0],)


def _on_the_scale(of_demo: Example) -> dict[str, Picture]:
    """The first rod of the demo, as it is weighed."""
    job, found = of_demo.result.job, {}
    for kind, name in (("big_end", "big end"), ("small_end", "small end")):
        reads = f"{job.parts[1][kind].typed[0]} {job.mass_unit}"
        svg = on_the_scale("big_end" if kind == "big_end" else "small_end", reads)
        words = f"A rod lying level: its {name} on the scale, which reads {reads}, the other end on a support."
        found[f"scale/{name.replace(' ', '-')}"] = Picture(f"scale-{kind}", svg, words, wide=0.6)
    return found


def _worked(made: Working) -> CardTable:
    rows = tuple((line.what, line.by, Word(str(line.figure)), line.comes_from) for line in made.lines)
    return CardTable("working", HEADS, rows, "", close=True, most_lines=WHOLE)
