"""Ten engines as shops name them, on paper and on a telephone: by the words of the PDF and where each stands,
nothing is broken, clipped or printed over, and every angle of the plan is there as the station shows it and as the
crank's."""

from __future__ import annotations

import dataclasses
import functools
import itertools
import re
import unicodedata
import xml.sax.saxutils
from pathlib import Path
from typing import NamedTuple

import browser
import card_texts
import pypdfium2
import pypdfium2.raw
import pytest
import sample_card
import ten_engines

from truethrow.worksheets.cards.card import KINDS, Blank, CardTable, Marked, Picture, Tick
from truethrow.worksheets.prints import html, layout, pdf, texts
from truethrow.worksheets.words import card_words

MM_PER_PT = 25.4 / 72
# Letters may touch: what is printed over another shares more than this of its height and width.
TOUCH_MM = 0.35
ACCENT_MM = 0.6  # of a capital, left of its letter
SOFT = dict.fromkeys(map(ord, "\u200b\ufffe\u00ad"))


class Printed(NamedTuple):
    """A word on a page: its text, and the box about its ink from the page's left and top. [mm]"""

    page: int
    text: str
    left: float
    top: float
    right: float
    bottom: float


def printed(raw: bytes) -> list[Printed]:
    """Every word of a PDF, as its reader sees it."""
    found = []
    for number, page in enumerate(pypdfium2.PdfDocument(raw), start=1):
        high_pt, text = page.get_height(), page.get_textpage()
        letters = "".join(chr(pypdfium2.raw.FPDFText_GetUnicode(text, at)) for at in range(text.count_chars()))
        for whole in re.finditer(r"\S+", letters):
            places = range(*whole.span())
            boxes = [box for box in map(text.get_charbox, places) if box[2] > box[0]]
            if boxes:
                lefts, lows, rights, tops = zip(*boxes, strict=True)
                sides = min(lefts), high_pt - max(tops), max(rights), high_pt - min(lows)
                found.append(Printed(number, whole[0], *(side * MM_PER_PT for side in sides)))
    return found


def over_each_other(words: list[Printed]) -> list[tuple[str, str]]:
    found = []
    for page in {word.page for word in words}:
        own = sorted((word for word in words if word.page == page), key=lambda word: word.top)
        for at, one in enumerate(own):
            for other in itertools.takewhile(lambda other: other.top < one.bottom - TOUCH_MM, own[at + 1 :]):  # noqa: B023 (used at once)
                if min(one.right, other.right) - max(one.left, other.left) > TOUCH_MM and (
                    min(one.bottom, other.bottom) - max(one.top, other.top) > TOUCH_MM
                ):
                    found.append((one.text, other.text))
    return found


def turns(text: str) -> bool:
    """Whether it is written from right to left: a reader of PDF gives its letters in an order of its own."""
    return any(unicodedata.bidirectional(letter) in ("R", "AL") for letter in text)


def words_of(card) -> set[str]:
    """Every word that is to stand on it, but those of its drawings."""
    found = [*card.cautions, card.title, card.kind.upper(), card.job_id, card.job_title, card.about, card.code]
    found += itertools.chain.from_iterable(map(card_texts.around, card_texts.flat(card.blocks)))
    found += [picture.caption for picture in card_texts.pictures(card)]
    for cell in card_texts.cells(card):
        if isinstance(cell, Blank):
            found.append(cell.unit)
        elif isinstance(cell, Marked):
            found.append(f"{cell.mark} {cell.figure.text}")
        elif not isinstance(cell, Tick):
            found.append(card_texts.shown(cell))
    return split(found)


def words_around(card) -> set[str]:
    """And those of its drawings, its head and its foot."""
    drawn = [text for picture in card_texts.pictures(card) for text in re.findall(r">([^<]+)</text>", picture.svg)]
    about = f"Caution {card.kind} {card.date} {card.digest} readings {card.job_digest} card log {card.head} ·"
    pages = f"page of {' '.join(map(str, range(1, 20)))}"
    return split([*map(xml.sax.saxutils.unescape, drawn), about, pages, card_words.EMPTY_BOXES])


