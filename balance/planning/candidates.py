"""Sets of parts and cranks for one engine, as a file tells them: every set with every crank is a job of its own,
composed of what the tables say and built as any other.

    [candidates]  what it is called, its units, and what it is sorted by
    [engine], [bobweight], [station], [scale]   as in a job
    [every_set]   the parts that all sets have in common
    [[set]]       a set of parts, each by the catalog or weighed
    [[crank]]     a crank, balanced by its maker for a bobweight, or bare
    [[drill]], [[slug]], [grind]   the shop's, as in a station's profile, where none is given
    [prices]      the shop's small price list
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Annotated, Any, NamedTuple

from pydantic import PlainValidator, create_model

from truethrow.balance.base import fields, files
from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.fields import AnyMass, CrankMass, Label, Length, MassOrZero, PartName, Table
from truethrow.balance.base.parts import KINDS, label
from truethrow.balance.base.units import LENGTH, MASS
from truethrow.balance.crank.crank import Crank, CrankTable, crank_of
from truethrow.balance.crank.holes import Tools
from truethrow.balance.engine import declared, engine
from truethrow.balance.job import document as doc
from truethrow.balance.job import job as jobs
from truethrow.balance.job.job import Job
from truethrow.balance.job.jobfile import parse_toml
from truethrow.balance.planning.prices import Price, PricesTable
from truethrow.balance.station import stationfile

# What a comparison may be sorted by, the least first.
BY = (
    "bobweight",
    "reciprocating",
    "pull",
    "bolt",
    "speed",
    "force",
    "couple",
    "metal",
    "slugs",
    "holes",
    "price",
)
MOST_SETS, MOST_CRANKS = 20, 10
# Where nothing is weighed, no figure rests on a scale; a job has one all the same.
_NO_SCALE = {"resolution": "0.1 g"}
_OTHERS = ("engine", "bobweight", "station", "scale")
KIND_NAMES = tuple(kind.name for kind in KINDS if kind.motion != "check")


class HeadTable(Table):
    id: Annotated[str, PlainValidator(fields.printable_text(64))]
    title: Label = ""
    mass_unit: Annotated[str, PlainValidator(fields._unit_of(MASS))] = "g"
    length_unit: Annotated[str, PlainValidator(fields._unit_of(LENGTH))] = "mm"
    by: Annotated[str, PlainValidator(fields.one_of(*BY))] = "bobweight"


class PartTable(Table):
    """A part of a set: about, within, scatter as in [estimate] of a job; or weighed: a list of one mass for each
    cylinder, or one of the box, which counts for all of them, with scatter, the standard deviation from piece to
    piece, where that is known; price: of one piece (of a pair, of a ring set; of a rod with its big end)."""

    about: AnyMass | None = None
    within: MassOrZero | None = None
    scatter: MassOrZero = 0.0
    weighed: Annotated[
        Any, PlainValidator(fields._several(fields.quantity_within(MASS, 0, fields.HEAVIEST_G)))
    ] = None
    price: Price | None = None


_PARTS: Any = dict.fromkeys(KIND_NAMES, (PartTable | None, None))
EverySetTable: type[Table] = create_model("EverySetTable", __base__=Table, __module__=__name__, **_PARTS)


class _NamedSet(Table):
    name: PartName
    rod_length: Length | None = None


SetTable: type[_NamedSet] = create_model("SetTable", __base__=_NamedSet, __module__=__name__, **_PARTS)


class CandidateCrankTable(CrankTable):
    """A crank. target: what its maker balances it for; bare: balanced with nothing hung on it; mass: of the crank,
    which the tolerance of a grade asks for; stroke: where it is another than the engine's."""

    name: PartName
    target: AnyMass | None = None
    bare: bool = False
    mass: CrankMass | None = None
    stroke: Length | None = None
    price: Price | None = None


class CrankChoice(NamedTuple):
    """target_g: 0 for one that was balanced bare; crank: None where nothing is told of its counterweights."""

    name: str
    target_g: float
    crank: Crank | None
    price: Decimal | None


