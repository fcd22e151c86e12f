"""A card is old when what it shows has changed, and only then; and how many pages it has."""

from __future__ import annotations

import functools
import shutil

import pypdfium2
import pytest
from card_texts import DATE, Shop, launch, shown, spun, table

from truethrow.balance.demo import story
from truethrow.balance.job import enter
from truethrow.worksheets.cards import make
from truethrow.worksheets.cards.card import KINDS, Figure
from truethrow.worksheets.cards.known import load
from truethrow.worksheets.prints import layout, pdf

# When a card is old

READING = (("piston = 538.1", "piston = 538.0"),)


LIMIT = (("piston = 1.0\n", "piston = 1.1\n"),)


PLATE = (('name = "plate 200"\nmass = 200.0', 'name = "plate 200"\nmass = 150.0'),)


def old(before, after):
    return {kind for kind in KINDS if before[kind] != after[kind]}


def test_a_card_is_old_when_what_it_shows_has_changed_and_only_then(tmp_path):
    shop = spun(tmp_path)
    first = shop.digests()
    assert old(first, shop.digests(date="2027-01-01")) == set()
    assert old(first, shop.digests(show="inch")) == set()
    shop.edit(*PLATE, of=shop.station)
    assert old(first, plated := shop.digests()) == {"bobweight"}
    shop.edit(*LIMIT)
    assert old(plated, limited := shop.digests()) == {"bench", "trim", "report"}
    shop.spin()
    assert old(limited, again := shop.digests()) == {"station", "report"}
    shop.drill({1: None})
    assert old(again, drilled := shop.digests()) == {"station", "report"}
    shop.edit(*READING)
    assert old(drilled, shop.digests()) == set(KINDS)


def test_a_card_is_the_same_wherever_its_files_are(tmp_path):
    (tmp_path / "a").mkdir()
    one = launch(tmp_path / "a")
    shutil.copytree(tmp_path / "a", tmp_path / "b")
    other = Shop(tmp_path / "b", name="launch.toml")
    assert one.digests() == other.digests()


def test_a_card_is_the_same_whether_its_sheet_is_entered_or_not(tmp_path):
    shop = Shop(tmp_path, name="launch.toml")
    beside = shop.digests(sheet=tmp_path / "launch-weigh.csv")
    enter.enter(shop.job, tmp_path / "launch-weigh.csv")
    assert shop.digests() == beside


@pytest.mark.parametrize("noise", [1e-13, -1e-13])
def test_the_last_bits_of_a_float_make_no_card_old(noise):
    assert make.steady({"a": [1864.8 + noise, noise], "b": 3}) == {"a": [1864.8, 0.0], "b": 3}
    assert make.steady({"a": 1864.8001}) != make.steady({"a": 1864.8})


# How many pages each card of a V8 has at the most, by story; a trim card's and a station's drawings come after it.

PAGES = {
    "launch": {"bench": 1, "bobweight": 1, "report": 3},
    "spun": {"report": 3, "station": 4},
    "half_drilled": {"report": 3, "station": 4},
    "signed": {"bench": 1, "report": 3, "station": 3},
    "external": {"report": 3},
}


@pytest.mark.parametrize("paper", layout.PAPERS.values(), ids=layout.PAPERS)
@pytest.mark.parametrize("show", [None, "inch"])
@pytest.mark.parametrize("story", [pytest.param(n, marks=pytest.mark.xdist_group(f"story {n}")) for n in PAGES])
def test_a_card_has_no_more_pages_than_whoever_works_by_it_wants_to_turn(cards_of, story, show, paper):
    cards = cards_of(story, show)
    for kind, most in PAGES[story].items():
        # What is drawn of the shaking is a few millimeters too high for the shorter paper.
        more = (story, kind, paper.name) == ("half_drilled", "report", "letter")
        assert pages(cards[kind], paper) <= most + more, kind


@pytest.mark.parametrize("paper", layout.PAPERS.values(), ids=layout.PAPERS)
def test_all_boxes_of_a_bench_card_are_on_one_page(blank, paper):
    (card,), _ = make.cards(known := load(blank()), known.display(), DATE)
    assert pages(card, paper) == 1


@pytest.mark.parametrize("paper", layout.PAPERS)
@pytest.mark.parametrize("show", [None, "inch"])
def test_the_report_of_a_v8_that_was_ground_and_signed_has_three_pages(carried_on, show, paper):
    card = carried_on(show)
    assert pages(card, layout.PAPERS[paper]) == 3


@pytest.fixture(scope="module")
def carried_on(tmp_path_factory):
    """The demo's report once its crank is signed, made once for each unit."""
    *_, (_, job, station) = story.told(tmp_path_factory.mktemp("carried-on"))
    known = load(job, station=station)
    return functools.cache(lambda show: make.cards(known, known.display(show), DATE, ["report"])[0][0])


def pages(card, paper):
    return len(pypdfium2.PdfDocument(pdf.as_pdf(layout.sheet(card, paper))))


def text_of(card, paper, page):
    return pypdfium2.PdfDocument(pdf.as_pdf(layout.sheet(card, paper)))[page].get_textpage().get_text_range()


@pytest.mark.parametrize("paper", layout.PAPERS.values(), ids=layout.PAPERS)
@pytest.mark.parametrize("show", [None, "inch"])
@pytest.mark.xdist_group("story launch")
def test_the_grinders_page_has_every_cut_and_the_cautions(cards_of, show, paper):
    card = cards_of("launch", show)["trim"]
    first = " ".join(text_of(card, paper, 0).split())
    assert "Caution" in first
    for part in card.data["trim"]["parts"]:
        assert part["name"] in first


@pytest.mark.parametrize("paper", layout.PAPERS.values(), ids=layout.PAPERS)
@pytest.mark.parametrize("show", [None, "inch"])
@pytest.mark.parametrize("story", ["spun", "half_drilled"])
def test_the_operators_page_has_every_operation_whole_and_the_cautions(cards_of, story, show, paper):
    """Angles, face and depth on page one with the cautions; drawings on the next; what was read at last."""
    card = cards_of(story, show)["station"]
    first = " ".join(text_of(card, paper, 0).split())
    rows = table(card, "operations").rows
    assert rows
    for row in rows:
        for cell in row:
            if isinstance(cell, str | Figure):
                assert shown(cell) in first, cell
    assert "…" not in first
    assert all(sentence in first for sentence in card.cautions)
    assert "In this drawing" not in first
    assert "In this drawing" in " ".join(text_of(card, paper, 1).split())
