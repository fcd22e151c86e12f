"""Whether a card on paper is still good, of any job that the floor shows: as `current` tells it of one."""

from __future__ import annotations

import contextlib
import tomllib
from typing import TYPE_CHECKING

from truethrow.balance.base.errors import BadInput, Fault, TruethrowError, shown
from truethrow.balance.log.place import Snapshot, text_of
from truethrow.cli.floor.by_hand import told_of
from truethrow.cli.paper.print_cards import read_code, verdict
from truethrow.cli.profiles import found_for
from truethrow.worksheets.pages.floor.state import CardNow
from truethrow.worksheets.words import server_words as words

if TYPE_CHECKING:
    from truethrow.cli.floor.shop import Shop


def card_now(shop: Shop, code: str) -> CardNow:
    """What a card is by now. code: the text of its QR code."""
    try:
        read = read_code(code)
    except TruethrowError:
        return CardNow(code, fault=words.NO_CARD.format(code=shown(code)))
    try:
        place = _job_called(shop, read.job_id)
        found = found_for(place) if read.station else None
        if read.station and found is None:
            raise BadInput([Fault("station", "its profile is not found beside the job, set, or in the book")])
        told = verdict(read, place, None, found[0] if found else None)
    except TruethrowError as error:
        is_unweighed = any(one.where == "--sheet" for one in getattr(error, "faults", ()))
        return CardNow(code, fault=words.CARD_UNWEIGHED if is_unweighed else told_of(error))
    return CardNow(code, told.said, told.is_current)


def _job_called(shop: Shop, job_id: str) -> Snapshot:
    """The job that has such an id. Raises BadInput where none has."""
    for name in shop.marks():
        place = Snapshot(shop.at(name))
        with contextlib.suppress(TruethrowError, ValueError, AttributeError):
            if tomllib.loads(text_of(place)).get("job", {}).get("id") == job_id:
                return place
    raise BadInput([Fault("CODE", f"is of job {shown(job_id)}, which is not open here")])