class SetChoice(NamedTuple):
    """boxes: what each kind of part comes out of, one name where two sets have it in common; prices: of one piece
    each, by kind, as far as they are told; one_for_all: the kinds of which one was weighed for all cylinders, each
    with how the others scatter about it, None where nobody says. [g]"""

    name: str
    boxes: Mapping[str, str]
    prices: Mapping[str, Decimal]
    one_for_all: Mapping[str, float | None]


class Pair(NamedTuple):
    """One set with one crank, as a job."""

    parts: SetChoice
    crank: CrankChoice
    job: Job


class Candidates(NamedTuple):
    """What a file of candidates says. pairs: every set with every crank, in the file's order; tools: the shop's,
    None where the file has none; prices: None without a price list."""

    id: str
    title: str
    by: str
    pairs: tuple[Pair, ...]
    tools: Tools | None
    prices: PricesTable | None


def load(path: Any) -> Candidates:
    """Read a file of candidates. Raises BadInput with every fault, each with the set or the crank it is in."""
    return build(files.read_text(path), str(path))


def build(text: str, source: str = "") -> Candidates:
    """The same, from its text."""
    raw = parse_toml(text, source)
    if "job" in raw and "candidates" not in raw:
        remedy = "begin one: truethrow blank candidates choice.toml"
        raise BadInput([Fault("", "a job, no file of candidates", remedy=remedy)], source)
    faults: list[Fault] = []
    known = ["candidates", *_OTHERS, "every_set", "set", "crank", "drill", "slug", "grind", "prices"]
    faults += [Fault(shown(key), fields.unknown_key(key, known)) for key in raw if key not in known]
    head = fields.table_in(raw, "candidates", HeadTable, fields.Units(), faults, needed=True)
    bare = fields.Units(head.mass_unit, head.length_unit) if head else fields.Units()
    table = fields.table_in(raw, "engine", declared.EngineTable, bare, faults, needed=True)
    made = engine.build(table, faults) if table else None
    scale = fields.table_in(raw, "scale", doc.ScaleTable, bare, faults)
    for name, model in (("bobweight", doc.BobweightTable), ("station", doc.StationTable)):
        fields.table_in(raw, name, model, bare, faults)
    every = fields.table_in(raw, "every_set", EverySetTable, bare, faults)
    prices = fields.table_in(raw, "prices", PricesTable, bare, faults) if "prices" in raw else None
    sets = _named(raw, "set", SetTable, bare, MOST_SETS, faults)
    cranks = _named(raw, "crank", CandidateCrankTable, bare, MOST_CRANKS, faults)
    tools = stationfile.tools_in(raw, faults) if {"drill", "slug", "grind"} & raw.keys() else None
    if every is not None:
        _sound(every, "every_set", made, "scale" in raw, faults)
    for one in sets:
        _sound(one, f"set {one.name}", made, "scale" in raw, faults)
        if every is not None and made is not None:
            _whole(one, every, made, faults)
    choices = [_crank(one, made, bare, faults) for one in cranks]
    if faults:
        raise BadInput(faults, source)
    assert head and every
    step_g = scale.resolution if scale and "scale" in raw else 0.0
    pairs = _pairs(raw, every, sets, list(zip(cranks, choices, strict=True)), step_g, source)
    return Candidates(head.id, head.title, head.by, pairs, tools, prices)


def _named(
    raw: Mapping[str, Any], name: str, model: Any, bare: fields.Units, most: int, faults: list[Fault]
) -> list[Any]:
    """The tables of sets or of cranks, each checked alone, and called by its name in every fault."""
    entries = raw.get(name, [])
    if not isinstance(entries, list) or not entries:
        wrong = "missing" if name not in raw or entries == [] else f"{shown(entries)} is not a list"
        faults.append(Fault(name, wrong, f"tables [[{name}]], at least one"))
        return []
    if len(entries) > most:
        faults.append(Fault(name, f"{len(entries)} of them", f"at most {most}"))
        return []
    found = []
    for at, entry in enumerate(entries, start=1):
        called = entry.get("name") if isinstance(entry, dict) else None
        where = f"{name} {shown(called)}" if isinstance(called, str) and called.strip() else f"{name} {at}"
        checked = fields.validate(model, _with_parts(entry, where, faults), where, bare, faults)
        if checked is not None:
            found.append(checked)
    names = [one.name for one in found]
    faults += [
        Fault(f"{name} {one}", "comes twice", "a name of its own for each")
        for one in sorted({one for one in names if names.count(one) > 1})
    ]
    return found


