"""Small changes to a module, such as a slip of the hand makes: another operator, comparison or constant, a guard
that is always or never so. Each is one place of the text replaced by another, so that all lines stay where they
are."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from itertools import pairwise
from typing import NamedTuple

COMPARISONS: dict[type[ast.cmpop], tuple[str, tuple[str, ...]]] = {
    ast.Lt: ("<", ("<=", ">")),
    ast.LtE: ("<=", ("<", ">")),
    ast.Gt: (">", (">=", "<")),
    ast.GtE: (">=", (">", "<")),
    ast.Eq: ("==", ("!=",)),
    ast.NotEq: ("!=", ("==",)),
    ast.In: (" in ", (" not in ",)),
    ast.NotIn: (" not in ", (" in ",)),
}
OPERATORS: dict[type[ast.operator], tuple[str, str]] = {
    ast.Add: ("+", "-"),
    ast.Sub: ("-", "+"),
    ast.Mult: ("*", "/"),
    ast.Div: ("/", "*"),
    ast.FloorDiv: ("//", "/"),
}
# What is said in words, or only checked as the types are, alters no figure.
SILENT = (ast.JoinedStr, ast.Raise, ast.Assert)
# A constant of this name says by which chances something is looked for: any other would do.
SEED = "SEED"


class Change(NamedTuple):
    """One change. at, end: of the place, in bytes; line: where that begins; within: the first line of the function
    it is in (a decorator's, where it has one), 0 outside of all."""

    at: int
    end: int
    was: str
    now: str
    line: int
    within: int

    def made(self, source: str) -> str:
        text = source.encode()
        return (text[: self.at] + self.now.encode() + text[self.end :]).decode()


def changes(source: str) -> list[Change]:
    """All changes of a module's text, from its top."""
    return sorted(set(_Places(source).of(ast.parse(source), 0)))


class _Places:
    def __init__(self, source: str) -> None:
        self.text = source.encode()
        self.starts = [0]
        for line in self.text.splitlines(keepends=True):
            self.starts.append(self.starts[-1] + len(line))

    def of(self, node: ast.AST, within: int) -> Iterator[Change]:
        """The changes of a node and of all that is in it."""
        if isinstance(node, SILENT) or _is_for_types(node) or _is_seed(node):
            return
        if isinstance(node, ast.FunctionDef):
            within = min(one.lineno for one in (node, *node.decorator_list))
        for at, end, now in self._here(node):
            line = self.text.count(b"\n", 0, at) + 1
            yield Change(at, end, self.text[at:end].decode(), now, line, within)
        for name, value in ast.iter_fields(node):
            if name not in ("annotation", "returns", "decorator_list"):
                for one in value if isinstance(value, list) else [value]:
                    if isinstance(one, ast.AST):
                        yield from self.of(one, within)

    def _here(self, node: ast.AST) -> Iterator[tuple[int, int, str]]:  # noqa: PLR0912 (a case is a kind)
        match node:
            case ast.Compare(left, ops, comparators):
                for op, (one, other) in zip(ops, pairwise([left, *comparators]), strict=True):
                    was, others = COMPARISONS.get(type(op), ("", ()))
                    for now in others:
                        yield from self._between(one, other, was, now)
            case ast.BinOp(left, op, right) if type(op) in OPERATORS and not _is_text(left):
                yield from self._between(left, right, *OPERATORS[type(op)])
            case ast.AugAssign(target, op, value) if type(op) in OPERATORS:
                yield from self._between(target, value, *OPERATORS[type(op)])
            case ast.BoolOp(op, values):
                was, now = ("and", "or") if isinstance(op, ast.And) else ("or", "and")
                for one, other in pairwise(values):
                    yield from self._between(one, other, was, now)
            case ast.UnaryOp(ast.Not() | ast.USub() as op):
                at = self._at(node)[0]
                yield at, at + (3 if isinstance(op, ast.Not) else 1), " "
            case ast.Constant(value) if (now := _other(value)) is not None:
                yield *self._at(node), now
            case ast.If(test) | ast.IfExp(test) | ast.While(test):
                yield *self._at(test), "False"
                if not isinstance(node, ast.While):
                    yield *self._at(test), "True"
            case ast.comprehension(ifs=[test, *_]):
                yield *self._at(test), "True"
            case ast.Call(ast.Name(id="min" | "max" as name) as called):
                yield *self._at(called), "max" if name == "min" else "min"
            case ast.Call(ast.Name(id="abs") as called, [_]):
                yield *self._at(called), ""

    def _at(self, node: ast.AST) -> tuple[int, int]:
        first, last = self.starts[node.lineno - 1], self.starts[node.end_lineno - 1]
        return first + node.col_offset, last + node.end_col_offset

    def _between(self, one: ast.AST, other: ast.AST, was: str, now: str) -> Iterator[tuple[int, int, str]]:
        """An operator, which stands between its operands; not where a comment is there, too."""
        least, most = self._at(one)[1], self._at(other)[0]
        at = self.text.find(was.strip().encode(), least, most)
        if at >= 0 and b"#" not in self.text[least:most]:
            yield at, at + len(was.strip()), now.strip()


def _is_for_types(node: ast.AST) -> bool:
    return isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)


def _is_seed(node: ast.AST) -> bool:
    return isinstance(node, ast.Assign) and any(
        isinstance(one, ast.Name) and one.id == SEED for one in node.targets
    )


def _is_text(node: ast.AST) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, str)


def _other(value: object) -> str | None:
    """Another constant: a count one more, a measure a tenth more."""
    if isinstance(value, bool):
        return str(not value)
    if isinstance(value, int):
        return str(value + 1)
    if isinstance(value, float):
        return repr(value * 1.1 if value else 0.1)
    return None
