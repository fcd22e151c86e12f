"""The shop's small price list, in whatever currency it writes, and how an amount is rounded: once, a half up, to
the decimals that the list has; a range in whole units of the currency, its ends outwards."""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal
from typing import Annotated, Any

from pydantic import PlainValidator

from truethrow.balance.base import fields, files
from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.fields import Label, Table, printable_text
from truethrow.balance.job.jobfile import parse_toml

# Of one thing, in whatever currency.
DEAREST = 10_000_000
MOST_HOURS = 1000
MOST_DECIMALS = 3
# As they are typed, and no more digits than any price has.
MOST_DIGITS = 12


def exact_within(most: int) -> Any:
    """Checks a number that is kept as it was typed, 0 and up."""

    def check(typed: object) -> Decimal:
        allowed = f"0 to {most}"
        if typed == "":
            raise fields._fault("blank", allowed)
        if isinstance(typed, bool) or not isinstance(typed, int | Decimal):
            raise fields._fault(f"{shown(typed)!r} is not a number", allowed)
        value = Decimal(typed)
        if not value.is_finite() or not 0 <= value <= most:
            raise fields._fault(f"{shown(typed)} is out of reach", allowed)
        if len(value.as_tuple().digits) > MOST_DIGITS:
            raise fields._fault(f"{shown(typed)} has more digits than any price", f"at most {MOST_DIGITS}")
        return value

    return check


def decimals_within(most: int) -> Any:
    """Checks how many decimals an amount has."""

    def check(typed: object) -> int:
        if isinstance(typed, bool) or not isinstance(typed, int) or not 0 <= typed <= most:
            raise fields._fault("blank" if typed == "" else shown(typed), f"a whole number, 0 to {most}")
        return typed

    return check


Price = Annotated[Decimal, PlainValidator(exact_within(DEAREST))]
Hours = Annotated[Decimal, PlainValidator(exact_within(MOST_HOURS))]


class PricesTable(Table):
    """weighing: one part on the scale, a rod with both of its ends; match: the parts of one engine matched; cut:
    one, ground and weighed again; spin: one, with its runs; slug, hole: one, each with its work; hour: of the
    shop; hours: that a crank takes besides. holds: how long a quote holds, in the shop's words; note: what else
    is on a quote, such as what it says of taxes; decimals: to which an amount is rounded."""

    currency: Annotated[str, PlainValidator(printable_text(8))] = "$"
    decimals: Annotated[int, PlainValidator(decimals_within(MOST_DECIMALS))] = 2
    weighing: Price | None = None
    match: Price | None = None
    cut: Price | None = None
    spin: Price | None = None
    slug: Price | None = None
    hole: Price | None = None
    hour: Price | None = None
    hours: Hours | None = None
    holds: Annotated[str, PlainValidator(printable_text(80, empty=True))] = ""
    note: Label = ""

    def amount(self, count: Decimal, each: Decimal) -> Decimal:
        """So many of one thing, rounded."""
        return (count * each).quantize(Decimal(1).scaleb(-self.decimals), ROUND_HALF_UP)


def outwards(least: Decimal, most: Decimal) -> tuple[Decimal, Decimal]:
    """The ends of a range in whole units; a figure as it is."""
    if least == most:
        return least, most
    return least.to_integral_value(ROUND_FLOOR), most.to_integral_value(ROUND_CEILING)


def to_whole(amount: Decimal) -> Decimal:
    """An amount in whole units, a half up."""
    return amount.to_integral_value(ROUND_HALF_UP)


def load(path: Any) -> PricesTable:
    """The [prices] of a price list, or of a file of candidates. Raises BadInput with every fault."""
    source = str(path)
    raw = parse_toml(files.read_text(path), source)
    faults: list[Fault] = []
    if "candidates" not in raw:
        faults += [Fault(shown(key), fields.unknown_key(key, ["prices"])) for key in raw if key != "prices"]
    found = fields.table_in(raw, "prices", PricesTable, fields.Units(), faults, needed=True)
    if faults or found is None:
        raise BadInput(faults, source)
    return found
