"""A job's document: the bytes of its file as text and encoding, and what changed from one to another."""

from __future__ import annotations

import difflib
from pathlib import Path
from typing import NamedTuple

from truethrow.balance.base import files
from truethrow.balance.base.errors import BadInput, Fault, printable, reason

_PLAIN = "utf-8"
# How the book calls the encoding of a file that begins with a mark: the mark, and the encoding.
_MARKED = {
    "utf-8 with its mark" if encoding == _PLAIN else encoding: (mark, encoding)
    for mark, encoding in files.BYTE_ORDER_MARKS
}
MOST_CHANGED_LINES = 20


class Document(NamedTuple):
    """A job file. text: with its line ends as they are; encoding: that gives its bytes again."""

    text: str
    encoding: str = _PLAIN

    @property
    def plain(self) -> str:
        """The text with plain line ends, as files.read_text gives it."""
        return self.text.replace("\r\n", "\n").replace("\r", "\n")

    def as_bytes(self) -> bytes:
        mark, encoding = _MARKED.get(self.encoding, (b"", _PLAIN))
        return mark + self.text.encode(encoding)

    def with_text(self, plain: str) -> Document:
        """Another text, in this one's encoding and with the line end of its first line."""
        first = self.text.partition("\n")[0]
        return Document(plain.replace("\n", "\r\n") if first.endswith("\r") else plain, self.encoding)


def read(path: Path) -> Document:
    """A job file as it is. Raises BadInput for anything that is no text file of a sensible size."""
    if str(path) == "-":
        raise BadInput([Fault("FILE", "standard input has no log beside it", "a file")])
    files.read_text(path)
    try:
        return of_bytes(path.read_bytes())
    except (OSError, UnicodeDecodeError) as error:  # another file in its place, just now
        found = reason(error) if isinstance(error, OSError) else "not text"
        raise BadInput([Fault("", found)], str(path)) from None


def of_bytes(raw: bytes) -> Document:
    """The document of some bytes. Raises UnicodeDecodeError."""
    for name, (mark, encoding) in _MARKED.items():
        if raw.startswith(mark):
            return Document(raw[len(mark) :].decode(encoding), name)
    return Document(raw.decode(_PLAIN))


def changes(before: str, after: str) -> str:
    """What changed from one text to another, line by line, safe on a terminal and not too long; with a line end
    in front of each."""
    made = difflib.unified_diff(before.splitlines(), after.splitlines(), lineterm="", n=0)
    lines = [printable(line.expandtabs())[:120] for line in made if not line.startswith(("---", "+++", "@@"))]
    more = len(lines) - MOST_CHANGED_LINES
    told = [*lines[:MOST_CHANGED_LINES], f"… and {more} lines more"] if more > 0 else lines
    return "".join(f"\n  {line}" for line in told)