def _with_parts(entry: object, where: str, faults: list[Fault]) -> object:
    """The entry without parts that are a bare mass: nobody knows whether that was weighed."""
    if not isinstance(entry, dict):
        return entry
    bare = [kind for kind in KIND_NAMES if isinstance(entry.get(kind), int | float | Decimal | str | list)]
    for kind in bare:
        typed = shown(entry[kind])
        faults.append(
            Fault(
                f"{where}, {kind}",
                "blank" if typed == "" else f"{typed} does not say whether it was weighed",
                "{ about = 521, within = 2 } by the catalog, or { weighed = 521.3 }",
            )
        )
    return {key: value for key, value in entry.items() if key not in bare}


def _sound(table: Table, where: str, made: engine.Engine | None, has_scale: bool, faults: list[Fault]) -> None:
    """What a part's table alone cannot know."""
    for kind, part in _parts(table):
        place = f"{where}, {kind}"
        if (part.about is None) == (part.weighed is None):
            wrong = "both about and weighed" if part.weighed is not None else "neither about nor weighed"
            faults.append(Fault(place, wrong, "one of the two"))
        elif part.about is not None and part.within is None:
            wrong = "missing: how far the whole box may be off the catalog, up or down"
            faults.append(Fault(f"{place}, within", wrong, "a mass, 0 and up"))
        elif part.weighed is not None and part.within is not None:
            faults.append(Fault(f"{place}, within", "goes with about", "weighed without within"))
        elif isinstance(part.weighed, list) and part.scatter:
            faults.append(Fault(f"{place}, scatter", "every piece is weighed", "weighed without scatter"))
        elif part.weighed is not None and not has_scale:
            wrong = f"{where} has a weighed {label(kind)}, and nothing says on which scale"
            faults.append(Fault("scale", wrong, "a table [scale] with its resolution"))
        if made is not None and isinstance(part.weighed, list):
            cylinders = len(made.layout.cylinders)
            if len(part.weighed) != cylinders or any(isinstance(one, list) for one in part.weighed):
                wrong = f"{len(part.weighed)} masses for {cylinders} cylinders"
                faults.append(Fault(f"{place}, weighed", wrong, f"one mass, or {cylinders}"))
        if kind == "small_end" and part.price is not None:
            faults.append(Fault(f"{place}, price", "the rod's price goes with its big end", "big_end alone"))
        if made is not None and kind in made.without:
            faults.append(Fault(place, "the engine is without", f"nothing, or without = [] less {kind}"))


def _parts(table: Table) -> list[tuple[str, PartTable]]:
    found = ((kind, getattr(table, kind)) for kind in KIND_NAMES)
    return [(kind, part) for kind, part in found if part is not None]


def _whole(one: _NamedSet, every: Table, made: engine.Engine, faults: list[Fault]) -> None:
    lacks = [
        label(kind)
        for kind in KIND_NAMES
        if kind not in made.without and getattr(one, kind) is None and getattr(every, kind) is None
    ]
    if lacks:
        allowed = "each by the catalog, { about = 521, within = 2 }, or weighed; in the set or in [every_set]"
        faults.append(Fault(f"set {one.name}", f"missing: {', '.join(lacks)}", allowed))


def _crank(
    table: CandidateCrankTable, made: engine.Engine | None, bare: fields.Units, faults: list[Fault]
) -> CrankChoice | None:
    where = f"crank {table.name}"
    if (table.target is None) == (not table.bare):
        wrong = "both a target and bare" if table.bare else "neither a target nor bare"
        faults.append(Fault(where, wrong, "target = 1850, or bare = true where it is balanced with nothing hung"))
    crank = None
    if table.counterweight or table.external:
        own: list[Fault] = []
        is_placed = made is not None and "cylinder_spacing" not in made.not_placed
        crank = crank_of(table, own, made.layout.middle_mm if made and is_placed else 0.0, bare.told_in)
        faults += [replace(fault, where=f"{where}, {fault.where}") for fault in own]
    return CrankChoice(table.name, table.target or 0.0, crank, table.price)


