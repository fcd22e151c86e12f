"""A quote, as plain data: amounts in the shop's currency, each with its least and its most."""

from __future__ import annotations

from typing import Any

from truethrow.balance.planning.quoting import Quote


def quote(found: Quote) -> dict[str, Any]:
    return {
        "stage": found.stage,
        "currency": found.prices.currency,
        "lines": [
            {
                "name": line.name,
                "count": [float(end) for end in line.how_many],
                "each": float(line.each),
                "amount": [float(end) for end in line.told],
            }
            for line in found.lines
        ],
        "total": [float(end) for end in found.total],
        "not_counted": list(found.not_counted),
        "maker_target_g": found.target_g,
        "comes_inside": not found.stays,
        "is_held": found.is_held,
        "holds": found.prices.holds,
        "note": found.prices.note,
    }
