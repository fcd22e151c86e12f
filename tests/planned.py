"""What a job may say before anything is cut: weights by the catalog, and what must clear; and a shop's price list.
Invented."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from truethrow.balance.planning.prices import PricesTable
from truethrow.balance.planning.quoting import Count, Line, Quote

ESTIMATE = """
[estimate]
piston = { about = 521, within = 2, scatter = 0.8 }
pin = { about = 118, within = 0.5 }
small_end = { about = "180 g", within = 3, scatter = 1 }
big_end = { about = 445, within = 4, scatter = 1.5 }
"""

CLEAR = """
[clearance]
least = 1.5
skirt_below_pin = 16.2
skirt_width = 62.0
skirt_along = 70.0

[[clearance.rod]]
distance = 36.0
angle = 62.0
radius = 7.5

[[clearance.circle]]
name = "cam lobes"
distance = 122.0
radius = 24.0

[[clearance.line]]
name = "pan rail"
distance = 98.0
angle = 100
"""

PRICES = """
[prices]
currency = "EUR"
weighing = 2.50
match = 60
cut = 12.345
spin = 35
slug = 38
hole = 6
hour = 85
hours = 4.25
holds = "30 days"
"""


def quoted(prices: PricesTable | None = None, **changes: Any) -> Quote:
    """A quote of two lines, one of them a range."""
    table = prices or PricesTable(currency="$", hours=4, hour=85, hole=6)
    lines = (
        Line("hole", Count.of(2, 5), Decimal(6), Decimal(12), Decimal(30)),
        Line("hour", Count.of(4), Decimal(85), Decimal("340.50"), Decimal("340.50")),
    )
    return Quote("weighed", table, lines, (), 1850.0)._replace(**changes)
