"""The fields that documents are made of: quantities, readings, names, and how a table of them is checked.

Every table is strict: an unknown key, a wrong type or a value out of reach is a fault, and all faults of a table
come back at once. A quantity is a bare number in the document's unit, or text with a unit.
"""

from __future__ import annotations

import contextlib
import difflib
import math
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple, TypeVar, cast, get_args

from pydantic import (
    BaseModel,
    ConfigDict,
    PlainValidator,
    ValidationError,
    ValidationInfo,
)
from pydantic_core import PydanticCustomError

from truethrow.balance.base import units
from truethrow.balance.base.amounts import ToldIn, reach
from truethrow.balance.base.digits import digits
from truethrow.balance.base.errors import Fault, shown
from truethrow.balance.base.readings import Estimate
from truethrow.balance.base.units import ANGLE, LENGTH, MASS, SPEED, UNBALANCE, Dimension, NotAQuantity

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails


# Without a declared capacity, no single part of an engine that is balanced this way weighs more.
HEAVIEST_G = 50_000.0


MOST_REPEATS = 20


MOST_CYLINDERS = 99


LONGEST_LABEL = 300


class Units(NamedTuple):
    """What a bare number means in this document, and what the scale can read."""

    mass: str = "g"
    length: str = "mm"
    least_g: float = 0.0
    most_g: float = HEAVIEST_G

    @property
    def told_in(self) -> ToldIn:
        """The units of what is wrong with it: those of its bare numbers."""
        return ToldIn(self.mass, self.mass, self.length)

    def of(self, dimension: Dimension) -> str:
        return {MASS.name: self.mass, LENGTH.name: self.length}.get(dimension.name, dimension.inside)


class Typed(NamedTuple):
    """One or more readings of a part: each as typed and in grams. zero_g: how far off zero the empty scale was;
    estimate: of a part that nobody weighed yet, how well its mass is known."""

    texts: tuple[str, ...]
    grams: tuple[float, ...]
    zero_g: float = 0.0
    estimate: Estimate | None = None


def reading_g(typed: object, unit: str, document: Units) -> float:
    """One reading in grams. Raises NotAQuantity when it is no mass that this scale can show."""
    mass_g = units.parse(typed, MASS, unit)
    if mass_g <= 0:
        raise NotAQuantity("is not above zero", typed)
    if mass_g < document.least_g:
        raise NotAQuantity("is below one step of the scale", typed)
    if mass_g > document.most_g:
        raise NotAQuantity("is beyond the scale", typed)
    return mass_g


def reading_allowed(document: Units) -> str:
    return f"a mass, {reach(MASS, document.least_g, document.most_g, document.mass)}"


def _document(info: ValidationInfo) -> Units:
    return info.context if isinstance(info.context, Units) else Units()


def _fault(found: str, allowed: str) -> PydanticCustomError:
    return PydanticCustomError("fault", "{found}", {"found": found, "allowed": allowed})


def quantity_within(
    dimension: Dimension, least: float, most: float, *, zero: bool = False
) -> Callable[[object, ValidationInfo], float]:
    """Checks a quantity: a bare number in the document's unit, or text with a unit. A fault tells what is allowed
    in the unit that was typed."""
    what = f"{'an' if dimension in (ANGLE, UNBALANCE) else 'a'} {dimension.name}"

    def check(typed: object, info: ValidationInfo) -> float:
        unit = _document(info).of(dimension)

        def fault(wrong: str) -> PydanticCustomError:
            told_in = units.unit_of(typed, dimension) or unit
            return _fault(wrong, f"{what}, {reach(dimension, least, most, told_in, zero='0' if zero else '')}")

        if typed == "":
            raise fault("blank")
        try:
            value = units.parse(typed, dimension, unit)
        except NotAQuantity as error:
            raise fault(str(error)) from None
        if not least <= value <= most or (value == 0 and not zero and least >= 0):
            raise fault(f"{shown(typed)} is out of reach")
        return value

    return check


