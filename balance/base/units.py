"""Units enter here, once, and nowhere else.

Inside the house a mass is in grams, a length in millimetres, an angle in degrees or radians, a speed in
r/min, always with the unit in the name. The few units that a shop types daily stand in a table of exact
factors (international yard and pound agreement, 1959), so that pint, which takes a quarter of a second to
load, is loaded only for the others. The tests hold the table to pint.
"""

from __future__ import annotations

import re
import tokenize
from decimal import Decimal, InvalidOperation
from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

from truethrow.balance.base.digits import digits
from truethrow.balance.base.errors import shown

if TYPE_CHECKING:
    from pint import UnitRegistry


class Dimension(NamedTuple):
    """What a field measures: its name, the unit kept inside, and the exact factors of the daily units."""

    name: str
    inside: str
    factors: dict[str, Decimal]
    examples: str


MASS = Dimension(
    "mass",
    "g",
    {
        "g": Decimal(1),
        "kg": Decimal(1000),
        "mg": Decimal("0.001"),
        "oz": Decimal("28.349523125"),
        "lb": Decimal("453.59237"),
    },
    "g, kg, oz, lb",
)
LENGTH = Dimension(
    "length",
    "mm",
    {"mm": Decimal(1), "cm": Decimal(10), "m": Decimal(1000), "in": Decimal("25.4")},
    "mm, cm, in",
)
ANGLE = Dimension("angle", "deg", {"deg": Decimal(1), "°": Decimal(1)}, "deg, rad")
SPEED = Dimension("speed", "rpm", {"rpm": Decimal(1), "r/min": Decimal(1)}, "rpm, r/min, rad/s")
FASTEST_RPM = 50_000.0
LONGEST_MM = 20_000.0
_UNBALANCES = {
    "g·mm": Decimal(1),
    "g·cm": Decimal(10),
    "g·in": Decimal("25.4"),
    "oz·in": Decimal("720.077887375"),
}
# Every way that a unit of unbalance is typed, dot or none (gcm), and how it is shown.
UNBALANCE_SHOWN = {name.replace("·", dot): name for name in _UNBALANCES for dot in ("·", "*", "-", " ", "")}
UNBALANCE = Dimension(
    "unbalance",
    "g·mm",
    {typed: _UNBALANCES[name] for typed, name in UNBALANCE_SHOWN.items()},
    "g·mm, g·cm, g·in, oz·in",
)

_WRITTEN = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(\D.*)?")
_FRACTION = r"(?:\d{1,9}(?:\s+|\s*-\s*))?\d{1,4}/\d{1,4}"
# As a rule or a postal scale is read aloud: 3 3/4, 3-3/4, 1 lb 5.59 oz. The dash joins, it takes nothing away.
_MIXED = re.compile(rf"({_FRACTION})\s*(\D.*)?")
_POUNDS = re.compile(
    rf"(\d{{1,9}})\s*(?:lbs?|pounds?)\.?\s*,?\s*({_FRACTION}|\d{{1,9}}(?:\.\d{{0,9}})?)\s*(?:oz|ounces?)\.?"
)
_FINEST = 128
# What a hand writes for the units of the tables.
_ALSO = {
    **dict.fromkeys(('"', "”", "″", "''", "inch", "inches", "in."), "in"),
    **dict.fromkeys(("gram", "grams"), "g"),
    **dict.fromkeys(("ounce", "ounces", "oz."), "oz"),
    **dict.fromkeys(("lbs", "lb.", "lbs.", "pound", "pounds"), "lb"),
}
_UNIT = re.compile(r"[A-Za-zµμ°][A-Za-zµμ°/·*^ 0-9-]{0,31}")
# Pint's gr is the grain; a shop that writes gr means grams, a fifteenth of that apart.
_AMBIGUOUS = {"gr": "g or grain"}
# What pint raises at odd text: its own errors, and what escapes from the parser underneath.
_NOT_READ_BY_PINT = (
    *(AttributeError, TypeError, ValueError, ArithmeticError, LookupError),
    *(AssertionError, SyntaxError, tokenize.TokenError),
)
# Past this many decimal places either way no scale, rule or counter reads; it also keeps 1e999999 cheap.
_FARTHEST_EXPONENT = 30


_UNTOLD = object()
_OUNCES_A_POUND = 16
_COMMA = 'has a comma; write it with a decimal point and its unit, such as "{point} {unit}"'
# The unit in which a shop writes what may have a comma in it.
_USUAL = {"mass": "g", "length": "in", "angle": "deg", "speed": "rpm", "unbalance": "g·mm"}


class NotAQuantity(ValueError):
    """The text is no number with a fitting unit; the message says what it is instead. typed: what was to be read,
    where the message is about it."""

    def __init__(self, what: str, typed: object = _UNTOLD, *, quoted: bool = False) -> None:
        self.what, self.typed, self.quoted = what, typed, quoted
        super().__init__(self.of(typed))

    def of(self, written: object) -> str:
        """The message about what was read, as somebody wrote it."""
        if self.typed is _UNTOLD:
            return self.what
        return f"{repr(shown(written)) if self.quoted else shown(written)} {self.what}"


