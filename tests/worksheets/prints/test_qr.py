"""The code on a card is read back from paper."""

from __future__ import annotations

import pypdfium2
import pytest
import sample_card
import zxingcpp
from PIL import Image

from truethrow.worksheets.prints import layout, pdf

PAPERS = layout.PAPERS


A4 = PAPERS["a4"]


@pytest.fixture(scope="module")
def plain_card():
    return sample_card.card()


@pytest.fixture(scope="module")
def hostile_card():
    return sample_card.card(hostile=True, throws=14)


def pdf_of(card, paper=A4) -> bytes:
    return pdf.as_pdf(layout.sheet(card, paper))


def pages(raw: bytes, dots_per_mm: float = 2.0) -> list[Image.Image]:
    document = pypdfium2.PdfDocument(raw)
    return [page.render(scale=dots_per_mm * 25.4 / 72).to_pil().convert("L") for page in document]


@pytest.mark.parametrize("hostile", [False, True])
def test_the_code_is_read_back_from_paper(hostile, plain_card, hostile_card):
    card = hostile_card if hostile else plain_card
    (found,) = zxingcpp.read_barcodes(pages(pdf_of(card, A4), 6.0)[0])
    assert found.text == card.code
