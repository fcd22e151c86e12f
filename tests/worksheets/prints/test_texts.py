"""Texts on a page: plain, cut to their lines, as wide as their type."""

from __future__ import annotations

import re
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import ImageFont

from truethrow.worksheets.prints import pdf, texts


@given(st.text())
def test_a_plain_text_has_nothing_that_upsets_a_page(text):
    made = texts.plain(text)
    assert not any(unicodedata.category(c)[0] == "C" for c in made)
    assert texts.plain(made) == made
    soft = texts.soft(made, 11, 20)
    assert re.sub("[\u200b\u2060]", "", soft) == made
    assert all(
        texts.width_mm(part, 11) <= 20 or len(part) <= 1 + texts.MOST_MARKS for part in re.split("[ \u200b]", soft)
    )


@pytest.mark.parametrize(
    ("text", "marked"),
    [
        ("truethrow stack --dry-run", "truethrow stack -~-~dry-~run"),
        (
            "a-very-long-name-of-a-folder/launch-weigh.csv",
            "a|-~very|-~long|-~name|-~of|-~a|-~folder/|launch|-~weigh.|csv",
        ),
        ("flat-", "flat-"),
    ],
)
def test_a_word_is_broken_before_a_hyphen_where_it_is_too_long_and_never_behind_one(text, marked):
    """A reader of PDF takes a hyphen at a line's end for a syllable's: what was copied would lack it."""
    assert texts.soft(text, 11, 100) == marked.replace("|", "\u200b").replace("~", "\u2060")


@given(st.text(max_size=400), st.floats(5, 200), st.integers(1, 9))
def test_a_cut_text_fits_its_lines(text, room_mm, lines):
    made = texts.cut(texts.plain(text), 11, room_mm, lines)
    assert made == texts.plain(text) or "…" in made
    assert texts.width_mm(made, 11) <= max(room_mm * lines, texts.width_mm("…", 11))


def test_long_names_that_differ_in_one_word_are_still_told_apart():
    """Two counterweights of one card, in its table: whoever drills reads which."""
    for names in (
        [f"counterweight on the cheek beside main bearing {number}" for number in (3, 5)],
        [f"{side} counterweight on the cheek beside the main bearing" for side in ("left", "right")],
    ):
        made = [texts.cut(name, 14, 25, 3) for name in names]
        assert made[0] != made[1] and all("…" in one for one in made)
        assert [one.split()[-1] for one in made] == [name.split()[-1] for name in names]
        assert [one[:5] for one in made] == [name[:5] for name in names]


def test_widths_are_those_of_the_type():
    for name in ("Regular", "Bold"):
        font = ImageFont.truetype(str(pdf.FONTS / f"B612-{name}.ttf"), 1000)
        known = texts._ADVANCE
        assert {c: font.getlength(c) / 1000 for c in known} == pytest.approx(known, abs=0.051)
        for text in ("1789.4 g", "too close to call", "−0.35 g·mm", "launch-7 R29"):
            assert texts.width_mm(text, 1000) == pytest.approx(font.getlength(text) * texts.MM_PER_PT, rel=0.03)


def test_what_fits_its_lines_by_words_is_not_cut():
    """A column as wide as its longest word has room for three of them on three lines."""
    said, room_mm = "slug, from rear", texts.longest_word_mm("slug, from rear", 18) * 1.03
    assert texts.cut(said, 18, room_mm, 3) == said
    assert "…" in texts.cut(said, 18, room_mm, 2)
