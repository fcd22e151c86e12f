"""The words by which a job is found: those of its id and its title, each by its beginning; and the marks on its
parts, which nobody types: by them the book knows of one mark in two jobs."""

from __future__ import annotations

import re

LONGEST = 40
_WORD = re.compile(r"[^\W_]+")
# Behind every word with one beginning, and before the next one.
LAST = "\U0010ffff"


def words_of(*texts: str) -> list[str]:
    """The words of some texts, each once, in no matter which letters they were typed."""
    return sorted({word[:LONGEST] for text in texts for word in _WORD.findall(text.casefold())})


def word_of_mark(kind: str, mark: str) -> str:
    """The word for a mark on a part. It begins as no word of a title does."""
    return f"#{kind} {mark}"