def _readings(typed: object, info: ValidationInfo) -> Typed:
    document = _document(info)
    several = typed if isinstance(typed, list) else [typed]
    if not several or typed == "":
        raise _fault("blank", reading_allowed(document))
    if len(several) > MOST_REPEATS:
        raise _fault(f"{len(several)} readings of one part", f"at most {MOST_REPEATS}")
    grams, wrong = [], []
    for position, one in enumerate(several, start=1):
        try:
            grams.append(reading_g(one, document.mass, document))
        except NotAQuantity as error:
            wrong.append(f"reading {position}, {error}" if len(several) > 1 else str(error))
    if wrong:
        raise _fault("; ".join(wrong), reading_allowed(document))
    return Typed(tuple(str(one) for one in several), tuple(grams))


def number_within(least: float, most: float) -> Callable[[object], float]:
    """Checks a plain number."""

    def check(typed: object) -> float:
        value = math.nan
        if isinstance(typed, int | float | Decimal) and not isinstance(typed, bool):
            with contextlib.suppress(OverflowError):  # an integer that no float can hold
                value = float(typed)
        if not least <= value <= most:
            raise _fault(
                "blank" if typed == "" else f"{shown(typed)} is out of reach", f"{digits(least)} to {digits(most)}"
            )
        return value

    return check


def printable_text(longest: int, *, empty: bool = False) -> Callable[[object], str]:
    """Checks a text that no terminal minds."""

    def check(typed: object) -> str:
        if not isinstance(typed, str) or len(typed) > longest or not typed.isprintable():
            raise _fault(repr(shown(typed)), f"printable text, at most {longest} characters")
        if not typed.strip() and not empty:
            raise _fault("blank", f"printable text, at most {longest} characters")
        return typed

    return check


def _unit_of(dimension: Dimension) -> Callable[[object], str]:
    def check(typed: object) -> str:
        if not isinstance(typed, str):
            raise _fault(f"{shown(typed)} is no unit", dimension.examples)
        try:
            units.factor(typed, dimension)
        except NotAQuantity as error:
            raise _fault(str(error), dimension.examples) from None
        return typed

    return check


def one_of(*names: str, told: str = "") -> Callable[[object], str]:
    """Checks a word out of a few, with a hint for one that is nearly right. told: the few, where there are more
    ways to write each."""

    def check(typed: object) -> str:
        if typed not in names:
            close = difflib.get_close_matches(shown(typed), names, n=1)
            hint = f" (did you mean {close[0]}?)" if close else ""
            raise _fault(
                "blank" if typed == "" else f"{shown(typed)!r} is not known{hint}", told or ", ".join(names)
            )
        return str(typed)

    return check


def _several(check: Callable[[object, ValidationInfo], float]) -> Callable[[object, ValidationInfo], Any]:
    """A value, or a list of values (of lists, for the pins of a split throw)."""

    def check_all(typed: object, info: ValidationInfo) -> Any:
        if isinstance(typed, list) and typed:
            return [check_all(one, info) for one in typed]
        return check(typed, info)

    return check_all


_mass_or_zero = quantity_within(MASS, 0, HEAVIEST_G, zero=True)


_angle = quantity_within(ANGLE, -720, 720)


AnyMass = Annotated[float, PlainValidator(quantity_within(MASS, 0, HEAVIEST_G))]


MassOrZero = Annotated[float, PlainValidator(_mass_or_zero)]


MassPerThrow = Annotated[float | list[float], PlainValidator(_several(_mass_or_zero))]


CrankMass = Annotated[float, PlainValidator(quantity_within(MASS, 0, 1e9))]


Length = Annotated[float, PlainValidator(quantity_within(LENGTH, 0, units.LONGEST_MM))]


def _or_blank(
    check: Callable[[object, ValidationInfo], float],
) -> Callable[[object, ValidationInfo], float | None]:
    """A quantity that a document may leave blank, as one that is not there."""
    return lambda typed, info: None if typed == "" else check(typed, info)


