"""The pen writes any text without harm."""

from __future__ import annotations

from xml.etree import ElementTree

from drawings import SVG
from hypothesis import given
from hypothesis import strategies as st

from truethrow.worksheets.drawn import lettering, pen


@given(st.text(max_size=400))
def test_any_text_can_be_held(text):
    drawing = pen.Drawing(100.0, 20.0)
    drawing.text((50.0, 10.0), text)
    (held,) = ElementTree.fromstring(str(drawing)).iter(f"{SVG}text")
    assert (held.text or "") == lettering.plain(text, 120)
    assert len(held.text or "") <= 120
