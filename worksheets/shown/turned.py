"""Names that are written from right to left, among words that are not.

A counterweight that is called in Arabic or Hebrew, with its throw's name behind it: between Latin words the throw
2a would be torn apart, its 2 at one end of the name and its a at the other. Such a name is set apart with the
figures in it, as a text of its own.
Source: Unicode Standard Annex 9, 2.4.2, explicit directional isolates.
"""

from __future__ import annotations

import re
import unicodedata

_BEGIN, _END = "\N{RIGHT-TO-LEFT ISOLATE}", "\N{POP DIRECTIONAL ISOLATE}"
UNSEEN = _BEGIN + _END
# What a sentence has between words; a full stop ends one, and may be within another.
_ENDS = r"""\s()\[\]{},;:!?"…،؛؟"""
# Where a part was weighed and where it goes: its arrow points to the right in every script.
_TRADE = re.compile(r"\d+>\d+")
_WORD = re.compile(rf"[^{_ENDS}]*[^{_ENDS}.]")


def apart(text: str) -> str:
    """A text in which every name that is written from right to left is set apart, with the figures that follow it
    or stand in it; any other text as it is.

    >>> apart("2a front")
    '2a front'
    """
    if not any(map(_turns, text)):
        return text
    made, at, words = [], 0, list(_WORD.finditer(text))
    while words:
        first = words.pop(0)
        if not _turns(first[0][0]):
            continue
        last = first
        while words and text[last.end() : words[0].start()].isspace() and _goes_on(words[0][0]):
            last = words.pop(0)
        made += [text[at : first.start()], _BEGIN, text[first.start() : last.end()], _END]
        at = last.end()
    return "".join([*made, text[at:]])


def _turns(character: str) -> bool:
    return unicodedata.bidirectional(character) in ("R", "AL")


def _goes_on(word: str) -> bool:
    return _turns(word[0]) or (word[0].isdigit() and not _TRADE.fullmatch(word))
