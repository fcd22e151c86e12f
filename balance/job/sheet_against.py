"""A weigh sheet against what is known of the parts.

Nobody knows how old a sheet is, so it only adds to the job file and the log. What it cannot know any more, and
where it says something else of a part, is a fault.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from truethrow.balance.base.errors import Fault, shown
from truethrow.balance.base.parts import label
from truethrow.balance.base.readings import tidy
from truethrow.balance.engine import engine
from truethrow.balance.job import document as doc
from truethrow.balance.job.logged import Logged
from truethrow.balance.job.sources import labels_of, older_parts, parts_of
from truethrow.balance.job.weighsheet import WeighSheet
from truethrow.balance.log.place import Place, to_paste

if TYPE_CHECKING:
    from truethrow.balance.base.trades import Moves


def outdated(
    written: Mapping[int, Iterable[str]],
    labels: Mapping[int, Iterable[str]],
    traded: Moves,
    cut: Collection[tuple[int, str]],
    job: str,
) -> list[Fault]:
    """What a weigh sheet cannot say any more: it is about the parts where they were, and as they were. A line for
    the parts that moved, one for those that were cut. written,
    labels: what it says of each cylinder; job: as to_paste has it."""
    entries = {(number, kind): True for number, kinds in written.items() for kind in kinds}
    for number, parts in labels.items():
        entries |= {(number, part): False for part in parts if (number, part) not in entries}
    if not entries or not (traded or cut):
        return []
    from truethrow.balance.base.trades import first  # noqa: PLC0415 (few logs have trades or cuts)

    moved = [(number, name) for number, name in sorted(entries) if first(traded, number, name) != number]
    ground = [one for one, is_reading in sorted(entries.items()) if is_reading and one in cut and one not in moved]
    way = f"leave the sheet out; what has to be weighed again: truethrow weigh {job}"
    causes = (
        (moved, "parts have traded places since the sheet was written"),
        (ground, "cut since, as the log has it"),
    )
    return [Fault(_parts(parts), wrong, remedy=way) for parts, wrong in causes if parts]


def _parts(parts: Sequence[tuple[int, str]]) -> str:
    """Parts in few words: cylinder 1, pin; cylinders 2, 3, piston."""
    by_cylinders: dict[str, list[int]] = {}
    for number, name in parts:
        by_cylinders.setdefault(label(name), []).append(number)
    by_numbers: dict[tuple[int, ...], list[str]] = {}
    for name, numbers in by_cylinders.items():
        by_numbers.setdefault(tuple(numbers), []).append(name)
    return "; ".join(
        f"cylinder{'' if len(numbers) == 1 else 's'} {', '.join(map(str, numbers))}, {', '.join(names)}"
        for numbers, names in by_numbers.items()
    )


def contradicted(
    made: engine.Engine,
    cylinders: Mapping[int, doc.NumberedParts],
    every: doc.Parts | None,
    log: Logged,
    sheet: WeighSheet,
    place: Place | None,
) -> list[Fault]:
    """Where a weigh sheet says something else of a part than the log or the job file, a line for each, and what to
    do then. The same readings in another order, or in another unit, are the same."""
    in_file = labels_of({n: table.labels.model_dump() for n, table in cylinders.items()}, log, WeighSheet())
    job = to_paste(place)
    faults: list[Fault] = []
    logged = filed = False
    without = parts_of(older_parts(made.layout.cylinders, cylinders, every, log), log, WeighSheet())
    for number, kinds in sorted(sheet.readings.items()):
        for kind, typed in kinds.items():
            other = without.get(number, {}).get(kind)
            if log.first(number, kind) != number or (number, kind) in log.cut:
                continue  # it is outdated, and told so
            if other is None or sorted(map(tidy, typed.grams)) == sorted(map(tidy, other.repeats_g)):
                continue
            is_logged = kind in log.readings.get(number, {}) or kind in log.readings.get(0, {})
            if is_logged:
                records = log.ids.get((number, kind)) or log.ids.get((0, kind), ())
                whose = f"the log {', '.join(other.typed)} (record {', '.join(map(shown, records))})"
            else:
                whose = f"the job file {', '.join(other.typed)}"
            logged, filed = logged or is_logged, filed or not is_logged
            wrong = f"the sheet reads {', '.join(typed.texts)}, {whose}"
            faults.append(Fault(f"cylinder {number}, {label(kind)}", wrong))
    for number, labels in sorted(sheet.labels.items()):
        for part, text in labels.items():
            there = in_file.get(number, {}).get(part) if log.first(number, part) == number else ""
            if there and text and text != there:
                wrong = f"the sheet has {shown(text)!r}, the job file {shown(there)!r}"
                faults.append(Fault(f"cylinder {number}, {part} label", wrong))
                filed = True
    if faults:
        right = [f"cancel the log's reading: truethrow strike {job} RECORD"] if logged else []
        right += ["mend the job file by hand"] if filed else []
        ways = (
            f"leave it out if it is; if it is right, {'; '.join(right)}; if nobody knows, weigh again without the "
            f"sheet: truethrow weigh {job}"
        )
        faults.append(Fault("", "the sheet may be the older one", remedy=ways))
    return faults