def split(texts) -> set[str]:
    return {word for text in texts for word in plain(text).split() if not turns(word)}


def plain(text: str) -> str:
    """Without what is not seen."""
    return unicodedata.normalize("NFKC", text).translate(SOFT)


@functools.cache
def made(name: str, folder: Path):
    """Its cards, each as it is laid out and as it is printed."""
    kind = ten_engines.TEN[name]
    cards = ten_engines.shop(folder, name).cards("inch" if kind.units == "inch" else None)
    assert set(cards) == set(KINDS)
    laid_out = [(card, layout.sheet(card, layout.PAPERS[kind.paper])) for card in cards.values()]
    return [(card, sheet, printed(pdf.as_pdf(sheet))) for card, sheet in laid_out]


@pytest.fixture(scope="session")
def cards_of(tmp_path_factory):
    folders = functools.cache(lambda name: tmp_path_factory.mktemp("engine"))
    return lambda name: made(name, folders(name))


# In each run the first few.
EACH = pytest.mark.simulation(whole=len(ten_engines.TEN), sample=3)


@pytest.fixture
def engine(cards_of, seed):
    """One of the ten, and its cards."""
    name = list(ten_engines.TEN)[seed]
    return ten_engines.TEN[name], cards_of(name)


@EACH
def test_no_word_is_broken_or_missing_on_paper(engine):
    _, cards = engine
    for card, _, words in cards:
        # A sign that no font of this system has is another matter.
        read = {plain(word.text) for word in words if not turns(word.text) and not is_of(JAPANESE, word.text)}
        asked = {word for word in words_of(card) if not is_of(JAPANESE, word)}
        if is_of_arabic(card):  # what stands between two directions is read with either
            read, asked = ({word.strip("()") for word in of} for of in (read, asked))
        around = words_around(card) | {word.strip("()") for word in words_around(card)}
        assert read <= asked | around, (card.kind, sorted(read - asked - around))
        assert asked <= read, (card.kind, sorted(asked - read))


JAPANESE = re.compile(r"[\x00\u3000-\u30ff\u4e00-\u9fff]")


def is_of(script: re.Pattern[str], text: str) -> bool:
    return bool(script.search(text))


def is_of_arabic(card) -> bool:
    return turns(card.job_title)


@EACH
def test_nothing_is_printed_over_another_or_beyond_the_margins(engine):
    kind, cards = engine
    paper = layout.PAPERS[kind.paper]
    for card, _, words in cards:
        assert not over_each_other(words), card.kind
        for word in words:
            assert paper.left - ACCENT_MM <= word.left, (card.kind, word)
            assert word.right <= paper.width - paper.right + TOUCH_MM, (card.kind, word)
            assert paper.top <= word.top, (card.kind, word)
            assert word.bottom <= paper.height - 4, (card.kind, word)


# A report's first page is the customer's; a station's card is a page of all there is to do, its drawings, and what
# the figures come from; ten and twelve cylinders take more than a page of readings and labels.
PAGES = {"bench": 1, "bobweight": 1, "report": 3, "station": 5}
OF_MANY = {"bench": 2, "trim": 3}


@EACH
def test_no_card_has_more_pages_than_it_needs(engine):
    kind, cards = engine
    most = PAGES | (OF_MANY if kind.layout.startswith(("v10", "v12")) else {})
    for card, sheet, words in cards:
        shown = any("no font" in line for line in str(sheet["blocks"]).splitlines())
        assert max(word.page for word in words) <= most.get(card.kind, 2) + shown, card.kind


V8S = [name for name, kind in ten_engines.TEN.items() if kind.layout.startswith("v8")]
# The fullest pages first.
HARD = [("V8", "fresh"), ("flat-plane V8", "half drilled"), ("V8 of short names", "traded"), ("V8", "signed")]
AT = [*HARD, *(one for one in itertools.product(V8S, ten_engines.STAGES) if one not in HARD)]


