"""What the book tells as plain data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from truethrow.balance.job.about import NOTHING_SAID, About

if TYPE_CHECKING:
    from truethrow.balance.book.listing import Listed
    from truethrow.balance.book.stock import Loose, PartHistory


def listed_as_data(job: Listed, about: About = NOTHING_SAID) -> dict[str, Any]:
    data = job._asdict() | {"due": about.due or None, "who": about.who}
    del data["last_seq"], data["last_seal"]
    data["head"] = str(job.head)
    if not data.pop("is_fresh"):
        data |= {"state": None, "blocked": None, "digest": None}
    return data


def stock_as_data(part: Loose) -> dict[str, Any]:
    return part._asdict()


def part_as_data(part: PartHistory) -> dict[str, Any]:
    return part._asdict() | {
        name: [one._asdict() for one in getattr(part, name)] for name in ("weighings", "moves", "sits")
    }
