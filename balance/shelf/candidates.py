"""Which loose parts may stand in for one part of a job, and why the others may not.

What a file says of a part is as old as the file: a part that sits in the job by now is not loose, nor one that the
stock has in a job; and where two sources say two masses of one part, nobody knows which is right.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from truethrow.balance.base import fields
from truethrow.balance.base.amounts import as_weighed
from truethrow.balance.base.errors import BadInput, Fault
from truethrow.balance.base.parts import label
from truethrow.balance.job import document as doc
from truethrow.balance.job.job import Job
from truethrow.balance.job.jobfile import bare_units, limits_of, parse_toml, reach
from truethrow.balance.log.place import Place, source_of, text_of
from truethrow.balance.shelf.pool import PLURAL, POOLED, WEIGHED, Part, read


class Candidate(NamedTuple):
    """A loose part that may go in. source: the file that has it, or the stock."""

    part: Part
    source: str

    @property
    def masses(self) -> dict[str, float]:
        """What it reads, by kind of reading. [g]"""
        grams = (self.part.big_end_g, self.part.reciprocating_g)
        return dict(zip(WEIGHED[self.part.kind], grams if self.part.kind == "rod" else grams[1:], strict=True))


class LeftOut(NamedTuple):
    """A loose part that may not, and why."""

    label: str
    source: str
    why: str


class Loose(NamedTuple):
    """The loose parts of one kind: those that may go in, by their labels, and those that may not."""

    candidates: Mapping[str, Candidate]
    left_out: tuple[LeftOut, ...]


def must_be_loose(unit: str) -> None:
    """Raise BadInput for a kind of part that is on no shelf."""
    if unit not in POOLED:
        kept = ", ".join(PLURAL[kind] for kind in POOLED)
        raise BadInput([Fault("SHELF.csv", f"{label(unit)} are not kept as loose parts", kept)])


def in_files(job: Place, paths: Sequence[Path], unit: str) -> list[Candidate]:
    """The parts of a kind in shelf files. Raises BadInput with every fault of every file, and where none of them
    holds the kind."""
    if not paths:
        return []
    raw, faults = parse_toml(text_of(job), source_of(job)), list[Fault]()
    bare = bare_units(raw)
    readable = reach(bare, fields.table_in(raw, "scale", doc.ScaleTable, bare, faults))
    limits = fields.table_in(raw, "limits", doc.LimitsTable, bare, faults)
    closure_g = limits_of(limits).get("closure", math.inf) if limits else math.inf
    found: list[Candidate] = []
    others: dict[str, None] = {}
    for path in paths:
        parts, wrong = read(path, readable, closure_g)
        faults += [replace(fault, source=str(path)) for fault in wrong]
        found += [Candidate(part, path.name) for part in parts if part.kind == unit]
        others |= dict.fromkeys(part.kind for part in parts if part.kind != unit)
    if not found and not faults:
        held = " and ".join(PLURAL[kind] for kind in others)
        faults.append(Fault(", ".join(map(str, paths)), f"{held}, no {PLURAL[unit]}", f"a file of {PLURAL[unit]}"))
    if faults:
        raise BadInput(faults)
    return found


def loose(
    job: Job,
    unit: str,
    cylinder: int,
    there: Iterable[Candidate],
    elsewhere: Mapping[str, str],
) -> Loose:
    """Which of the parts that are there may go into a cylinder. elsewhere: where a part is that is not loose any
    more, by its label."""
    bank = next(place.bank for place in job.layout.places if place.cylinder == cylinder)
    here = {labels[unit].casefold(): number for number, labels in job.labels.items() if labels.get(unit)}
    by_label: dict[str, list[Candidate]] = {}
    for one in there:
        by_label.setdefault(one.part.label, []).append(one)
    found: dict[str, Candidate] = {}
    out: list[LeftOut] = []
    for name, own in by_label.items():
        part, why = own[0].part, ""
        if (number := here.get(name.casefold())) is not None:
            why = f"in this job already: {job.names.said(unit, number)}"
        elif name in elsewhere:
            why = elsewhere[name]
        elif any(one.masses != own[0].masses for one in own):
            told = (
                f"{' / '.join(str(as_weighed(grams)) for grams in one.masses.values())} in {one.source}"
                for one in own
            )
            why = f"{', '.join(told)}: weigh it again"
        elif part.bank and part.bank != bank:
            why = f"for bank {part.bank}; cylinder {cylinder} is on bank {bank}"
        elif part.together:
            why = f"stays with piston {part.together}"
        if why:
            out.append(LeftOut(name, own[0].source, why))
        else:
            found[name] = own[0]
    return Loose(found, tuple(out))
