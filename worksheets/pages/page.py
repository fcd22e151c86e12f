"""A page out of plain data, in the cards' own type."""

from __future__ import annotations

from typing import Any

from truethrow.worksheets.cards.card import Block, Card, Lines, PageKind
from truethrow.worksheets.cards.code import digest
from truethrow.worksheets.cards.make import steady


def estimate(said: str) -> list[Block]:
    """That figures rest on estimates, under that word; nothing where nothing is said."""
    heading = "ESTIMATE"
    told = said.removeprefix(f"{heading}: ")
    return [Lines((f"{told[:1].upper()}{told[1:]}",), heading, "framed")] if told else []


def page(
    kind: PageKind,
    title: str,
    whose: tuple[str, str, str],
    data: dict[str, Any],
    blocks: tuple[Block, ...],
    cautions: tuple[str, ...],
    date: str,
    job_digest: str = "",
) -> Card:
    """whose: id, title, and what else is told of it; date: of issue, ISO 8601. It has no code: nothing is worked
    by it, so nobody asks whether it is still current."""
    job_id, job_title, about = whose
    return Card(
        kind=kind,
        title=title,
        job_id=job_id,
        job_title=job_title,
        about=about,
        job_digest=job_digest,
        date=date,
        digest=digest(steady(data)),
        code="",
        blocks=blocks,
        cautions=cautions,
        data=data,
    )
