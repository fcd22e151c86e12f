"""The builder's rules for a matching: what stays together or apart, where it is, or on one bank.

A part is named by what it is and its label, ``rod R29``; one without a label by the cylinder that it was weighed
in, ``rod 3``. So a name means the same part wherever it sits.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Bools
from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.parts import UNITS
from truethrow.balance.job.job import Job


class Rules(NamedTuple):
    """By unit: which of its parts may sit in which cylinder; for two units which of their parts may sit
    together. Parts and cylinders are counted from 0, parts by where they sit now."""

    allowed: dict[str, Bools]
    pairs: dict[tuple[str, str], Bools]


def rules(job: Job, units: Sequence[str]) -> Rules:
    """The job's rules for the units that move. A rule about what does not move is one about its cylinder.

    Raises BadInput for names that no part, or more than one, has."""
    return _Reader(job, units).read()


class _Named(NamedTuple):
    """A part of a unit, or a cylinder (unit ""); at: counted from 0."""

    unit: str
    at: int


class _Reader:
    def __init__(self, job: Job, units: Sequence[str]) -> None:
        self.job, self.units, self.names = job, units, job.names
        self.cylinders = job.layout.cylinders
        count = len(self.cylinders)
        self.rules = Rules({unit: np.ones((count, count), dtype=np.bool_) for unit in units}, {})
        self.faults: list[Fault] = []

    def read(self) -> Rules:
        table = self.job.match
        for position, names in enumerate(table.together, start=1):
            self._together(names, f"match, together, entry {position}")
        for position, names in enumerate(table.apart, start=1):
            parts = [self._part(name, f"match, apart, entry {position}") for name in names]
            for one, other in itertools.combinations([part for part in parts if part], 2):
                self._apart(one, other, f"match, apart, entry {position}")
        for name in table.fixed:
            if part := self._part(name, "match, fixed"):
                for unit in [part.unit] if part.unit else self.units:
                    self._only(_Named(unit, part.at), {part.at})
        for bank, names in table.bank.items():
            self._bank(bank, names)
        if table.offset_pins and "piston" in self.units:
            # A piston with an offset pin is made for the thrust side of its bank.
            for index, cylinder in enumerate(self.cylinders):
                self._only(_Named("piston", index), self._on_bank(self._bank_of(cylinder)))
        if self.faults:
            raise BadInput(self.faults)
        return self.rules

    def _together(self, names: Sequence[str], where: str) -> None:
        """Whole units, each part with the one it sits with now; or the parts that are named."""
        if all(name in UNITS for name in names):
            if len(set(names)) < len(names):
                self.faults.append(Fault(where, "two of one kind cannot sit together", "different kinds"))
            kinds = [name for name in dict.fromkeys(names) if not self._shared(name)]
            for kind, another in itertools.combinations(kinds, 2):
                for index in range(len(self.cylinders)):
                    self._keep(_Named(kind, index), _Named(another, index))
            return
        parts = [part for name in names if (part := self._part(name, where))]
        for one, other in itertools.combinations(parts, 2):
            if one.unit == other.unit:
                self.faults.append(Fault(where, "two of one kind cannot sit together", "parts of different kinds"))
            else:
                self._keep(one, other)

    def _bank(self, bank: str, names: Sequence[str]) -> None:
        known = list(dict.fromkeys(self._bank_of(cylinder) for cylinder in self.cylinders))
        if bank not in known:
            self.faults.append(
                Fault("match, bank", f"{shown(bank)!r} is no bank of this layout", ", ".join(known))
            )
            return
        for name in names:
            if part := self._part(name, f"match, bank, {bank}"):
                self._only(part, self._on_bank(bank))

    def _part(self, name: str, where: str) -> _Named | None:
        kind, _, label = name.strip().partition(" ")
        label = label.strip()
        numbers = {str(cylinder): index for index, cylinder in enumerate(self.cylinders)}
        if kind == "cylinder" and label in numbers:
            return _Named("", numbers[label])
        if kind not in self.job.match.move:
            allowed = f"one of {', '.join(self.job.match.move)} with its label, or the cylinder it was weighed in"
            self.faults.append(Fault(where, f"{shown(name)!r} names nothing that moves", allowed))
            return None
        part = self.names.meant(kind, label, self.faults, where, in_file=True)
        return _Named(kind, self.cylinders.index(part.cylinder)) if part else None

    def _only(self, part: _Named, cylinders: set[int]) -> None:
        if part.unit in self.rules.allowed:
            others = [index for index in range(len(self.cylinders)) if index not in cylinders]
            self.rules.allowed[part.unit][part.at, others] = False

    def _keep(self, one: _Named, other: _Named) -> None:
        if self._moves(one) and self._moves(other):
            fits = self._pair(one, other)
            turned = (one.at, other.at) if self._in_order(one, other) else (other.at, one.at)
            fits[turned[0], :] = fits[:, turned[1]] = False
            fits[turned] = True
        else:  # one of them stays in its cylinder, and so does what is kept with it
            self._only(one, {other.at})
            self._only(other, {one.at})

    def _apart(self, one: _Named, other: _Named, where: str) -> None:
        if one.unit == other.unit:
            self.faults.append(Fault(where, "two of one kind never sit together", "parts of different kinds"))
        elif self._moves(one) and self._moves(other):
            turned = (one.at, other.at) if self._in_order(one, other) else (other.at, one.at)
            self._pair(one, other)[turned] = False
        else:
            for part, place in ((one, other), (other, one)):
                if part.unit in self.rules.allowed:
                    self.rules.allowed[part.unit][part.at, place.at] = False

    def _shared(self, unit: str) -> bool:
        """Whether one reading stands for all parts of a unit: then it does not matter which of them goes along."""
        readings = (parts[kind] for parts in self.job.parts.values() for kind in UNITS[unit] if kind in parts)
        return all(reading.cylinder is None for reading in readings)

    def _moves(self, part: _Named) -> bool:
        return part.unit in self.units

    def _in_order(self, one: _Named, other: _Named) -> bool:
        return self.units.index(one.unit) < self.units.index(other.unit)

    def _pair(self, one: _Named, other: _Named) -> Bools:
        key = (one.unit, other.unit) if self._in_order(one, other) else (other.unit, one.unit)
        count = len(self.cylinders)
        return self.rules.pairs.setdefault(key, np.ones((count, count), dtype=np.bool_))

    def _bank_of(self, cylinder: int) -> str:
        return next(place.bank for place in self.job.layout.places if place.cylinder == cylinder)

    def _on_bank(self, bank: str) -> set[int]:
        return {index for index, cylinder in enumerate(self.cylinders) if self._bank_of(cylinder) == bank}
