"""The printed cards of a job: made as `cards` makes them, into the same folder, and opened from there; and whether
each that lies there is still good."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.base.errors import TruethrowError
from truethrow.balance.log.place import output_path
from truethrow.balance.weighing import benchjob
from truethrow.cli.floor.by_hand import lines_of
from truethrow.cli.paper.print_cards import ENDING, print_cards, read_code, verdict
from truethrow.cli.profiles import found_for
from truethrow.worksheets.cards.card import KINDS
from truethrow.worksheets.pages.floor.state import Cards, PrintedCard
from truethrow.worksheets.prints.folder import FIGURES, must_be_ours

if TYPE_CHECKING:
    from pathlib import Path

    from truethrow.balance.base.files import KeptText
    from truethrow.balance.log.place import Snapshot

# A card's own page needs its own style and fonts, and nothing else; nothing in it may run.
CARD_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; font-src data:; img-src data:; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'"
)
TYPES = {"html": "text/html; charset=utf-8", "pdf": "application/pdf"}


class Card(NamedTuple):
    """A card as a file."""

    raw: bytes
    type: str


def cards_of(place: Snapshot, name: str, fault: str = "") -> Cards:
    """What lies in the folder of a job's cards. name: of the job in addresses; fault: why none were made just
    now. Raises BadInput for a job that cannot be read."""
    job = benchjob.load(place)
    found: list[PrintedCard] = []
    try:
        for kind, code in _codes(place, job.id).items():
            found.append(_looked_up(place, kind, code))
    except TruethrowError as error:
        fault = fault or "\n".join(lines_of(error))
    return Cards(name, job.title, tuple(found), fault, name=job.id)


def _codes(place: Snapshot, job_id: str) -> dict[str, str]:
    """The codes of the cards in a job's folder, by their kinds; none where there is no folder yet."""
    folder = output_path(place, ENDING)
    must_be_ours(folder, job_id)
    try:
        cards = json.loads((folder / FIGURES).read_text(encoding="utf-8"))["cards"]
        return {kind: str(cards[kind]["code"]) for kind in KINDS if kind in cards}
    except (OSError, ValueError, KeyError, TypeError):
        return {}


def _looked_up(place: Snapshot, kind: str, code: str) -> PrintedCard:
    try:
        read = read_code(code)
        told = verdict(read, place, None, _profile(place) if read.station else None)
    except TruethrowError as error:
        return PrintedCard(kind, "\n".join(lines_of(error)))
    return PrintedCard(kind, told.said, is_current=told.is_current)


def _profile(place: Snapshot) -> Path | KeptText | None:
    found = found_for(place)
    return found[0] if found else None


def make(place: Snapshot, by: str, at: str) -> None:
    """Make all cards that can be made by now. at: the address of the floor, as a phone reaches it, which their QR
    codes then lead to; empty where none does. Raises TruethrowError as cards does."""
    print_cards(place, output_path(place, ENDING), station=_profile(place), by=by, at=at)


def card(place: Snapshot, file: str) -> Card | None:
    """A card as it lies there; None for what is none. Raises BadInput for a folder that is not of this job's
    cards."""
    kind, _, ending = file.partition(".")
    if kind not in KINDS or ending not in TYPES:
        return None
    folder = output_path(place, ENDING)
    must_be_ours(folder, benchjob.load(place).id)
    try:
        return Card((folder / f"{kind}.{ending}").read_bytes(), TYPES[ending])
    except OSError:
        return None
