"""A mass, a length or a speed as whoever builds on the library has it: a number in g, mm or r/min, a text with its
unit, or a quantity of pint. Whatever is none is a fault that names it."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, TypeAlias

from truethrow.balance.base import units
from truethrow.balance.base.amounts import reach
from truethrow.balance.base.digits import digits
from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.units import ANGLE, LENGTH, MASS, SPEED, Dimension, NotAQuantity

# A number, a text with its unit, or a pint quantity.
Quantity: TypeAlias = Any

# What a document has, as job.parse_toml lets it be.
MOST_LEVELS = 20
HEAVIEST_G = 1e9  # of any part, as a job file has it of a crank


def mass_g(name: str, typed: Quantity) -> float:
    """A mass, which may be none. [g] name: of the argument, for the fault. Raises BadInput.

    >>> mass_g("oil", "0.25 oz")
    7.08738078125
    >>> mass_g("oil", -4)
    Traceback (most recent call last):
    truethrow.balance.base.errors.BadInput: oil: -4 g; allowed: 0 to 1000000 kg
    """
    value = _read(name, typed, MASS)
    if not 0 <= value <= HEAVIEST_G:
        raise BadInput([_out_of_reach(name, typed, MASS, HEAVIEST_G, zero="0")])
    return value


def length_mm(name: str, typed: Quantity) -> float:
    """A length. [mm] As mass_g.

    >>> length_mm("stroke", "3.5 in")
    88.9
    """
    return _read(name, typed, LENGTH)


def above_zero(name: str, typed: Quantity, dimension: Dimension, most: float) -> float:
    """A mass or a length above zero, and no more than so much. [g, mm] Raises BadInput.

    >>> above_zero("rim", "-4 in", LENGTH, 20000)
    Traceback (most recent call last):
    truethrow.balance.base.errors.BadInput: rim: -4 in; allowed: above 0 and at most 787.4 in
    """
    value = _read(name, typed, dimension)
    if not 0 < value <= most:
        raise BadInput([_out_of_reach(name, typed, dimension, most)])
    return value


def _out_of_reach(name: str, typed: Quantity, dimension: Dimension, most: float, zero: str = "") -> Fault:
    """A quantity that is below its least or beyond its most, each told in the unit that it came in. zero: how zero
    is told where that is allowed, too."""
    read = _as_typed(typed)
    unit = units.unit_of(read, dimension)
    told = shown(read) if unit else f"{shown(read)} {dimension.inside}"
    return Fault(name, told, reach(dimension, 0, most, unit, zero=zero))


def speed_rpm(name: str, typed: Quantity) -> float:
    """A speed, above zero. [r/min] As mass_g.

    >>> speed_rpm("speed", 4200)
    4200.0
    """
    rpm = _read(name, typed, SPEED)
    if not 0 < rpm <= units.FASTEST_RPM:
        raise BadInput([Fault(name, f"{digits(rpm)} r/min", f"above 0 and at most {units.FASTEST_RPM:g} r/min")])
    return rpm


def angle_deg(name: str, typed: Quantity) -> float:
    """An angle. [degrees] As mass_g.

    >>> angle_deg("arc", 20)
    20.0
    """
    return _read(name, typed, ANGLE)


def masses_g(name: str, typed: object, count: int | None = None, of: str = "") -> list[float]:
    """Masses, one for each of so many. [g] Raises BadInput for another number of them, with all faults at once.

    >>> masses_g("reciprocating", [520, 520, 520], 4, "cylinders")
    Traceback (most recent call last):
    truethrow.balance.base.errors.BadInput: reciprocating: 3 masses for 4 cylinders; allowed: one each
    """
    every = as_list(name, typed)
    if count is not None and len(every) != count:
        raise BadInput([Fault(name, f"{len(every)} mass{'es' * (len(every) != 1)} for {count} {of}", "one each")])
    with all_faults() as faults:
        return [faults.of(mass_g, f"{name} {place}", one) for place, one in enumerate(every, start=1)]


def number(name: str, typed: object, least: float, most: float, *, is_above: bool = False) -> float:
    """A bare number from least to most, both allowed; is_above: not the least itself. Raises BadInput.

    >>> number("share", float("nan"), 0, 1)
    Traceback (most recent call last):
    truethrow.balance.base.errors.BadInput: share: nan; allowed: 0 to 1
    """
    try:
        value = math.nan if is_truth(typed) else float(typed)  # type: ignore[arg-type]
    except (TypeError, ValueError, OverflowError):
        value = math.nan
    if not least <= value <= most or (is_above and value == least):
        low = f"above {digits(least)} and at most" if is_above else f"{digits(least)} to"
        raise BadInput([Fault(name, shown(typed), f"{low} {digits(most)}")])
    return value


def whole(name: str, typed: object, least: int, most: int) -> int:
    """A whole number from least to most. Raises BadInput.

    >>> whole("steps", 2.5, 4, 100000)
    Traceback (most recent call last):
    truethrow.balance.base.errors.BadInput: steps: 2.5; allowed: a whole number, 4 to 100000
    """
    with contextlib.suppress(BadInput):
        if (value := number(name, typed, least, most)).is_integer():
            return int(value)
    raise BadInput([Fault(name, shown(typed), f"a whole number, {least} to {most}")])


def is_truth(value: object) -> bool:
    """Whether it is a yes or no, which Python counts as a number.

    >>> is_truth(True), is_truth(1)
    (True, False)
    """
    return isinstance(value, bool) or type(value).__name__ == "bool"  # numpy has one of its own


def as_list(name: str, typed: object) -> list[Any]:
    """A list, a tuple, a numpy array or a pint quantity of several, as a list. Raises BadInput for all else."""
    with contextlib.suppress(TypeError):
        if not isinstance(typed, str | bytes | Mapping):
            return list(typed)  # type: ignore[call-overload, no-any-return]
    raise BadInput([Fault(name, f"{shown(typed)} is no list", "a list, one entry each")])


class Faults:
    """The faults of several arguments, so that all of them come in one answer."""

    def __init__(self) -> None:
        self.found: list[Fault] = []

    def of(self, read: Any, *arguments: Any, **named: Any) -> Any:
        """What a reader makes of its arguments; where it refuses them its faults are kept, NaN in its place."""
        try:
            return read(*arguments, **named)
        except BadInput as error:
            self.found += error.faults
            return math.nan


@contextlib.contextmanager
def all_faults() -> Iterator[Faults]:
    """Raises one BadInput with every fault that was kept, as its body ends."""
    faults = Faults()
    yield faults
    if faults.found:
        raise BadInput(faults.found)


def plain(document: Mapping[str, Any], level: int = MOST_LEVELS) -> dict[str, Any]:
    """A job as tables, as a job's file would give them: quantities of pint with their unit as text, what numpy has
    as Python has it. The mapping itself stays as it is. Raises BadInput.

    >>> plain({"engine": {"stroke": "92 mm", "throw_angles": (0, 180)}})
    {'engine': {'stroke': '92 mm', 'throw_angles': [0, 180]}}
    """
    if level == 0:
        raise BadInput([_too_deep()])
    return {str(key): _plain(value, level - 1) for key, value in document.items()}


def _too_deep() -> Fault:
    return Fault("", "nested too deep", f"tables of at most {MOST_LEVELS} levels")


def _plain(value: object, level: int) -> object:
    if isinstance(value, Mapping):
        return plain(value, level)
    if isinstance(value, list | tuple) or getattr(value, "ndim", 0) not in (0, None):
        if level == 0:
            raise BadInput([_too_deep()])
        return [_plain(one, level - 1) for one in as_list("", value)]
    return _as_typed(value)


def _read(name: str, typed: Quantity, dimension: Dimension) -> float:
    try:
        return units.parse(_as_typed(typed), dimension, dimension.inside)
    except NotAQuantity as error:
        article = "an" if dimension.name[0] in "aeiou" else "a"
        allowed = f"{article} {dimension.name}, such as 12.5 or text with its unit ({dimension.examples})"
        raise BadInput([Fault(name, str(error), allowed)]) from None


def _as_typed(value: object) -> object:
    """What a hand would have typed: a quantity of pint as text with its unit; a number of numpy as Python's."""
    if hasattr(value, "magnitude") and hasattr(value, "units"):
        return f"{value.magnitude} {value.units:~D}"
    return value.item() if hasattr(value, "item") and getattr(value, "ndim", 1) == 0 else value


def numbers(name: str, typed: object, least: float, most: float) -> Sequence[float]:
    """Bare numbers from least to most, at least one. Raises BadInput with all faults at once."""
    every = as_list(name, typed)
    if not every:
        raise BadInput([Fault(name, "none", f"one or more, {digits(least)} to {digits(most)}")])
    with all_faults() as faults:
        return [faults.of(number, name, one, least, most) for one in every]
