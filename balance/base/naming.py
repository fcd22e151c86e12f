"""What a part is called: its mark first, then where it was weighed, then where it goes.

A part that trades places keeps what is written on it, so a bare cylinder number can mean two parts: the one that
was weighed there and the one that goes there now. All that names a part to a person takes the name from here, and
all that a person types to name a part is read here: what the tool says can be typed back.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.parts import UNIT_OF, UNITS
from truethrow.balance.base.parts import label as spoken
from truethrow.balance.base.trades import first

if TYPE_CHECKING:
    from truethrow.balance.base.trades import Moves

_PLACE = re.compile(r"(weighed|sits|goes) in ([1-9][0-9]?)", re.ASCII)
_NUMBER = re.compile(r"(?:#|no\.? ?)?0*([0-9]{1,9})", re.ASCII | re.IGNORECASE)
_IN_BRACKETS = re.compile(r"(.+?) ?\(([^()]+)\)")
_MARKED = "marked "


class Part(NamedTuple):
    """One part as a person is told of it. kind: piston, pin, locks, rings, rod, or a kind of reading, such as
    big_end, which is of its rod; cylinder: where it sits now; weighed_in: where it was first weighed; label: the
    mark on it; goes_in: where it is to go, where that is not yet so; is_bare: whether its cylinder alone may name
    it."""

    kind: str
    cylinder: int
    weighed_in: int
    label: str = ""
    goes_in: int | None = None
    is_bare: bool = True

    @property
    def unit(self) -> str:
        return UNIT_OF.get(self.kind, self.kind)

    @property
    def has_moved(self) -> bool:
        """Whether it sits, or is to go, elsewhere than where it was weighed, or than where it sits."""
        return self.weighed_in != self.cylinder or self.goes_in not in (None, self.cylinder)

    @property
    def said(self) -> str:
        """``piston P5 (weighed in 5, goes in 1)``, ``piston weighed in 5 (goes in 1)``, ``piston P5 (sits in 5)``,
        ``piston 5``; of a rod's end ``rod R5 (sits in 5), big end``."""
        called = f"{spoken(self.unit)} {self._called()}"
        return called if self.kind == self.unit else f"{called}, {spoken(self.kind)}"

    @property
    def short(self) -> str:
        """The same for a narrow column, without the kind of part: ``P5 5>1``, ``5>1``, ``P5 in 5``, ``5``."""
        end = self.cylinder if self.goes_in is None else self.goes_in
        place = f"{self.weighed_in}>{end}" if self.has_moved else f"{'in ' if self.label else ''}{end}"
        return f"{mark(self.label)} {place}" if self.label else place

    def _called(self) -> str:
        if not self.has_moved:
            if self.label:
                return f"{mark(self.label)} (sits in {self.cylinder})"
            return f"{self.cylinder}" if self.is_bare else f"weighed in {self.cylinder} (sits in {self.cylinder})"
        places = [] if self.label else [f"weighed in {self.weighed_in}"]
        rest = [f"weighed in {self.weighed_in}"] if self.label else []
        if self.goes_in not in (None, self.cylinder) and self.weighed_in != self.cylinder:
            rest.append(f"sits in {self.cylinder}")
        rest.append(f"goes in {self.cylinder if self.goes_in is None else self.goes_in}")
        return f"{mark(self.label) if self.label else places[0]} ({', '.join(rest)})"


def mark(label: str) -> str:
    """A label as it is said: one that a cylinder's number or our own words could be taken for is ``marked 5``."""
    text = _spaced(label)
    is_odd = _NUMBER.fullmatch(text) or _PLACE.fullmatch(text) or text.startswith(_MARKED) or "(" in text
    return f"{_MARKED}{label}" if is_odd else label


