"""A card as PDF, typeset by typst: the same card gives the same bytes."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, datetime
from itertools import chain
from pathlib import Path

import typst

from truethrow.balance.base.errors import NotSaved, printable
from truethrow.worksheets.prints import layout
from truethrow.worksheets.prints.keeping import Node
from truethrow.worksheets.prints.letters import built_in, missing
from truethrow.worksheets.words import card_words

_HERE = Path(__file__).parent
FONTS = _HERE / "fonts"


def as_pdf(sheet: Node, fonts: Path | None = None) -> bytes:
    """A card as layout.sheet lays it out. fonts: a folder with more of them; letters that none has are told on the
    first page. Raises NotSaved, in one line, where typst refuses it."""
    if not_shown(sheet, fonts):
        sheet = sheet | {"blocks": [layout.note(card_words.EMPTY_BOXES), *sheet["blocks"]]}
    data = json.dumps(sheet, ensure_ascii=False)
    try:
        made, warnings = typst.compile_with_warnings(
            str(_HERE / "page.typ"),
            sys_inputs={"card": data},
            font_paths=[str(FONTS), *([str(fonts)] if fonts else [])],
            # To look through them takes a moment.
            ignore_system_fonts=all(map(built_in, set(data))),
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


def not_shown(sheet: Node, fonts: Path | None = None) -> str:
    """The letters of a card that no font has."""
    return missing("".join(_texts(sheet)), fonts)


def _texts(node: object) -> Iterator[str]:
    if isinstance(node, str):
        yield node
    elif isinstance(node, dict):
        yield from chain.from_iterable(map(_texts, node.values()))
    elif isinstance(node, list | tuple):
        yield from chain.from_iterable(map(_texts, node))
