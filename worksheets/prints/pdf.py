"""A card as PDF, typeset by typst: the same card gives the same bytes."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import typst

from truethrow.balance.base.errors import NotSaved, printable
from truethrow.worksheets.prints.keeping import Node

_HERE = Path(__file__).parent
FONTS = _HERE / "fonts"

# B612 and typst's own DejaVu Sans Mono have these; for anything beyond, the system's fonts are asked, which takes
# a moment.
_LAST_COVERED = 0x06FF
_SYMBOLS = range(0x2000, 0x2800)


def as_pdf(sheet: Node) -> bytes:
    """A card as layout.sheet lays it out. Raises NotSaved, in one line, where typst refuses it."""
    data = json.dumps(sheet, ensure_ascii=False)
    try:
        made, warnings = typst.compile_with_warnings(
            str(_HERE / "page.typ"),
            sys_inputs={"card": data},
            font_paths=[str(FONTS)],
            ignore_system_fonts=all(map(_is_covered, set(data))),
            timestamp=datetime.fromisoformat(sheet["date"]).replace(tzinfo=UTC),
        )
    except typst.TypstError as error:
        raise NotSaved(_refusal(sheet, error)) from None
    for warning in warnings:  # such as a font that is not there any more
        raise NotSaved(_refusal(sheet, warning))
    assert isinstance(made, bytes)
    return made


def _refusal(sheet: Node, said: typst.TypstError | typst.TypstWarning) -> str:
    return f"{sheet['kind']}.pdf: {printable(said.message)}; nothing was written"


def _is_covered(character: str) -> bool:
    return ord(character) <= _LAST_COVERED or ord(character) in _SYMBOLS
