"""Which letters a font has, and which a PDF cannot show."""

from __future__ import annotations

import dataclasses
import shutil
from pathlib import Path

import pypdfium2
import pytest
import sample_card
from hypothesis import given
from hypothesis import strategies as st
from PIL import ImageFont

from truethrow.worksheets.prints import layout, letters, pdf

B612 = pdf.FONTS / "B612-Regular.ttf"
DEJAVU = Path("/usr/share/fonts/truetype/dejavu/DejaVuSansMono.ttf")


def has_ink_of_its_own(font, code):
    """By FreeType: whether a letter looks otherwise than one that no font has."""
    return bytes(font.getmask(chr(code))) not in (bytes(font.getmask("\ue0ff")), b"")


@pytest.mark.parametrize("path", [B612, pdf.FONTS / "B612-Bold.ttf", pytest.param(DEJAVU, id="DejaVu")])
def test_a_font_has_the_letters_that_freetype_finds_in_it(path):
    if not path.exists():
        pytest.skip("no such font here")
    font, found = ImageFont.truetype(str(path), 40, layout_engine=ImageFont.Layout.BASIC), letters.letters_of(path)
    for code in range(0x21, 0x3000):
        if has_ink_of_its_own(font, code):
            assert code in found, hex(code)
    blank = [code for code in found if code < 0x3000 and not has_ink_of_its_own(font, code)]
    assert len(blank) < 40  # blanks of all widths, and letters that have no ink


def test_what_is_said_to_be_built_in_is_in_that_font():
    if not DEJAVU.exists():
        pytest.skip("no DejaVu Sans Mono here to read")
    found = letters.letters_of(DEJAVU)
    assert {code for first, last in letters._RUNS for code in range(first, last + 1)} <= found


@given(st.binary(max_size=400), st.integers(0, 400))
def test_a_damaged_font_has_no_letters_and_stops_nothing(tmp_path_factory, noise, at):
    raw = B612.read_bytes()
    path = tmp_path_factory.mktemp("fonts") / "bad.ttf"
    path.write_bytes(raw[:at] + noise + raw[at + len(noise) :])
    assert letters.letters_of(path) <= set(range(0x110000))
    path.write_bytes(noise)
    assert letters.letters_of(path) == frozenset()


def test_letters_are_looked_for_in_the_chosen_folder_first(tmp_path, monkeypatch):
    shutil.copy(B612, tmp_path / "chosen.ttf")
    assert letters._files(tmp_path)[0] == (tmp_path / "chosen.ttf", 0)
    told = {tmp_path / "chosen.ttf": {0x5DE6}, Path("system.ttf"): {0x91DD}}
    monkeypatch.setattr(letters, "_files", lambda fonts: [(path, 0) for path in told])
    monkeypatch.setattr(letters, "letters_of", lambda path, index: frozenset(told[path]))
    assert letters.missing("R7 左 針 列列 Поршень Έμβολο مكبس °±·…") == "列"
    assert letters.missing("R7") == ""


def test_a_pdf_with_empty_boxes_says_so_on_its_first_page(monkeypatch):
    monkeypatch.setattr(letters, "_files", lambda fonts: [])
    for title, says in (("左列ピストン", True), ("Поршень", False)):
        sheet = layout.sheet(dataclasses.replace(sample_card.card(), job_title=title), layout.PAPERS["a4"])
        assert pdf.not_shown(sheet) == (title if says else "")
        first = pypdfium2.PdfDocument(pdf.as_pdf(sheet))[0].get_textpage().get_text_range()
        assert ("empty box" in " ".join(first.split())) == says
