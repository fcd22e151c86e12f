"""The files: each document's blank as it is written, with what every key of it may say, asked of the very checks
that read it; the log's records; the columns of the sheets."""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterator
from dataclasses import fields

from pydantic import ValidationError
from pydantic_core import PydanticUndefined

from truethrow.balance import demo
from truethrow.balance.base import settings
from truethrow.balance.base.fields import Table, Units
from truethrow.balance.blanks import texts
from truethrow.balance.crank import crank
from truethrow.balance.engine import declared
from truethrow.balance.job import blank, document
from truethrow.balance.log import records
from truethrow.balance.planning import candidates, prices
from truethrow.balance.station import stationfile
from truethrow.worksheets.cards.card import Block, CardTable, Typed
from truethrow.worksheets.data import station_sheet
from truethrow.worksheets.handbook.chapter_text import WHOLE

HEADS = ("key", "what it may say", "without it")
# The tables of each document, as its blank has them; those of a job are told with the job.
TABLES: dict[str, tuple[type[Table], ...]] = {
    "job": (
        *(document.JobTable, document.AboutTable, declared.EngineTable, declared.CylinderPlace),
        *(declared.MountsTable, document.ScaleTable, document.BobweightTable, document.LimitsTable),
        *(document.TrimTable, document.PadTable, document.MatchTable, document.StationTable),
        *(document.EstimatesTable, document.EstimateTable, document.EveryCylinderTable, document.CylinderTable),
        *(document.LabelTable, declared.ClearanceTable, declared.RodPointTable, declared.CircleTable),
        declared.LineTable,
    ),
    "crank": (
        *(crank.CrankTable, crank.CounterweightTable, crank.ExternalTable, crank.ArcTable, crank.HoleTable),
        *(crank.OffsetTable, crank.MakersOffsetTable, crank.ArborTable),
    ),
    "station": (
        *(stationfile.SpinTable, stationfile.StackTable, stationfile.PieceTable, stationfile.DrillTable),
        *(stationfile.SlugTable, stationfile.GrindTable, stationfile.BeforeSpinTable),
    ),
    "bench": (document.BenchProfileTable,),
    "candidates": (
        *(candidates.HeadTable, candidates.EverySetTable, candidates.SetTable, candidates.PartTable),
        candidates.CandidateCrankTable,
    ),
    "prices": (prices.PricesTable,),
    "settings": (settings.SettingsTable,),
}
# What the checks of pydantic itself say, in words.
_PLAIN = {
    "bool_type": "true or false",
    "int_type": "a whole number",
    "list_type": "a list",
    "dict_type": "a table",
    "model_type": "a table of its own",
    "string_type": "a text",
}


def blank_of(name: str) -> tuple[Block, ...]:
    """A document's blank, and what its keys may say. name: of TABLES."""
    text = (
        texts.text(name)
        if name != "job"
        else blank.job(blank.Wanted("v8-90-crossplane", "my-job"), every_key=True)
    )
    found: list[Block] = [Typed(tuple(text.rstrip().splitlines()))]
    for table in TABLES[name]:
        rows = tuple(keys(table))
        found.append(CardTable("keys", HEADS, rows, _called(table), wide=1, close=True, most_lines=WHOLE))
    return tuple(found)


def _called(table: type[Table]) -> str:
    """The table of a class, in words: StationTable as station."""
    words = re.findall(r"[A-Z][a-z]+", table.__name__)
    return " ".join(word.lower() for word in words if word != "Table")


def keys(table: type[Table]) -> Iterator[tuple[str, str, str]]:
    """Each key of a table, what it may say, and what counts where it is left out."""
    for name, field in table.model_fields.items():
        default = field.get_default(call_default_factory=True, validated_data={})
        yield field.alias or name, allowed(table, field.alias or name), _without(default)


def allowed(table: type[Table], key: str) -> str:
    """Asked of the check itself, by what nobody would write."""
    try:
        table.model_validate({key: object()}, context=Units())
    except ValidationError as error:
        own = next((one for one in error.errors(include_url=False) if one["loc"][:1] == (key,)), None)
        if own is not None:
            return str(own["ctx"]["allowed"]) if own["type"] == "fault" else _PLAIN.get(own["type"], own["msg"])
    return "anything"


def _without(default: object) -> str:
    if default is PydanticUndefined:
        return "must be there"
    if isinstance(default, Table) or default in (None, "", [], {}, ()):
        return "–"
    if isinstance(default, bool):
        return str(default).lower()
    return ", ".join(map(str, default)) if isinstance(default, list | tuple) else f"{default}"


def log_records() -> tuple[Block, ...]:
    """What the log's lines say, kind by kind: out of the classes that write and read them."""
    rows = []
    for action, kind in records.KINDS.items():
        own = [one.name for one in fields(kind) if one.name not in {head.name for head in fields(records.Record)}]
        said = " ".join(inspect.cleandoc(kind.__doc__ or "").split())
        first = said.partition(". ")[0].partition(": ")[0].rstrip(".")
        rows.append((action, f"{first}.", ", ".join(own)))
    heads = ("action", "what it records", "its own fields")
    return (CardTable("records", heads, tuple(rows), "", wide=1, close=True, most_lines=WHOLE),)


# The columns of the station's sheet, in their order.
COLUMNS = {
    "job_id": "whose sheet it is",
    "job_title": "the engine, as the job calls it",
    "digest": "of the job as it was worked out: where the job's is another now, the sheet is old",
    "throw": "its name, 1 at the front",
    "crank_angle_deg": "where the throw is, from throw 1 in the direction of rotation",
    "position_mm": "how far behind throw 1",
    "cylinders": "whose rods run on it",
    "part_labels": "what is written on their parts",
    "share": "of the reciprocating mass in the bobweight",
    "oil_g": "allowed for oil on this throw",
    "bobweight_g": "what its parts ask for",
    "bobweight_uncertainty_g": "how sure that is, 95 %",
    "hang": "what the scale should show of the bobweight to hang, clamp and all, in its own unit and digits: "
    "weigh to this",
    "hang_g": "the same in grams, for programs",
    "look_again": "readings that look wrong: nothing is hung before they are looked at",
    "deviation_g": "what its parts ask for less what hangs",
    "front_plane_mm": "where the front plane is, from throw 1 rearwards",
    "front_unbalance_gmm": "what hanging these masses leaves in it, at the throws' radius",
    "front_unbalance_crank_deg": "where that points, from throw 1",
    "rear_plane_mm": "the same of the rear plane",
    "rear_unbalance_gmm": "the same of the rear plane",
    "rear_unbalance_crank_deg": "the same of the rear plane",
    "log_head": "how far the job's log had come",
    "sheet_format": "of this sheet; a program that knows another says so",
    "program": "which made it",
}


def columns() -> tuple[Block, ...]:
    """The columns of the station's sheet, one row a throw, and what each says."""
    rows = tuple((name, COLUMNS[name]) for name in station_sheet.COLUMNS)
    return (CardTable("columns", ("column", "what it says"), rows, wide=1, close=True, most_lines=WHOLE),)


def begin_of(what: str) -> tuple[Block, ...]:
    """The first lines of one of the demo's files: its name, and how many."""
    name, _, count = what.partition(" ")
    return (Typed(tuple(demo.text(name).splitlines()[: int(count)])),)