def parse(typed: object, dimension: Dimension, default_unit: str) -> float:
    """A typed number, with or without a unit, in the unit kept inside.

    typed: int, Decimal, float or text such as ``"18.99 oz"``; a bare number takes default_unit.
    Raises NotAQuantity for anything else: no number, no unit of that dimension, not finite, out of reach.
    """
    number, unit = _split(typed, dimension)
    if not number.is_finite():
        raise NotAQuantity("is not a number", typed)
    if number and abs(number.adjusted()) > _FARTHEST_EXPONENT:
        raise NotAQuantity("is out of reach", typed)
    return float(number * factor(unit or default_unit, dimension))


def unit_of(typed: object, dimension: Dimension) -> str:
    """The unit that a typed number has behind it, as the table calls it; empty for a bare one, and for what is no
    quantity."""
    try:
        unit = _split(typed, dimension)[1]
        if unit:
            factor(unit, dimension)
    except NotAQuantity:
        return ""
    return _ALSO.get(unit, unit)


def mass_in(grams: float, unit: str) -> str:
    """A mass in a unit that is not the one kept inside, with its unit. Raises NotAQuantity for no unit of mass."""
    return f"{digits(grams / float(factor(unit, MASS)))} {unit}"


def factor(unit: str, dimension: Dimension) -> Decimal:
    """How many inside units one of this unit is. Raises NotAQuantity for a unit that does not fit."""
    unit = _ALSO.get(unit, unit)
    if (known := dimension.factors.get(unit)) is not None:
        return known
    if unit in _AMBIGUOUS:
        raise NotAQuantity(f"{shown(unit)!r} can be read in two ways; write {_AMBIGUOUS[unit]}")
    if any(unit in other.factors for other in (MASS, LENGTH, ANGLE, SPEED, UNBALANCE)):
        raise _misfit(unit, dimension)
    return _factor_from_pint(unit, dimension)


@cache
def registry() -> UnitRegistry[Any]:
    """The one registry of the house, exact (Decimal), loaded when first asked for."""
    import pint  # noqa: PLC0415 (loaded only for units outside the daily table)

    return pint.UnitRegistry(non_int_type=Decimal, cache_folder=None)


def split_mixed(text: str) -> tuple[Decimal, str] | None:
    """A fraction, or pounds and ounces, as one number and its unit; None for any other text. Raises NotAQuantity
    for a fraction that no rule has, and for ounces that are a pound."""
    if both := _POUNDS.fullmatch(text):
        ounces = _fraction(both[2], text) if "/" in both[2] else Decimal(both[2])
        if ounces >= _OUNCES_A_POUND:
            raise NotAQuantity("has a pound or more of ounces", text, quoted=True)
        return int(both[1]) * _OUNCES_A_POUND + ounces, "oz"
    if mixed := _MIXED.fullmatch(text):
        return _fraction(mixed[1], text), (mixed[2] or "").strip()
    return None


def _fraction(text: str, typed: str) -> Decimal:
    *whole, over, under = map(int, re.findall(r"\d+", text))
    if not 1 < under <= _FINEST or not 0 < over < under:
        raise NotAQuantity("has a fraction that no rule has", typed, quoted=True)
    return sum(whole) + Decimal(over) / Decimal(under)


def _split(typed: object, dimension: Dimension) -> tuple[Decimal, str]:
    if isinstance(typed, bool) or not isinstance(typed, int | float | Decimal | str):
        raise NotAQuantity("is not a number", typed)
    if isinstance(typed, int):
        # Not by way of its digits: Python refuses to write out an integer of thousands of them.
        if abs(typed) >= 10 ** (_FARTHEST_EXPONENT + 1):
            raise NotAQuantity("is out of reach", typed)
        return Decimal(typed), ""
    if not isinstance(typed, str):
        return Decimal(str(typed)), ""
    if comma := re.search(r"(?<!\d)\d+,\d+", typed):
        raise NotAQuantity(
            _COMMA.format(point=comma[0].replace(",", "."), unit=_USUAL[dimension.name]), typed, quoted=True
        )
    if (mixed := split_mixed(typed.strip())) is not None:
        return mixed
    written = _WRITTEN.fullmatch(typed.strip())
    if written is None:
        raise NotAQuantity("is not a number", typed, quoted=True)
    try:
        return Decimal(written[1]), (written[2] or "").strip()
    except InvalidOperation:  # an exponent beyond what Decimal itself can hold
        raise NotAQuantity("is out of reach", typed) from None


def _factor_from_pint(unit: str, dimension: Dimension) -> Decimal:
    if not _UNIT.fullmatch(unit):
        raise NotAQuantity(f"{shown(unit)!r} is not a unit of {dimension.name} ({dimension.examples})")
    import pint  # noqa: PLC0415

    try:
        one = registry().Quantity(Decimal(1), unit)
        inside = registry().Quantity(Decimal(1), dimension.inside)
        # To pint a radian is 1, so that Hz would pass for rad/s and a percent for an angle.
        fits = one.to_root_units().units == inside.to_root_units().units
        magnitude = Decimal(one.to(dimension.inside).magnitude)
    except pint.DimensionalityError:
        raise _misfit(unit, dimension) from None
    except _NOT_READ_BY_PINT:
        raise NotAQuantity(f"{shown(unit)!r} is not a unit of {dimension.name} ({dimension.examples})") from None
    if not fits:
        raise _misfit(unit, dimension)
    return magnitude


def _misfit(unit: str, dimension: Dimension) -> NotAQuantity:
    return NotAQuantity(f"{shown(unit)!r} is no unit of {dimension.name} ({dimension.examples})")
