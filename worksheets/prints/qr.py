"""A card's code as a picture that a telephone reads."""

from __future__ import annotations

import io

import segno


def as_svg(code: str) -> str:
    """The QR code of a text: a whole SVG document, its quiet zone of four modules counted in."""
    out = io.BytesIO()
    made = segno.make(code, error="m", micro=False)
    made.save(out, kind="svg", border=4, xmldecl=False, omitsize=True, nl=False, light="white")
    return out.getvalue().decode("utf-8")
