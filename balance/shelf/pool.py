"""The shelf: loose parts, weighed and labelled, and the engine that they are to go into.

One CSV file holds one kind of part, told by its columns: pistons, pins, ring sets or rods. What no file holds
is the same in every cylinder and stands in the job's [every_cylinder].
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

from truethrow.balance.base import fields, files
from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.fields import LONGEST_LABEL, Units
from truethrow.balance.base.parts import ENDS, KINDS, label
from truethrow.balance.base.readings import tidy
from truethrow.balance.engine import declared, engine
from truethrow.balance.engine.layout import Layout
from truethrow.balance.job import document as doc
from truethrow.balance.job.jobfile import TABLES, bare_units, limits_of, parse_toml, reach
from truethrow.balance.job.weighsheet import (
    HEADINGS,
    Cell,
    Column,
    Role,
    WeighSheet,
    columns_of,
    in_row,
    must_not_be_too_wide,
    rows_of,
    take,
    under,
)
from truethrow.balance.log.place import Place, source_of, text_of

# What a shelf may hold; each part is one of these in a cylinder.
POOLED = ("rod", "piston", "pin", "rings")
FITTED = ("pin", "rings")  # may be fitted to a piston that they stay with
PLURAL = {"rod": "rods", "piston": "pistons", "pin": "pins", "rings": "ring sets"}
WEIGHED = {"rod": ENDS, "piston": ("piston",), "pin": ("pin",), "rings": ("rings",)}
_KIND_OF = {reading: kind for kind, readings in WEIGHED.items() for reading in readings} | {"rod_total": "rod"}
_OWN = {
    **dict.fromkeys(("label", "mark", "number", "no"), Role("label")),
    **dict.fromkeys(("bank", "side"), Role("bank")),
    **dict.fromkeys(("together", "together with", "fitted to"), Role("together")),
}
_HEADINGS = {
    name: role for name, role in HEADINGS.items() if role.of in _KIND_OF or role.what in ("unit", "note", "label")
} | _OWN


class Part(NamedTuple):
    """One loose part. big_end_g: what it gives to the big end, 0 but for a rod; reciprocating_g: what it gives to
    the reciprocating mass, a rod's small end; bank: the only one it may sit on; together: the label of the piston
    that it stays with."""

    kind: str
    label: str
    big_end_g: float
    reciprocating_g: float
    bank: str = ""
    together: str = ""


class Shelf(NamedTuple):
    """Loose parts by kind, in the order in which they came, and what is known of the engine. given_g: the kinds
    that are the same in every cylinder."""

    job_id: str
    mass_unit: str
    step_g: float
    layout: Layout
    share: float
    oil_g: tuple[float, ...]
    given_g: Mapping[str, float]
    pools: Mapping[str, tuple[Part, ...]]

    @property
    def cylinders(self) -> int:
        return len(self.layout.places)

    @property
    def most_engines(self) -> int:
        """The engines that every kind has parts enough for."""
        return min(_most_engines(parts, self.layout) for parts in self.pools.values())


def load(job: Place, paths: Sequence[Path], kept: Sequence[Part] = (), keeper: str = "") -> Shelf:
    """Read the engine's job and the files of loose parts. kept: those that a keeper of this name has beside the
    files; of a kind that the engine does not have, or that the job has one reading of for every cylinder, none is
    taken. Raises BadInput with every fault found."""
    source = source_of(job)
    raw = parse_toml(text_of(job), source)
    faults = [Fault(shown(key), fields.unknown_key(key, list(TABLES))) for key in raw if key not in TABLES]
    bare = bare_units(raw)

    def table(name: str, model: type[fields.T], *, needed: bool = False) -> fields.T | None:
        return fields.table_in(raw, name, model, bare, faults, needed=needed)

    head, scale = table("job", doc.JobTable, needed=True), table("scale", doc.ScaleTable, needed=True)
    bobweight, limits = table("bobweight", doc.BobweightTable), table("limits", doc.LimitsTable)
    engine_table = table("engine", declared.EngineTable, needed=True)
    readable = reach(bare, scale)
    every = fields.table_in(raw, "every_cylinder", doc.EveryCylinderTable, readable, faults)
    made = engine.build(engine_table, faults) if engine_table else None
    closure_g = limits_of(limits).get("closure", math.inf) if limits else math.inf
    pools: dict[str, list[Part]] = {}
    held: dict[str, dict[str, None]] = {}  # by kind, the files that hold some of it
    for path in paths:
        found, wrong = read(path, readable, closure_g)
        faults += [replace(fault, source=str(path)) for fault in wrong]
        for part in found:
            pools.setdefault(part.kind, []).append(part)
            held.setdefault(part.kind, {})[str(path)] = None
    same = set(every.readings()) if every else set()
    for part in kept:
        if not ({*WEIGHED[part.kind]} & (same | set(made.without if made else ()))):
            pools.setdefault(part.kind, []).append(part)
            held.setdefault(part.kind, {})[keeper] = None
    # A shelf that could not be read whole is not told for what it lacks, too.
    whole = not any(fault.source for fault in faults)
    faults += _labels_twice(pools, held)
    if made and every:
        faults += _against_engine(pools, made, every.readings(), whole)
    if made and whole:
        apart = _partners(pools)
        pools = pools if apart else _on_one_bank(pools)
        faults += apart + _too_few(pools, made.layout)
    if faults:
        raise BadInput(faults, source)
    assert head and scale and bobweight and made and every  # every fault is out
    oil_g = bobweight.oil if isinstance(bobweight.oil, list) else [bobweight.oil] * len(made.layout.throws)
    return Shelf(
        job_id=head.id,
        mass_unit=head.mass_unit,
        step_g=scale.resolution,
        layout=made.layout,
        share=bobweight.share,
        oil_g=tuple(oil_g),
        given_g={k: mean_g(t.grams) for k, t in every.readings().items() if k not in pools},
        pools={kind: tuple(pools[kind]) for kind in POOLED if kind in pools},
    )


def read(path: Path, document: Units, closure_g: float = math.inf) -> tuple[list[Part], list[Fault]]:
    """The parts of one file and what is wrong with it; a part with a fault is left out.

    closure_g: how far a rod weighed in one go may be from its ends together."""
    sheet = WeighSheet()
    try:
        whole = files.read_text(path)
        must_not_be_too_wide(whole, str(path))
        rows = rows_of(whole, str(path), sheet, "label", _HEADINGS)
        header_row, header = next(rows, (0, []))
    except BadInput as error:
        return [], list(error.faults)
    columns = columns_of(header, header_row, sheet.faults, _HEADINGS)
    kind = _kind_of(columns, header_row, sheet.faults)
    if not kind:
        return [], sheet.faults
    cells: list[Cell] = []
    texts: dict[int, dict[str, str]] = {}
    for number, row in rows:
        named = under(columns, row, number, sheet.faults)
        if named is None:
            continue
        texts[number] = _texts(named, number, sheet.faults)
        cells += _cells(
            named, kind, number, texts[number]["label"], fields.reading_allowed(document), sheet.faults
        )
    if not texts and not sheet.faults:
        return [], [Fault("", "no row under the headings", f"one row a part, of {PLURAL[kind]}")]
    take(cells, document, sheet)
    sheet.faults.sort(key=lambda fault: fault.row)
    parts = []
    for number, text in texts.items():
        grams = {role: mean_g(typed.grams) for role, typed in sheet.readings.get(number, {}).items()}
        if not text["label"] or not set(WEIGHED[kind]) <= grams.keys():
            continue  # its fault is told
        big_g, other_g = grams.get("big_end", 0.0), grams["small_end" if kind == "rod" else kind]
        if "rod_total" in grams and abs(apart := tidy(big_g + other_g - grams["rod_total"])) > closure_g + 1e-9:
            told = document.told_in.weighed
            wrong = f"{told(grams['rod_total'])} is {told(abs(apart))} from its two ends together"
            rod = f"rod {shown(text['label'])}, rod total"
            allowed = f"{document.told_in.allowed(closure_g)}, the job's closure"
            sheet.faults.append(in_row(number, rod, wrong, allowed))
        parts.append(Part(kind, text["label"], big_g, other_g, text["bank"], text["together"]))
    return parts, sheet.faults


def mean_g(grams: Sequence[float]) -> float:
    return tidy(math.fsum(grams) / len(grams))


def _kind_of(columns: list[Column], row: int, faults: list[Fault]) -> str:
    """The kind of part that a file holds, by its columns; none, with the fault, where they do not say."""
    there, weighed = [c.role.what for c in columns], [c.role.of for c in columns if c.role.what == "weighed"]
    faults += [
        in_row(row, "", f"the heading {what} is there twice")
        for what in ("label", "bank", "together", "unit")
        if there.count(what) > 1
    ]
    kinds = list(dict.fromkeys(_KIND_OF[kind] for kind in weighed))
    if len(kinds) > 1:
        wrong = f"columns of {' and '.join(PLURAL[kind] for kind in kinds)} in one file"
        faults.append(in_row(row, "", wrong, "one kind of part a file"))
    if not kinds and not faults:
        faults.append(in_row(row, "", "no column of readings", ", ".join(label(k) for k in _KIND_OF)))
    for kind in kinds:
        faults += [
            in_row(row, "", f"no column {label(r)}", f"{kind}s have one")
            for r in WEIGHED[kind]
            if r not in weighed
        ]
        if "together" in there and kind not in FITTED:
            wrong = f"a column together in a file of {PLURAL[kind]}"
            faults.append(in_row(row, "", wrong, "with pins or ring sets"))
    for column in columns:
        role = column.role
        if role.what == "label" and role.of and role.of not in kinds and len(kinds) == 1:
            wrong = f"the heading {shown(column.heading)} in a file of {PLURAL[kinds[0]]}"
            faults.append(in_row(row, "", wrong, "label, and together for the piston that a part stays with"))
    return "" if faults else kinds[0]


def _texts(named: list[tuple[Column, str]], row: int, faults: list[Fault]) -> dict[str, str]:
    """Label, bank and partner of one row."""
    found = {"label": "", "bank": "", "together": ""}
    for column, text in named:
        what = column.role.what
        if what not in found:
            continue
        if len(text) > LONGEST_LABEL or not text.isprintable():
            allowed = f"printable text, at most {LONGEST_LABEL} characters"
            faults.append(in_row(row, what, repr(shown(text)), allowed))
            continue
        if not text and what == "label":
            faults.append(in_row(row, "label", "blank", "the mark on the part, its own among its kind"))
        found[what] = text
    return found


def _cells(
    named: list[tuple[Column, str]], kind: str, row: int, name: str, allowed: str, faults: list[Fault]
) -> list[Cell]:
    """The readings of one row; a blank is a fault unless the reading is there a second time."""
    unit = next((text for column, text in named if column.role.what == "unit"), "")
    who = f"{kind} {shown(name)}"
    cells = [
        Cell(row, role.of, text, own or unit, row, f"{who}, {label(role.of)}" if kind == "rod" else who)
        for (role, _, own), text in named
        if text and role.what == "weighed"
    ]
    there = {cell.kind for cell in cells}
    faults += [in_row(row, f"{who}, {label(own)}", "blank", allowed) for own in WEIGHED[kind] if own not in there]
    return cells


def _labels_twice(pools: Mapping[str, list[Part]], held: Mapping[str, Iterable[str]]) -> list[Fault]:
    allowed = "each part's own among its kind"
    return [
        Fault(f"{kind} {shown(name)}", f"{times} parts of one label", allowed, ", ".join(held[kind]))
        for kind, parts in pools.items()
        for name, times in Counter(part.label for part in parts).items()
        if times > 1
    ]


def _against_engine(
    pools: Mapping[str, list[Part]], made: engine.Engine, every: Mapping[str, Any], whole: bool
) -> list[Fault]:
    """Kinds that are nowhere, kinds that the engine does not have, and banks that it does not have. whole: no file
    went unread that may hold what is nowhere."""
    faults = []
    for kind in (k.name for k in KINDS if k.motion != "check"):
        pooled = _KIND_OF.get(kind, kind)
        if kind in made.without and (kind in every or pooled in pools):
            faults.append(Fault(kind, "the engine is declared without it"))
        elif kind in made.without or kind in every or pooled in pools:
            continue
        elif pooled not in POOLED:
            faults.append(Fault(label(kind), "missing", "a reading in [every_cylinder]"))
        elif whole:
            allowed = f"a file of {PLURAL[pooled]}, or a reading in [every_cylinder]"
            faults.append(Fault(label(kind), "missing", allowed))
    if whole and not pools:
        faults.append(Fault("", "nothing on the shelf", "a file of loose parts"))
    for part in (part for parts in pools.values() for part in parts):
        if part.bank and part.bank not in made.layout.banks:
            wrong = f"bank {shown(part.bank)} is not in this layout"
            faults.append(Fault(f"{part.kind} {shown(part.label)}", wrong, ", ".join(made.layout.banks)))
    return faults


def _partners(pools: Mapping[str, list[Part]]) -> list[Fault]:
    """Pins and ring sets whose piston is not there, has another of them already, or sits on another bank."""
    pistons = {part.label: part for part in pools.get("piston", [])}
    bank_of = {label: piston.bank for label, piston in pistons.items()}
    faults, taken = [], set()
    for part in (part for kind in FITTED for part in pools.get(kind, []) if part.together):
        where = f"{part.kind} {shown(part.label)}, together"
        if part.together not in pistons:
            faults.append(Fault(where, f"{shown(part.together)!r} is no piston of the shelf", "a piston's label"))
            continue
        bank = bank_of[part.together]
        if (part.kind, part.together) in taken:
            faults.append(
                Fault(where, f"piston {shown(part.together)} has another one", f"one {part.kind} a piston")
            )
        elif part.bank and bank and part.bank != bank:
            faults.append(Fault(where, f"bank {part.bank}, its piston's is {bank}", "the same bank"))
        bank_of[part.together] = bank or part.bank
        taken.add((part.kind, part.together))
    return faults


def _on_one_bank(pools: Mapping[str, list[Part]]) -> dict[str, list[Part]]:
    """The pools with one bank for what stays together, whichever of it was bound to one."""
    bank_of = {part.label: part.bank for part in pools.get("piston", [])}
    for part in (part for kind in FITTED for part in pools.get(kind, []) if part.bank and part.together):
        bank_of[part.together] = part.bank
    found = {}
    for kind, parts in pools.items():
        labels = [part.label if kind == "piston" else part.together for part in parts]
        found[kind] = [
            part._replace(bank=bank_of.get(label) or part.bank) if label else part
            for part, label in zip(parts, labels, strict=True)
        ]
    return found


def _too_few(pools: Mapping[str, list[Part]], layout: Layout) -> list[Fault]:
    n = len(layout.places)
    faults = []
    for kind, pool in pools.items():
        # A bank that is not there has its fault already.
        parts = [part if part.bank in layout.banks else part._replace(bank="") for part in pool]
        if _most_engines(parts, layout):
            continue
        wrong, allowed = f"{len(parts)} on the shelf", f"{n} or more for one engine"
        if len(parts) >= n:
            held = Counter(part.bank for part in parts)
            wrong = ", ".join(f"{held[bank]} for bank {bank}" for bank in layout.banks) + f", {held['']} for any"
            allowed = ", ".join(f"{need} for bank {bank}" for bank, need in _cylinders_of_bank(layout).items())
        faults.append(Fault(PLURAL[kind], wrong, allowed))
    return faults


def _cylinders_of_bank(layout: Layout) -> Counter[str]:
    return Counter(place.bank for place in layout.places)


def _most_engines(parts: Sequence[Part], layout: Layout) -> int:
    """The engines that the parts of one kind are enough for: what a bank lacks of its own comes from those that
    may sit anywhere."""
    held, needs = Counter(part.bank for part in parts), _cylinders_of_bank(layout)

    def lacking(engines: int) -> int:
        return sum(max(0, engines * need - held[bank]) for bank, need in needs.items())

    return next(k for k in range(len(parts) // len(layout.places), -1, -1) if lacking(k) <= held[""])
