"""Which cylinders and parts are without a reading, and which should have none."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any, NamedTuple

from truethrow.balance.base.errors import Fault, ToWeigh
from truethrow.balance.base.parts import KINDS, PartKind
from truethrow.balance.engine import engine
from truethrow.balance.job.logged import Logged
from truethrow.balance.job.sources import names_in, written_in
from truethrow.balance.job.weighsheet import WeighSheet

WITHOUT = "the engine is declared without it"


class _Written(NamedTuple):
    """Which kinds each source has of a cylinder, fit to be read or not: a reading that is there but wrong has its
    fault already. in_file: of its own table; everywhere: what the file has for every cylinder."""

    in_file: Mapping[int, set[str]]
    everywhere: frozenset[str]
    log: Logged
    sheet: WeighSheet
    sheet_path: Path | None

    @property
    def tabled(self) -> set[int]:
        """The cylinders that the file or the sheet has."""
        return {*self.in_file, *self.sheet.written}

    def here(self, number: int) -> set[str]:
        """What stands under this cylinder in the file or the sheet."""
        return self.in_file.get(number, set()) | self.sheet.written.get(number, set())

    def fresh(self, number: int) -> set[str]:
        """What was weighed since the file was written."""
        return self.sheet.written.get(number, set()) | self.log.written.get(number, set())

    def own(self, number: int) -> set[str]:
        """What there is of the parts that sit here now, wherever the file has them."""
        in_file = (k.name for k in KINDS if k.name in self.in_file.get(self.log.first(number, k.name), set()))
        return {*in_file, *self.fresh(number)}

    @property
    def for_all(self) -> set[str]:
        return {*self.everywhere} | self.log.written.get(0, set())

    def fault(
        self,
        number: int,
        found: str,
        allowed: str,
        kind: PartKind | None = None,
        *,
        to_weigh: ToWeigh | None = None,
    ) -> Fault:
        """A fault in the words of whichever source it is to be mended in."""
        # What stands for a part that is gone is in no sheet.
        has_sheet = self.sheet_path is not None
        in_sheet = has_sheet and (number in self.sheet.written or number not in self.in_file)
        part = f", {kind.label if in_sheet else kind.name}" if kind else ""
        return Fault(
            f"cylinder {number}{part}", found, allowed, str(self.sheet_path) if in_sheet else "", to_weigh
        )


def missing(
    made: engine.Engine,
    raw: Mapping[str, Any],
    log: Logged,
    sheet: WeighSheet,
    sheet_path: Path | None,
    allowed: str,
) -> list[Fault]:
    """Cylinders that are not there, cylinders that should not be, and parts without a reading."""
    every = raw.get("every_cylinder")
    written = _Written(
        written_in(raw), frozenset(every if isinstance(every, dict) else ()), log, sheet, sheet_path
    )
    known = ", ".join(map(str, made.layout.cylinders))
    faults = [
        written.fault(number, "not in this layout", known)
        for number in sorted(written.tabled - set(made.layout.cylinders))
    ]
    faults += [Fault(f"every_cylinder, {name}", WITHOUT) for name in made.without if name in written.everywhere]
    wanted = [kind for kind in KINDS if kind.motion != "check" and kind.name not in made.without]
    for number in made.layout.cylinders:
        own = written.own(number)
        if not own and number not in written.tabled and not {kind.name for kind in wanted} & written.for_all:
            faults.append(written.fault(number, "missing", "", to_weigh=ToWeigh("missing", number, job=log.job)))
            continue
        here = written.here(number)
        surplus = [kind for kind in KINDS if kind.name in made.without and kind.name in here]
        faults += [written.fault(number, WITHOUT, "", kind) for kind in surplus]
        cut = [k.name for k in wanted if (number, k.name) in log.cut and k.name not in written.fresh(number)]
        faults += _cut_since(number, cut, raw, made.layout.cylinders, log, sheet)
        faults += [
            written.fault(
                number, "missing", allowed, kind, to_weigh=ToWeigh("missing", number, kind.name, log.job)
            )
            for kind in wanted
            if kind.name not in cut and kind.name not in own | written.for_all
        ]
    return faults


def _cut_since(
    number: int,
    kinds: Collection[str],
    raw: Mapping[str, Any],
    cylinders: tuple[int, ...],
    log: Logged,
    sheet: WeighSheet,
) -> list[Fault]:
    """A line for each part that was cut, or is to be weighed again for another reason, and was not since."""
    if not kinds:
        return []
    from truethrow.balance.base.parts import UNIT_OF  # noqa: PLC0415 (few logs have cuts)

    names = names_in(raw, cylinders, log, sheet)
    lost = {UNIT_OF.get(kind, kind) for kind in kinds if (number, kind) in log.lost}
    units = dict.fromkeys(UNIT_OF.get(kind, kind) for kind in kinds)
    whys = {unit: "a line of the log about it was damaged" if unit in lost else "cut since" for unit in units}
    return [
        Fault(
            names.said(unit, number),
            why,
            to_weigh=ToWeigh("again", number, unit),
            remedy=f"weigh it again: truethrow weigh {log.job}",
        )
        for unit, why in whys.items()
    ]