@pytest.mark.simulation(whole=len(AT), sample=len(HARD))
def test_a_v8_has_few_pages_at_every_stage_on_both_papers_in_both_units(seed, tmp_path):
    """One page at the bench and for the bobweights, three for the customer; at the grinder and at the station one
    that says all, and drawings and figures behind it."""
    name, stage = AT[seed]
    shop = ten_engines.shop_at(tmp_path, name, stage)
    for show, paper in itertools.product((None, "inch"), layout.PAPERS.values()):
        for kind, card in shop.cards(show).items():
            words = printed(pdf.as_pdf(layout.sheet(card, paper)))
            assert max(word.page for word in words) <= MOST_OF_A_V8[kind], (kind, show, paper.name)
            first = {plain(word.text) for word in words if word.page == 1}
            if kind in ("trim", "station") and (wanted := on_the_first(card)):
                assert wanted <= first, (kind, show, paper.name, wanted - first)


@pytest.mark.simulation(whole=len(ten_engines.ENGINES), sample=3)
def test_all_that_is_drilled_and_its_cautions_are_on_the_first_page(seed, tmp_path):
    """Of the engine with the most holes first: seven."""
    name = list(reversed(ten_engines.ENGINES))[seed]
    kind = ten_engines.ENGINES[name]
    shop = ten_engines.shop_at(tmp_path, name, "spun")
    for show, paper in itertools.product((None, "inch"), layout.PAPERS.values()):
        card = shop.cards(show)["station"]
        words = printed(pdf.as_pdf(layout.sheet(card, paper)))
        first = {plain(word.text) for word in words if word.page == 1}
        # Signs that no font of this system has are empty boxes, which the first page says.
        wanted = {word for word in on_the_first(card) if not is_of(JAPANESE, word)}
        if kind.labels == "arabic":
            wanted, first = ({word.strip("()") for word in of} for of in (wanted, first))
        assert wanted <= first, (name, show, paper.name, wanted - first)


@pytest.mark.parametrize("paper", layout.PAPERS)
@pytest.mark.parametrize("name", ["V10", "V12"])
def test_a_table_does_not_begin_with_a_row_or_two_at_the_foot_of_a_page(name, paper, tmp_path):
    """The readings of ten and twelve cylinders, where a signed report has them: three below their head."""
    card = ten_engines.shop_at(tmp_path, name, "signed").cards()["report"]
    words = printed(pdf.as_pdf(layout.sheet(card, layout.PAPERS[paper])))
    (table,) = (one for one in card_texts.flat(card.blocks) if getattr(one, "name", "") == "readings")
    (page,) = {word.page for word in words if word.text == "Readings"}
    there = {plain(word.text) for word in words if word.page == page}
    assert split(card_texts.shown(cell) for row in table.rows[:3] for cell in row) - labels_of(card) <= there


def labels_of(card) -> set[str]:
    """What is written on the parts: a table of its own, where the labels are long."""
    marks = (one["marks"] for one in card.data["cylinders"])
    return split(text for each in marks for text in each.values() if text)


@EACH
def test_names_in_drawings_are_not_cut_within_a_word(engine):
    """counterweight 1 front is …1 front, and not counte…ont."""
    _, cards = engine
    for card, _, _ in cards:
        for picture in card_texts.pictures(card):
            assert not re.findall(r">[^<]*\w…\w[^<]*</text>", picture.svg), (card.kind, picture.name)


MOST_OF_A_V8 = {"bench": 1, "trim": 2, "bobweight": 1, "station": 4, "report": 3}


def on_the_first(card) -> set[str]:
    """What is done by it: each cut, each hole with both its angles, and the cautions."""
    tables = [block for block in card_texts.flat(card.blocks) if isinstance(block, CardTable)]
    rows = [row for table in tables if table.name in ("cuts", "operations") for row in table.rows]
    said = [card_texts.shown(cell) for row in rows for cell in row if not isinstance(cell, Blank | Tick)]
    return split([*said, *card.cautions]) if rows else set()


@pytest.mark.parametrize("paper", layout.PAPERS)
@pytest.mark.parametrize("stage", ["launch", "ground", "half_drilled", "signed"])
def test_the_cards_of_a_v8_are_few_pages_at_every_stage(stage, paper, tmp_path):
    """Half drilled it has all that a report tells; signed, each throw hangs its own, out of its own recipe."""
    cards = card_texts.STORIES[stage](tmp_path).cards("inch")
    for kind, most in {"bench": 1, "bobweight": 1, "report": 3}.items():
        raw = pdf.as_pdf(layout.sheet(cards[kind], layout.PAPERS[paper]))
        assert len(pypdfium2.PdfDocument(raw)) <= most, kind