def _pairs(
    raw: Mapping[str, Any],
    every: Table,
    sets: list[Any],
    cranks: list[tuple[CandidateCrankTable, CrankChoice | None]],
    step_g: float,
    source: str,
) -> tuple[Pair, ...]:
    """Each set with each crank. Raises BadInput with what only the whole of a job can know, once a set."""
    raw_sets, raw_cranks = {one["name"]: one for one in raw["set"]}, {one["name"]: one for one in raw["crank"]}
    found: list[Pair] = []
    faults: dict[tuple[str, Fault], Fault] = {}
    for one in sets:
        parts = {kind: (f"set {one.name}", part) for kind, part in _parts(one)}
        parts = {kind: ("every set", part) for kind, part in _parts(every)} | parts
        typed = dict(raw.get("every_set", {})) | raw_sets[one.name]
        for table, choice in cranks:
            assert choice
            composed = _composed(raw, typed, parts, raw_cranks[table.name], step_g)
            try:
                job = jobs.build(composed, source, estimated=True)
            except BadInput as error:
                for fault in error.faults:
                    faults.setdefault((one.name, fault), replace(fault, where=f"set {one.name}, {fault.where}"))
                continue
            prices = {kind: part.price for kind, (_, part) in parts.items() if part.price is not None}
            single = {
                kind: part.scatter or None
                for kind, (_, part) in parts.items()
                if part.weighed is not None and not isinstance(part.weighed, list)
            }
            boxes = {kind: f"{owner}, {kind}" for kind, (owner, _) in parts.items()}
            found.append(Pair(SetChoice(one.name, boxes, prices, single), choice, job))
    if faults:
        raise BadInput(faults.values(), source)
    return tuple(found)


def _composed(
    raw: Mapping[str, Any],
    typed: Mapping[str, Any],
    parts: Mapping[str, tuple[str, PartTable]],
    crank: Mapping[str, Any],
    step_g: float,
) -> dict[str, Any]:
    """The tables of a job that has this set on this crank. step_g: of the scale."""
    head, station = dict(raw["candidates"]), dict(raw.get("station", {}))
    made: dict[str, Any] = {
        "job": {key: value for key, value in head.items() if key != "by"},
        "engine": dict(raw["engine"]),
        "scale": raw.get("scale", _NO_SCALE),
        "bobweight": raw.get("bobweight", {}),
        "estimate": {},
        "every_cylinder": {},
    }
    if "rod_length" in typed:
        made["engine"]["rod_length"] = typed["rod_length"]
    if "stroke" in crank:
        made["engine"]["stroke"] = crank["stroke"]
    if "mass" in crank:
        station["crank_mass"] = crank["mass"]
    made["station"] = station
    each: dict[str, list[Any]] = {}
    for kind, (_, part) in parts.items():
        told = {key: value for key, value in typed[kind].items() if key != "price"}
        if part.weighed is None:
            made["estimate"][kind] = told
        elif isinstance(part.weighed, list):
            each[kind] = told["weighed"]
        elif part.scatter:
            made["estimate"][kind] = _of_one(told, part.scatter, step_g)
        else:
            made["every_cylinder"][kind] = told["weighed"]
    if each:
        numbers = range(1, len(next(iter(each.values()))) + 1)
        made["cylinder"] = [{"number": n, **{kind: of[n - 1] for kind, of in each.items()}} for n in numbers]
    return made


def _of_one(told: Mapping[str, Any], scatter_g: float, step_g: float) -> dict[str, Any]:
    """What one weighed piece says of the others of its box: their mean is off it by as much as a piece scatters,
    and by what the scale rounds, zero and load: a rectangle of the same standard deviation (JCGM 100:2008,
    4.3.7)."""
    within_g = math.sqrt(3 * scatter_g**2 + step_g**2 / 2)
    return {"about": told["weighed"], "within": f"{within_g!r} g", "scatter": told["scatter"]}
