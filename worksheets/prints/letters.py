"""Which letters a PDF can show: those of the fonts that it has in any case, of the system's, of a chosen folder's.

What a font has is read out of its table `cmap`, of which the two common forms are known.
Source: OpenType 1.9, tables of a font file and cmap (formats 4 and 12).
"""

from __future__ import annotations

import struct
from collections.abc import Iterable
from pathlib import Path

import typst

from truethrow.worksheets.shown.turned import UNSEEN

_COLLECTION = b"ttcf"
_OF_UNICODE = 0, 3  # platforms: Unicode's own; Windows, whose encodings 1 and 10 are Unicode
_WINDOWS_UNICODE = 1, 10

# Of DejaVu Sans Mono 2.37, which is built into typst and steps in for B612: longer runs that regular and bold
# have, by its table cmap.
_BUILT_IN = (
    "20-7e a0-1c3 1cd-1e3 1e6-1f0 1fc-221 224-241 250-2b9 2bb-2c1 2cc-2d3 2d6-2de 2e0-2e9 300-33f 384-38a "
    "38c-38c 38e-3a1 3a3-3ce 3d0-3e1 3f0-45f 490-49b 4aa-4b3 4cf-4f9 531-556 559-55f 561-587 621-63a 640-655 "
    "660-66d 6f0-6f9 e99-e9f ead-eb9 10d0-10fc 1d30-1d3c 1d3e-1d5b 1d9b-1db7 1db9-1dbf 1e00-1e13 1e18-1e2d "
    "1e30-1e4d 1e54-1e63 1e68-1e79 1e7c-1e99 1eee-1ef5 1f00-1f15 1f20-1f45 1f50-1f57 1f5f-1f7d 1f80-1fb4 "
    "1fb6-1fc4 1fc6-1fd3 1fdd-1fef 1ff6-1ffe 2000-200a 2010-2023 2026-2026 202f-2037 2039-203a 203c-203f "
    "2045-2049 204b-204b 205f-205f 2074-208e 2090-209c 20a0-20b5 2153-215f 2190-2213 2217-2220 2227-222d "
    "2234-223d 2241-2269 226d-228b 228d-22a5 22da-22e9 2300-2306 2308-2315 2335-237a 239b-23ae 2500-262f "
    "2638-268b 2690-269c 270c-2727 2729-274b 2758-275e 2761-2775 2798-27af 27b1-27be 2b05-2b0d 2b12-2b1a "
    "a708-a716 fb52-fb81 fb8a-fb95 fe76-fefc "
)

# What is seen of these is nothing.
_UNSEEN = {0x200B, 0x2060, 0xA0, *map(ord, UNSEEN)}


def built_in(character: str) -> bool:
    """Whether the fonts that are there in any case have it."""
    code = ord(character)
    return code < 0x20 or code in _UNSEEN or any(first <= code <= last for first, last in _RUNS)


def missing(text: str, fonts: Path | None = None) -> str:
    """The letters of a text for which there is no font, each once, as they come. fonts: a folder with more."""
    left = dict.fromkeys(ord(letter) for letter in text if not built_in(letter))
    if not left:
        return ""
    for path, index in _files(fonts):
        for code in left.keys() & letters_of(path, index):
            del left[code]
        if not left:
            break
    return "".join(map(chr, left))


def _files(fonts: Path | None) -> Iterable[tuple[Path, int]]:
    """The chosen fonts first, then those of the system."""
    folders = [str(fonts)] if fonts else []
    known = typst.Fonts(include_embedded_fonts=False, font_paths=folders).fonts()
    files = [(Path(font.path), font.index) for font in known if font.path]
    return sorted(files, key=lambda one: not (fonts and one[0].is_relative_to(fonts)))


_RUNS = [tuple(int(end, 16) for end in run.split("-")) for run in _BUILT_IN.split()]


def letters_of(path: Path, index: int = 0) -> frozenset[int]:
    """The code points that a font file has glyphs for; none of one that cannot be read. index: of the font in its
    file."""
    try:
        return frozenset(_letters(path.read_bytes(), index))
    except (OSError, struct.error, IndexError, KeyError, OverflowError):
        return frozenset()


def _letters(raw: bytes, index: int) -> set[int]:
    start = struct.unpack_from(">I", raw, 12 + 4 * index)[0] if raw[:4] == _COLLECTION else 0
    count = struct.unpack_from(">H", raw, start + 4)[0]
    tables = {}
    for at in range(start + 12, start + 12 + 16 * count, 16):
        tag, _, offset, _ = struct.unpack_from(">4sIII", raw, at)
        tables[tag] = offset
    cmap = tables[b"cmap"]
    found: set[int] = set()
    for at in range(struct.unpack_from(">H", raw, cmap + 2)[0]):
        platform, encoding, offset = struct.unpack_from(">HHI", raw, cmap + 4 + 8 * at)
        if platform in _OF_UNICODE and (platform == 0 or encoding in _WINDOWS_UNICODE):
            found |= _of_a_table(raw, cmap + offset)
    return found


def _of_a_table(raw: bytes, at: int) -> set[int]:
    match struct.unpack_from(">H", raw, at)[0]:
        case 4:
            return _in_segments(raw, at)
        case 12:
            groups = struct.unpack_from(">I", raw, at + 12)[0]
            found: set[int] = set()
            for group in range(min(groups, len(raw) // 12)):
                first, last, glyph = struct.unpack_from(">III", raw, at + 16 + 12 * group)
                found.update(range(first + (glyph == 0), min(last, 0x10FFFF) + 1))
            return found
    return set()


def _in_segments(raw: bytes, at: int) -> set[int]:
    """Format 4: runs of code points, each with a shift to its glyphs or a place in a list of them. A glyph 0 is
    none."""
    twice = struct.unpack_from(">H", raw, at + 6)[0]
    ends, starts, shifts, places = (at + 14 + twice * part + (2 if part else 0) for part in range(4))
    found: set[int] = set()
    for segment in range(0, twice, 2):
        first, last, shift, place = (
            struct.unpack_from(">H", raw, part + segment)[0] for part in (starts, ends, shifts, places)
        )
        for code in range(first, min(last, 0xFFFE) + 1):
            if not place:
                glyph = (code + shift) % 0x10000
            elif glyph := struct.unpack_from(">H", raw, places + segment + place + 2 * (code - first))[0]:
                glyph = (glyph + shift) % 0x10000
            if glyph:
                found.add(code)
    return found