LengthOrBlank = Annotated[float | None, PlainValidator(_or_blank(quantity_within(LENGTH, 0, units.LONGEST_MM)))]


Position = Annotated[float, PlainValidator(quantity_within(LENGTH, -units.LONGEST_MM, units.LONGEST_MM))]


Angle = Annotated[float, PlainValidator(_angle)]


ThrowAngle = Annotated[float | list[float], PlainValidator(_several(_angle))]


Speed = Annotated[float, PlainValidator(quantity_within(SPEED, 0, units.FASTEST_RPM))]


Unbalance = Annotated[float, PlainValidator(quantity_within(UNBALANCE, 0, 1e9))]


Readings = Annotated[Typed, PlainValidator(_readings)]


Label = Annotated[str, PlainValidator(printable_text(LONGEST_LABEL, empty=True))]


class Table(BaseModel):
    """A table of the job file: strict, frozen, no key beyond those declared."""

    # Built when first used: the bases and the tables inside tables are never validated by themselves.
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, defer_build=True)


PartName = Annotated[str, PlainValidator(printable_text(LONGEST_LABEL))]


T = TypeVar("T", bound=Table)


def validate(model: type[T], raw: object, where: str, document: Units, faults: list[Fault]) -> T | None:
    """One table of the document, or None with its faults added: all of them, in the order of the file."""
    if not isinstance(raw, Mapping):
        faults.append(Fault(where, f"{shown(raw)} is not a table", f"a table [{where}]"))
        return None
    try:
        return model.model_validate(raw, context=document)
    except ValidationError as error:
        faults += _translated(error, model, where)
        return None


def table_in(
    raw: Mapping[str, Any],
    name: str,
    model: type[T],
    document: Units,
    faults: list[Fault],
    *,
    needed: bool = False,
) -> T | None:
    """A table of a document by its name; its defaults where the document leaves out what is not needed. None with
    its faults added."""
    if name in raw:
        return validate(model, raw[name], name, document, faults)
    if needed:
        faults.append(Fault(name, "missing", f"a table [{name}]"))
        return None
    return empty(model)


def empty(model: type[T]) -> T:
    """A table that the document leaves out: its defaults, without the cost of building its checks."""
    return cast("T", model.model_construct())


def unknown_key(key: str, known: Mapping[str, object] | list[str]) -> str:
    close = difflib.get_close_matches(key, list(known), n=1, cutoff=0.5)
    return f"{shown(key)!r} is not known here" + (f" (did you mean {close[0]}?)" if close else "")


def _translated(error: ValidationError, model: type[Table], where: str) -> list[Fault]:
    return [_fault_of(item, model, where) for item in error.errors(include_url=False)]


def _fault_of(item: ErrorDetails, model: type[Table], where: str) -> Fault:
    names = [f"entry {part + 1}" if isinstance(part, int) else shown(part) for part in item["loc"]]
    match item["type"]:
        case "fault":
            found, allowed = item["ctx"]["found"], item["ctx"]["allowed"]
        case "extra_forbidden":
            names.pop()
            fields = _table_at(model, item["loc"][:-1]).model_fields
            known = [field.alias or name for name, field in fields.items()]
            found, allowed = unknown_key(str(item["loc"][-1]), known), ""
        case "missing":
            found, allowed = "missing", ""
        case "too_long":
            found, allowed = f"{item['ctx']['actual_length']} of them", f"at most {item['ctx']['max_length']}"
        case _:
            found, allowed = repr(shown(item["input"])), item["msg"].lower()
    return Fault(", ".join([where, *names]), found, allowed)


def _table_at(model: type[Table], path: tuple[int | str, ...]) -> type[Table]:
    """The table that a place inside a document belongs to; the keys of a free dict lead no deeper."""
    for part in path:
        field = model.model_fields.get(str(part))
        model = _table_in(field.annotation if field else None) or model
    return model


def _table_in(annotation: object) -> type[Table] | None:
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return annotation
    return next((found for arg in get_args(annotation) if (found := _table_in(arg))), None)
