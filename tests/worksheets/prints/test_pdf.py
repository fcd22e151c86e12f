"""A card as PDF: the same for the same card, or refused in one line."""

from __future__ import annotations

from dataclasses import replace

import pypdfium2
import pytest
import sample_card

from truethrow.balance.base.errors import NotSaved
from truethrow.worksheets.cards.card import Picture
from truethrow.worksheets.prints import layout, pdf

PAPERS = layout.PAPERS


A4 = PAPERS["a4"]


@pytest.fixture(scope="module")
def plain_card():
    return sample_card.card()


def pdf_of(card, paper=A4) -> bytes:
    return pdf.as_pdf(layout.sheet(card, paper))


def test_the_pdf_is_the_same_for_the_same_card_and_says_what_it_is(plain_card):
    made = pdf_of(plain_card, A4)
    assert made == pdf_of(sample_card.card(), A4)
    document = pypdfium2.PdfDocument(made)
    told = document.get_metadata_dict()
    assert told["Title"] == "What to hang, launch-7"
    assert told["CreationDate"].startswith("D:20261125")
    assert document.is_tagged()


def test_a_pdf_that_cannot_be_made_is_refused_in_one_line(plain_card):
    broken = replace(plain_card, blocks=(Picture("broken", '<svg viewBox="0 0 9 9"><g>', "nothing"),))
    with pytest.raises(NotSaved) as caught:
        pdf_of(broken, A4)
    assert str(caught.value).startswith("bobweight.pdf: ")
    assert "\n" not in str(caught.value)


def test_a_font_that_is_gone_is_told_and_not_replaced(plain_card, tmp_path, monkeypatch):
    monkeypatch.setattr(pdf, "FONTS", tmp_path)
    with pytest.raises(NotSaved, match=r"^bobweight\.pdf: unknown font family: b612; nothing was written$"):
        pdf_of(plain_card, A4)
