"""Every message that refuses something, with what to do about it, read out of the program's own sources: wherever
a Fault is found, its words stand beside it. What is filled in at the time is shown as …; a message of which
nothing but that is known here is left out, and counted.

With them the sentences that hold a signature or a hole back, what may have happened at a spin, and what known
masses tell, out of the tables that the screens take them from.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

from truethrow.balance.station import mishaps, reasons
from truethrow.worksheets.cards.card import Block, CardTable, Lines
from truethrow.worksheets.handbook.chapter_text import WHOLE
from truethrow.worksheets.words import station_words, what_to_do

FILLED_IN, OR = "…", " / "
ALLOWED = "allowed: "
COMES_ALONG = "the command to run comes with it"
# What a message is made by, and at which place it has what: where, wrong, allowed, remedy.
MAKERS: dict[str, tuple[str, ...]] = {
    "Fault": ("where", "wrong", "allowed", "source", "to_weigh", "remedy"),
    "_fault": ("wrong", "allowed"),
    "NotAQuantity": ("wrong",),
    "NotSaved": ("wrong", "where"),
    "NobodyKnows": ("wrong",),
    "Refused": ("wrong",),
    "_NotSaid": ("wrong", "allowed"),
    "_NoReading": ("wrong", "allowed"),
}
# The rooms of the program as whoever reads a message knows them, in the order of work; a room that is none of
# these is told with the last.
OF_ROOMS: dict[str, tuple[str, ...]] = {
    "Figures, units and files": ("balance/base", "balance/log"),
    "The job file and its engine": ("balance/job", "balance/engine", "balance/crank"),
    "Weighing and entering": ("balance/weighing", "cli/weighing", "worksheets/data"),
    "Bobweights, spreads, trim": ("balance/result", "cli/builder", "balance/matching", "balance/shelf"),
    "At the station": ("balance/station", "balance/correction", "cli/station"),
    "Before anything is bought, and what shakes": ("balance/planning", "balance/running", "cli/planning"),
    "Cards, pages and why": ("worksheets", "cli/paper", "cli/why"),
    "The book": ("balance/book", "cli/book"),
    "From Python": ("balance/library",),
    "Commands in general": ("cli", "balance/demo"),
}
# A name that is set by others is followed so far.
DEEPEST = 4
HEADS = ("it says", "what is allowed, or what to do")


class Message(NamedTuple):
    """As it is told, what is filled in at the time as …. do: what is allowed, or what to do next."""

    where: str
    wrong: str
    do: str

    @property
    def to_do(self) -> str:
        """What to do, of every one."""
        return self.do or next((do for fits, do in what_to_do.OF if re.search(fits, self.said)), what_to_do.ELSE)

    @property
    def said(self) -> str:
        """As a screen has it, without what follows it."""
        return f"{self.where}: {self.wrong}" if self.where else self.wrong


class Said(NamedTuple):
    """by_heading: the messages, each once; unknown: how many more say only what is filled in at the time."""

    by_heading: dict[str, tuple[Message, ...]]
    unknown: int


def blocks(program: Path) -> tuple[Block, ...]:
    """program: the folder that the program is installed in, whose sources are read."""
    said = messages(program)
    count = sum(map(len, said.by_heading.values()))
    found: list[Block] = [
        Lines(
            (
                f"{count} messages, as the program has them. In the place of {FILLED_IN} comes what is filled in: "
                f"a value, a name, a file. {said.unknown} more are made of words as they come up, and say all of "
                "it themselves.",
            )
        )
    ]
    for heading, of_one in said.by_heading.items():
        rows = tuple((one.said, one.to_do) for one in of_one)
        found.append(CardTable("messages", HEADS, rows, heading, close=True, most_lines=WHOLE))
    found += [
        _table(
            "What holds a hole or a signature back",
            reasons.SAID.values(),
            "what it says, and after the colon what to do",
        ),
        _table(
            "What may have happened at a spin",
            mishaps.SAID.values(),
            "looks like: see to it before anything is drilled",
        ),
        _table("What known masses tell", station_words.SAID.values(), "what it says"),
    ]
    return tuple(found)


def _table(caption: str, said: Iterable[str], head: str) -> CardTable:
    rows = tuple((_filled(text),) for text in dict.fromkeys(said) if _says_something(_filled(text)))
    return CardTable("sentences", (head,), rows, caption, wide=0, close=True, most_lines=WHOLE)


def messages(program: Path) -> Said:
    found: dict[str, dict[Message, None]] = {heading: {} for heading in OF_ROOMS}
    unknown = 0
    for path, name in _sources(program):
        heading = _heading(name)
        for one in _in(ast.parse(path.read_text(encoding="utf-8"))):
            if _says_something(one.wrong) or _says_something(one.do.replace(COMES_ALONG, "").replace(ALLOWED, "")):
                found[heading][one] = None
            else:
                unknown += 1
    return Said({heading: tuple(own) for heading, own in found.items() if own}, unknown)


def _sources(program: Path) -> Iterator[tuple[Path, str]]:
    """Every module, with its place in the program; a floor may be a link to where it is."""
    for floor in sorted(one for one in program.iterdir() if one.is_dir()):
        folder = floor.resolve()
        for path in sorted(folder.rglob("*.py")):
            yield path, f"{floor.name}/{path.relative_to(folder).as_posix()}"


def _heading(path: str) -> str:
    fits = [(len(room), heading) for heading, rooms in OF_ROOMS.items() for room in rooms if path.startswith(room)]
    return max(fits, default=(0, next(reversed(OF_ROOMS))))[1]


def _says_something(text: str) -> bool:
    return bool(re.search(r"[A-Za-z]{3}", text))


def _in(tree: ast.Module) -> Iterator[Message]:
    """The messages of a module: a call of a maker, in the function that it stands in."""
    constants = _assigned(tree.body)
    inside: dict[ast.AST, dict[str, list[ast.expr]]] = {}
    for function in ast.walk(tree):
        if isinstance(function, ast.FunctionDef):
            names = constants | _assigned(ast.walk(function))
            inside |= dict.fromkeys(ast.walk(function), names)
    calls = [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in MAKERS
    ]
    before = 0
    for call in sorted(calls, key=lambda one: one.lineno):
        assert isinstance(call.func, ast.Name)
        names = _since(inside.get(call, constants), before, call.lineno)
        yield _message(call, MAKERS[call.func.id], names)
        before = call.lineno


def _since(names: Mapping[str, list[ast.expr]], before: int, line: int) -> dict[str, list[ast.expr]]:
    """What each name may be at a line: set since the message before, else the last time above it."""
    found = {}
    for name, values in names.items():
        above = [value for value in values if value.lineno <= line] or values
        found[name] = [value for value in above if value.lineno > before] or above[-1:]
    return found


def _message(call: ast.Call, places: tuple[str, ...], names: Mapping[str, list[ast.expr]]) -> Message:
    told = call.args[0].elts if call.args and isinstance(call.args[0], ast.Tuple) else call.args
    given = dict(zip(places, told, strict=False)) | {one.arg or "": one.value for one in call.keywords}
    where, wrong, allowed, remedy = (
        _words(given[name], names) if name in given else "" for name in ("where", "wrong", "allowed", "remedy")
    )
    # What is allowed, or to be run, may be known only at the time: it is told then.
    helps = [f"{ALLOWED}{allowed}" if allowed else "", COMES_ALONG if remedy == FILLED_IN else remedy]
    do = "; ".join(one for one in helps if one)
    return Message(where if re.search(r"\w", where) else "", wrong, do)


def _assigned(nodes: Iterable[ast.AST]) -> dict[str, list[ast.expr]]:
    """What each name is set to, every time."""
    found: dict[str, list[ast.expr]] = {}
    for node in nodes:
        if isinstance(node, ast.Assign) and len(node.targets) == 1:
            target = node.targets[0]
            if isinstance(target, ast.Name):
                found.setdefault(target.id, []).append(node.value)
            elif isinstance(target, ast.Tuple) and isinstance(node.value, ast.Tuple):
                for own, value in zip(target.elts, node.value.elts, strict=False):
                    if isinstance(own, ast.Name):
                        found.setdefault(own.id, []).append(value)
    return found


def _words(node: ast.expr, names: Mapping[str, list[ast.expr]], deep: int = 0) -> str:
    """A text as far as it is written in the source; of what is one or the other, both."""
    words = FILLED_IN
    match node:
        case ast.Constant(value=str() as text):
            words = text
        case ast.JoinedStr(values=parts):
            words = "".join(_words(part, names, deep + 1) for part in parts)
        case ast.FormattedValue(value=ast.Name() as value):
            words = _words(value, names, deep + 1)
        case ast.BinOp(left=left, op=ast.Add(), right=right):
            words = _words(left, names, deep + 1) + _words(right, names, deep + 1)
        case ast.IfExp(body=body, orelse=other):
            words = _either([_words(body, names, deep + 1), _words(other, names, deep + 1)])
        case ast.Call(func=ast.Attribute(value=ast.Constant(value=str() as text), attr="format")):
            words = _filled(text)
        case ast.Name(id=name) if name in names and deep < DEEPEST:
            words = _either([_words(value, names, deep + 2) for value in names[name]])
    return _once(words)


def _either(texts: list[str]) -> str:
    """One or the other; what is only filled in says nothing beside a text."""
    each = (one for text in texts for one in text.split(OR) if _says_something(one))
    return OR.join(dict.fromkeys(each)) or FILLED_IN


def _filled(text: str) -> str:
    return _once(re.sub(r"\{[^{}]*\}", FILLED_IN, text))


def _once(text: str) -> str:
    return re.sub(rf"{FILLED_IN}(\s?{FILLED_IN})+", FILLED_IN, text)
