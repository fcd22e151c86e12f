"""The error family.

TruethrowError      anything the tool refuses; the command line prints it and ends with status 2
├── BadInput        a job file, a weigh sheet or an option is wrong: every fault found, one line each
└── NotSaved        a file could not be written; what stood on the disk before still stands
    └── Replaced    another book was put in the place of the one that a job was opened in
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

from truethrow.balance.base.parts import ENDS, label

SHOWN_CHARACTERS = 40
# From so many on, faults that are wrong in the same way are one line, in which so many places are named.
SEVERAL, NAMED = 3, 8


def shown(value: object) -> str:
    """A value as typed, safe on a terminal and short enough for one line."""
    try:
        text = str(value)
    except (ValueError, RecursionError):  # an integer of thousands of digits, a table in a thousand tables
        text = f"{type(value).__name__} too large to show"
    text = printable(text[: SHOWN_CHARACTERS + 1])
    return text if len(text) <= SHOWN_CHARACTERS else text[:SHOWN_CHARACTERS] + "…"


class ToWeigh(NamedTuple):
    """A part that waits for the scale, which never saw it (missing), or has to see it once more (again). kind: of
    the part, empty for all of a cylinder; job: as the next command is to have it, empty where none can;
    by_catalog: whether an estimate would do in the place of a reading."""

    why: Literal["missing", "again"]
    cylinder: int
    kind: str = ""
    job: str = ""
    by_catalog: bool = False


@dataclass(frozen=True)
class Fault:
    """One thing wrong with an input: where it is, what is wrong there, what is allowed, and in which file where
    that is not the one at hand. to_weigh: nothing is wrong, a part only waits for the scale. remedy: what to do
    next, its command ready to paste; row: of a sheet, 0 where it is of none."""

    where: str
    wrong: str
    allowed: str = ""
    source: str = ""
    to_weigh: ToWeigh | None = None
    remedy: str = ""
    row: int = 0

    def __str__(self) -> str:
        # Names that an input brings along, a bank's or a key's, may be in every part of it.
        place = f"{self.where}: " if self.where else ""
        allowed = f"; allowed: {self.allowed}" if self.allowed else ""
        remedy = f"; {self.remedy}" if self.remedy else ""
        return printable(f"{place}{self.wrong}{allowed}{remedy}")


class TruethrowError(Exception):
    """Anything the tool refuses."""


class BadInput(TruethrowError):
    """An input with one or more faults, all of them found before anything was done."""

    def __init__(self, faults: Iterable[Fault], source: str = "") -> None:
        self.faults = tuple(faults)
        self.source = source
        super().__init__("\n".join(self.lines()))

    def lines(self) -> list[str]:
        """A line a fault; what was never weighed, together."""
        return [self._line(fault) for fault in _together(self.faults)]

    def _line(self, fault: Fault) -> str:
        source = fault.source or self.source
        return f"{shown_path(source)}: {fault}" if source else str(fault)


def _together(faults: Iterable[Fault]) -> Iterator[Fault]:
    """The faults, each cause once: what the scale never saw in one line a file, where a job that was just begun
    has some fifty; and what is wrong in the same way in several places in one line, too."""
    every = list(faults)
    unseen = [fault for fault in every if fault.to_weigh and fault.to_weigh.why == "missing"]
    unseen = unseen if len(unseen) > 1 else []
    alike: dict[tuple[object, ...], list[Fault]] = {}
    for fault in every:
        if fault not in unseen:
            alike.setdefault(_cause(fault), []).append(fault)
    for fault in every:
        if fault in unseen:
            if fault is next(one for one in unseen if one.source == fault.source):
                yield _missing([one for one in unseen if one.source == fault.source])
            continue
        same = alike[_cause(fault)]
        if len(same) < SEVERAL:
            yield fault
        elif fault is same[0]:
            told = "; ".join(one.where for one in same[:NAMED])
            more = f" and {len(same) - NAMED} more" if len(same) > NAMED else ""
            yield replace(fault, where=f"{told}{more}")


def _cause(fault: Fault) -> tuple[object, ...]:
    """What faults that are wrong in the same way have in common."""
    return fault.source, fault.wrong, fault.allowed, fault.remedy, bool(fault.where)


def _missing(unseen: Sequence[Fault]) -> Fault:
    """The parts of one file that the scale never saw, kinds that the same cylinders lack together."""
    lacking: dict[int, list[str]] = {}
    for fault in unseen:
        assert fault.to_weigh
        lacking.setdefault(fault.to_weigh.cylinder, []).append(fault.to_weigh.kind)
    source, to_weigh = unseen[0].source, unseen[0].to_weigh
    job, typed = to_weigh.job if to_weigh else "", "fill them in, or " if source else ""
    remedy = job and f"{typed}weigh them: truethrow weigh {job}"
    if to_weigh and to_weigh.by_catalog:
        kind = next((one.to_weigh.kind for one in unseen if one.to_weigh and one.to_weigh.kind), "")
        remedy += f"{remedy and '; or '}{_in_estimate(kind)}"
    return Fault("missing", kinds_by_cylinder(lacking), source=source, remedy=remedy)


def or_by_catalog(fault: Fault) -> Fault:
    """A part that waits for the scale, where an estimate would do; any other fault as it is."""
    if fault.to_weigh is None or fault.to_weigh.why != "missing":
        return fault
    to_weigh = fault.to_weigh._replace(by_catalog=True)
    return replace(fault, to_weigh=to_weigh, remedy=fault.remedy or f"or {_in_estimate(fault.to_weigh.kind)}")


def _in_estimate(kind: str) -> str:
    """How a mass is told that nobody weighed yet."""
    return f"by the catalog, in [estimate] of the job: {kind or 'piston'} = {{ about = MASS, within = MASS }}"


def kinds_by_cylinder(lacking: Mapping[int, Sequence[str]]) -> str:
    """Kinds of part of cylinders, those that the same cylinders have together: piston and pin of cylinders 1-8."""
    return " and ".join(each_by_cylinder(lacking))


def each_by_cylinder(lacking: Mapping[int, Sequence[str]]) -> list[str]:
    """The same, one by one."""
    lack: dict[tuple[int, ...], list[str]] = {}
    for kind in dict.fromkeys(kind for own in lacking.values() for kind in own):
        lack.setdefault(tuple(number for number, own in lacking.items() if kind in own), []).append(kind)
    return [f"{_kinds(kinds)} of {cylinders(numbers)}" for numbers, kinds in lack.items()]


def _kinds(names: Sequence[str]) -> str:
    """Kinds of part in a list, both ends of a rod as one; an empty name is all of them."""
    if "" in names:
        return "all parts"
    are_both = set(ENDS) <= {*names}
    told = ("both rod ends" if are_both and name in ENDS else label(name) for name in names)
    return ", ".join(dict.fromkeys(told))


def cylinders(numbers: Sequence[int]) -> str:
    """Cylinders 1-3, 6: runs of at least three with a dash."""
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and runs[-1][-1] == number - 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    told = [f"{run[0]}-{run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs]
    return f"{'cylinder' if len(numbers) == 1 else 'cylinders'} {', '.join(told)}"


class NotSaved(TruethrowError):
    """A file could not be written; what stood on the disk before still stands. where: its name, or its book's;
    told: why, and what became of it."""

    def __init__(self, told: str, where: object = "") -> None:
        self.told, self.where = told, str(where)
        super().__init__(f"{where}: {told}" if self.where else told)


class Replaced(NotSaved):
    """Another book was put in the place of the one that a job was opened in: nothing more goes into that."""


# What a remedy or the help has in the place of somebody's own words.
STAND_INS = frozenset({"initials", "reason", "why", "name", "a word of why"})


def says(text: str) -> bool:
    """Whether initials or a reason say anything: dots do not, nor what a remedy has in their place, pasted as it
    is."""
    return any(map(str.isalnum, text)) and " ".join(text.lower().split()).strip(" .…<>[]\"'") not in STAND_INS


def wrong_why(why: str, allowed: str) -> list[Fault]:
    """What is wrong with a reason that has to say something."""
    if says(why):
        return []
    return [Fault("--why", f"{shown(why)!r} says nothing" if why.strip() else "blank", allowed)]


def who_and_why(by: str, why: str, who: str, allowed: str) -> list[Fault]:
    """What is wrong with the initials and the reason of somebody's word. who: whose initials; allowed: which
    reason."""
    return wrong_by(by, who) + wrong_why(why, allowed)


def wrong_by(by: str, who: str) -> list[Fault]:
    """What is wrong with initials that have to be somebody's. who: whose they should be."""
    if says(by):
        return []
    return [Fault("--by", f"{shown(by)!r} is nobody" if by.strip() else "blank", f"the initials of {who}")]


def reason(error: OSError) -> str:
    """What the system says, in the words that the tool uses for it."""
    match error:
        case FileNotFoundError():
            return "no such file"
        case IsADirectoryError():
            return "is a folder, not a file"
        case PermissionError():
            return "not permitted"
    return (error.strerror or type(error).__name__).lower()


def shown_path(path: object) -> str:
    """A path in full, with anything that could upset a terminal escaped."""
    return printable(str(path))


def printable(text: str) -> str:
    """A text with anything that could upset a terminal escaped."""
    return "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in text)
