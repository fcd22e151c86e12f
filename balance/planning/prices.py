"""The shop's small price list: a slug, a hole, an hour, and how many hours a crank takes besides its holes."""

from __future__ import annotations

from typing import Annotated

from pydantic import PlainValidator

from truethrow.balance.base.fields import Table, number_within, printable_text

# Of one thing, in whatever currency.
DEAREST = 1e7

Price = Annotated[float, PlainValidator(number_within(0, DEAREST))]
Hours = Annotated[float, PlainValidator(number_within(0, 1000))]


class PricesTable(Table):
    """slug, hole: each with its work; hour: of the shop; hours: that a crank takes besides, to set up, to spin and
    to sign."""

    currency: Annotated[str, PlainValidator(printable_text(8))] = "$"
    slug: Price | None = None
    hole: Price | None = None
    hour: Price | None = None
    hours: Hours | None = None
