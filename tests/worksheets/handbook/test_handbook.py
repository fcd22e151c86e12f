"""The handbook, whole: nothing of it is cut, nothing is stale, and it prints."""

import re
import shlex
import unicodedata

import handbook_shop
import pypdfium2
import pytest
import typer.main

from truethrow.cli.main import app
from truethrow.worksheets.cards.card import CardTable, Chapter, Contents, Lines, Picture, Side, Typed, Word, flat
from truethrow.worksheets.handbook import chapter_text
from truethrow.worksheets.handbook.handbook import CAUTIONS, CHAPTERS
from truethrow.worksheets.prints import layout
from truethrow.worksheets.prints.html import as_html
from truethrow.worksheets.prints.pdf import as_pdf, not_shown
from truethrow.worksheets.words import cautions

LETTER = layout.PAPERS["letter"]


@pytest.fixture(scope="module")
def card():
    return handbook_shop.whole()


@pytest.fixture(scope="module")
def sheet(card):
    return layout.sheet(card, LETTER)


def texts(node):
    if isinstance(node, str):
        yield node
    elif isinstance(node, dict):
        for key, value in node.items():
            if key != "svg":
                yield from texts(value)
    elif isinstance(node, list | tuple):
        for value in node:
            yield from texts(value)


def said(card):
    """Every text of the card's blocks, as it was handed to the layout."""
    for block in flat(card.blocks):
        match block:
            case Lines():
                yield from (block.heading, *block.lines)
            case CardTable():
                yield from (block.caption, *block.heads)
                yield from (cell.text if isinstance(cell, Word) else cell for row in block.rows for cell in row)
            case Picture():
                yield from (block.words, block.caption)
            case Typed():
                yield from block.lines


def test_its_chapters_are_in_their_order_and_in_the_contents(card):
    chapters = [one for one in card.blocks if isinstance(one, Chapter)]
    assert [one.name for one in chapters] == list(CHAPTERS)
    (contents,) = (one for one in card.blocks if isinstance(one, Contents))
    assert contents.chapters == tuple(chapters)


def test_nothing_of_it_is_cut(card, sheet):
    """A text that is too long gives way to an ellipsis; there are as many as there were."""
    assert sum(one.count("…") for one in texts(sheet["blocks"])) == sum(one.count("…") for one in said(card))


def test_every_letter_of_it_can_be_printed(sheet):
    assert not_shown(sheet) == ""


def test_it_prints(card, sheet):
    """As PDF with each chapter on the page that the contents say, and as HTML that asks nothing of anybody."""
    document = pypdfium2.PdfDocument(as_pdf(sheet))
    pages = [page.get_textpage().get_text_range() for page in document]
    # What is copied off it, a command or a formula, is what was typed: nothing in it that nobody sees.
    unseen = {c for c in "".join(pages) if unicodedata.category(c) in ("Cc", "Cf", "Cn", "Co")} - set("\r\n")
    assert not unseen
    text = re.sub(r"\s+", "", "".join(pages))
    assert (
        "permissible_unbalance(mass" in text
        and "rod_end_repeatability_from" in text
        and "launch-weigh.csv" in text
    )
    listed = dict(re.findall(r"^(.+?) ?(\d+)\r?$", pages[0], re.M))
    for one in card.blocks:
        if isinstance(one, Chapter):
            assert pages[int(listed[one.title]) - 1].lstrip().startswith(one.title)
    html = as_html(sheet)
    assert all(f'id="{name}"' in html and f'href="#{name}"' in html for name in CHAPTERS)
    assert not re.search(r'(src|href)="(?!#)', html)


def test_every_caution_of_the_program_is_in_it():
    every = {
        text
        for name, value in vars(cautions).items()
        if name.isupper() and not name.startswith("_")
        for text in ([value] if isinstance(value, str) else value)
    }
    # The first half of SHAKE_CAUTION, for where the makers' limits are told anyway.
    every.remove(cautions.INERTIA_CAUTION)
    assert cautions.SHAKE_CAUTION.startswith(cautions.INERTIA_CAUTION.rstrip("."))
    # What a page says of grinding is told there with its command; its short line, in full. How a
    # part is marked that trades places is told where a match is accepted.
    every -= {cautions.TRIM_SHORT, cautions.MARK_SHORT, cautions.TRIM_ON_A_PAGE[1]}
    assert cautions.TRIM_CAUTIONS[1].startswith(cautions.TRIM_ON_A_PAGE[1])
    assert every == {text for own in CAUTIONS.values() for text in own}


def test_every_command_is_told_as_it_is(card):
    """Made of the program itself: each command with its usage, each option with its help."""
    usages = {
        one.heading for one in card.blocks if isinstance(one, Lines) and one.heading.startswith("truethrow ")
    }
    whole = typer.main.get_command(app)

    def names(group, called="truethrow"):
        for name, command in group.commands.items():
            if hasattr(command, "commands"):
                yield from names(command, f"{called} {name}")
            else:
                yield f"{called} {name}", command

    every = dict(names(whole))
    assert len(usages) == len(every)
    assert [name for name in every if not any(f"{usage} ".startswith(f"{name} ") for usage in usages)] == []
    options = {
        row[0] for one in card.blocks if isinstance(one, CardTable) and one.name == "options" for row in one.rows
    }
    for command in every.values():
        for one in command.params:
            if one.param_type_name == "option" and one.name != "help" and not one.hidden and one.help:
                assert any(one.opts[-1] in told for told in options), one.name


def called(text):
    """What the chapters say that somebody types, as far as it is a command."""
    for found in re.findall(r"`(truethrow [^`]*)`", text):
        yield shlex.split(found)[1:]


@pytest.mark.parametrize("name", CHAPTERS)
def test_every_command_that_a_chapter_names_is_there_with_its_options(name):
    for words in called(chapter_text.text(name)):
        group = typer.main.get_command(app)
        if words[0] == "COMMAND":
            continue
        while words and hasattr(group, "commands"):
            assert words[0] in group.commands, words
            group = group.commands[words.pop(0)]
        known = {opt for one in getattr(group, "params", ()) for opt in one.opts}
        assert [word for word in words if word.startswith("--") and word not in known] == []


def test_it_says_nothing_of_where_it_was_made(card):
    assert not [text for text in said(card) if "/tmp/tmp" in text]


def test_its_drawings_are_told_in_words(card):
    pictures = [one for one in flat(card.blocks) if isinstance(one, Picture)]
    assert len(pictures) >= 10
    assert all(one.words and one.caption == one.words for one in pictures)
    assert any(isinstance(one, Side) for one in card.blocks)