@EACH
def test_every_angle_of_the_plan_is_told_as_the_station_shows_it_and_as_the_cranks(engine):
    _, cards = engine
    told = {card.kind: (card, [word.text for word in words]) for card, _, words in cards}
    card, words = told["station"]
    assert card.data["operations"]
    for one in card.data["operations"]:
        for which in ("station_angle_deg", "crank_angle_deg"):
            # In the list, and in the drawing of the counterweight.
            assert words.count(f"{one[which] % 360:.1f}°") >= 2, (one["number"], which)


@EACH
def test_no_word_is_broken_on_a_telephone(engine, tmp_path):
    _, cards = engine
    for card, sheet, _ in cards:
        page = tmp_path / f"{card.kind}.html"
        page.write_text(html.as_html(sheet), encoding="utf-8")
        wide, broken = browser.told(page, 360, 800, BROKEN)
        assert wide <= 360, card.kind
        assert not [word for word in broken if len(word) <= texts.LONGEST_WORD], card.kind


def test_no_verdict_lies_beyond_the_edge_of_a_telephone(tmp_path):
    """too close to call, beside four figures with their units: nothing of it has to be scrolled to."""
    cards = ten_engines.shop_at(tmp_path, "V10", "signed").cards("inch")
    for kind in ("bench", "report"):
        page = tmp_path / f"{kind}.html"
        page.write_text(html.as_html(layout.sheet(cards[kind], layout.PAPERS["letter"])), encoding="utf-8")
        there, beyond = browser.told(page, 360, 800, VERDICTS)
        assert "too close to call" in there and not beyond, kind


# Every verdict that stands in a frame, and those that end beyond the edge of what is seen.
VERDICTS = """(() => {
  const all = [...document.querySelectorAll("td .word")];
  const beyond = all.filter(one => one.getBoundingClientRect().right > document.documentElement.clientWidth);
  return [all, beyond].map(found => found.map(one => one.textContent));
})()"""


# How wide the page is, and every word whose letters stand on more than one line, hyphens aside.
BROKEN = r"""(() => {
  const broken = [], range = document.createRange();
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node; node = walker.nextNode();) {
    if (node.parentElement.closest("svg, style")) continue;
    for (const word of node.data.matchAll(/[^\s\u200b]+/g)) {
      const tops = new Set();
      for (const letter of word[0].matchAll(/[^-\/:.]+[-\/:.]*/g)) {
        tops.clear();
        for (let at = 0; at < letter[0].length; at++) {
          range.setStart(node, word.index + letter.index + at);
          range.setEnd(node, word.index + letter.index + at + 1);
          tops.add(Math.round(range.getBoundingClientRect().top / 4));
        }
        if (tops.size > 1) broken.push(word[0]);
      }
    }
  }
  return [document.documentElement.scrollWidth, broken];
})()"""


# The checks above can fail.


def test_a_word_over_another_and_a_broken_one_are_seen():
    card = sample_card.card()
    long = dataclasses.replace(card, blocks=(CardTable("t", ("a", "b"), (("W" * 30, "V" * 150),)),), cautions=())
    words = printed(pdf.as_pdf(layout.sheet(long, layout.PAPERS["a4"])))
    assert not {"W" * 30, "V" * 150} <= {word.text for word in words}
    svg = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 90 20">{}{}</svg>'
    said = '<text x="1" y="{}" font-size="5" font-family="B612">{}</text>'
    for below, seen in ((2, True), (8, False)):
        drawn = svg.format(said.format(7, "front"), said.format(7 + below, "rear"))
        only = dataclasses.replace(card, blocks=(Picture("p", drawn, "both"),), cautions=())
        words = printed(pdf.as_pdf(layout.sheet(only, layout.PAPERS["a4"])))
        assert bool(over_each_other(words)) == seen