class Names(NamedTuple):
    """The names of a job's parts. labels: by the cylinder where the part sits now, and unit; trades: as
    records.Replay has them."""

    cylinders: tuple[int, ...]
    labels: Mapping[int, Mapping[str, str]]
    traded: Moves

    def part(self, kind: str, cylinder: int, goes_in: int | None = None) -> Part:
        """The part of a kind that sits in a cylinder."""
        unit = UNIT_OF.get(kind, kind)
        own = self.labels.get(cylinder, {}).get(unit, "")
        is_bare = not any(_number(labels.get(unit, "")) == cylinder for labels in self.labels.values())
        return Part(kind, cylinder, first(self.traded, cylinder, kind), own, goes_in, is_bare)

    def said(self, kind: str, cylinder: int) -> str:
        return self.part(kind, cylinder).said

    def typed(self, kind: str, cylinder: int) -> str:
        """The shortest that names this part and no other when it is typed: ``piston P5``, ``piston 3``, ``piston
        weighed in 5``, ``big end R5``."""
        part = self.part(kind, cylinder)
        tries = [mark(part.label)] if part.label else [str(cylinder)]
        name = next((text for text in tries if self._found(kind, text) == [part]), f"weighed in {part.weighed_in}")
        return f"{spoken(kind)} {name}"

    def meant(
        self, kind: str, name: str, faults: list[Fault], where: str = "", *, in_file: bool = False
    ) -> Part | None:
        """The part of a kind that a name means: its label, where it was weighed, where it sits, or all that the
        tool says of it. None with a fault added where that is none, or more than one. in_file: the name is one of
        the job file, where a number is always the cylinder that the part was weighed in."""
        found = self._found(kind, name, in_file=in_file)
        if len(found) == 1:
            return found[0]
        typed = f"{spoken(kind)} {name}".strip()
        if found:
            said = f"{shown(typed)!r} can mean {' or '.join(part.said for part in found)}"
            faults.append(Fault(where, said, ", ".join(self.typed(kind, part.cylinder) for part in found)))
        else:
            every = ", ".join(self.typed(kind, cylinder) for cylinder in self.cylinders)
            faults.append(Fault(where, f"{shown(typed)!r} names no part", every))
        return None

    def each(self, words: Sequence[str], where: str = "PART") -> list[Part]:
        """The parts that words on a command line name, such as rod 3 piston P5, in one argument or several. Raises
        BadInput."""
        faults: list[Fault] = []
        found = [
            part
            for unit, name in _split(words, faults, where)
            if (part := self.meant(unit, name, faults, where)) is not None
        ]
        if faults:
            raise BadInput(faults)
        return found

    def _found(self, kind: str, name: str, *, in_file: bool = False) -> list[Part]:
        """Every part of a kind that a name can mean."""
        parts = [self.part(kind, cylinder) for cylinder in self.cylinders]
        text = _spaced(name)
        labelled = _labelled(parts, text)
        if labelled and _number(text) is None and not _PLACE.fullmatch(text):
            return labelled
        places: list[str] = []
        if (told := _IN_BRACKETS.fullmatch(text)) and all(_PLACE.fullmatch(one) for one in told[2].split(", ")):
            text, places = told[1], told[2].split(", ")
        if _PLACE.fullmatch(text):
            found = [part for part in parts if _is_at(part, text)]
        elif text.startswith(_MARKED):
            found = _labelled(parts, text.removeprefix(_MARKED)) or _labelled(parts, text)
        else:
            found = _labelled(parts, text)
            if text.isascii() and text.isdecimal() and not (found and text.startswith("0")):
                number = int(text[:9])
                found = [
                    part
                    for part in parts
                    if part in found
                    or number in (part.weighed_in, _number(part.label))
                    or (number == part.cylinder and not in_file)
                ]
        return [part for part in found if all(_is_at(part, place) for place in places)]


def _labelled(parts: Iterable[Part], text: str) -> list[Part]:
    """The parts with a label, written as it is; where there are none, in any case of its letters."""
    known = [(part, _spaced(part.label)) for part in parts if part.label]
    return [part for part, own in known if own == text] or [
        part for part, own in known if own.casefold() == text.casefold()
    ]


def _is_at(part: Part, place: str) -> bool:
    told = _PLACE.fullmatch(place)
    assert told
    return int(told[2]) == (part.weighed_in if told[1] == "weighed" else part.cylinder)


def _number(label: str) -> int | None:
    """The number that a label may be taken for."""
    found = _NUMBER.fullmatch(_spaced(label))
    return int(found[1]) if found else None


def _spaced(text: str) -> str:
    return " ".join(text.split())


def _split(words: Sequence[str], faults: list[Fault], where: str) -> list[tuple[str, str]]:
    """Words as pairs of a unit and a name. Each unit's word begins a part, but right after another it is a mark:
    some rods are marked ROD 3."""
    found: list[tuple[str, list[str]]] = []
    for word in " ".join(words).split():
        if word.lower() in UNITS and not (found and not found[-1][1]):
            found.append((word.lower(), []))
        elif found:
            found[-1][1].append(word)
        else:
            faults.append(Fault(where, f"{shown(word)!r} is no part", f"such as rod 3; one of {', '.join(UNITS)}"))
            return []
    faults += [
        Fault(where, f"which {unit}?", f"its mark, or its cylinder, such as {unit} 3")
        for unit, own in found
        if not own
    ]
    return [(unit, " ".join(own)) for unit, own in found if own]
