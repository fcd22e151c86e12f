"""The pages of a damaged SQLite file, and the rows that can be read of them.

The file is read page by page, as its format says, without trusting anything that ties the pages together: neither
its first page, nor a tree, nor an index. Pages that were committed but are still in the file beside it (-wal)
count.

Source: the database file format of SQLite, sections 1.5 and 1.6 (pages, cells), 2.1 (records) and 4 (-wal).
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from typing import Any

from truethrow.balance.base.files import LARGEST_BYTES
from truethrow.balance.book import schema

_LEAF = 0x0D
_KINDS = (0x02, 0x05, 0x0A, _LEAF)
_MOST_COLUMNS = max(len(table.columns) for table in schema.ALL_TABLES)
# No text of a job is longer, with all that goes with it.
_LONGEST = 4 * LARGEST_BYTES
_WAL_MAGIC = (0x377F0682, 0x377F0683)
_USUAL_PAGE = 4096

Row = list[Any]


def sizes(raw: bytes, wal: bytes) -> list[int]:
    """The sizes that a page may have, the ones that the file says first; any where it does not say."""
    said = [struct.unpack(">H", raw[16:18])[0] if len(raw) >= 18 and raw.startswith(b"SQLite") else 0]
    said += [struct.unpack(">I", wal[8:12])[0]] if len(wal) >= 32 else []
    possible = [1 << power for power in range(9, 17)]
    known = [size for size in said if size in possible]
    return known[:1] or [_USUAL_PAGE, *(size for size in possible if size != _USUAL_PAGE)]


class Pages:
    """The pages of a file, taken to be of one size.

    numbers: of all of them, in order; doubtful: pages in the -wal file behind the last sound commit; used: those
    that hold nothing, and those that hold the rest of a long row, as far as rows were read."""

    def __init__(self, raw: bytes, wal: bytes, size: int) -> None:
        # What was cut short is as if it were followed by nothing.
        starts = range(0, max(len(raw), 1), size)
        self._size = size
        self._pages = {
            number: raw[start : start + size].ljust(size, b"\0") for number, start in enumerate(starts, start=1)
        }
        committed, self.doubtful = _in_wal(wal, size)
        self._pages |= committed
        self.numbers = list(self._pages)
        self.used = self._free()

    def page(self, number: int) -> bytes:
        return self._pages[number]

    def is_known(self, number: int) -> bool:
        """Whether a page is of any kind that there is."""
        return self._pages[number][_head(number)] in _KINDS

    def pointed_at(self, number: int) -> Iterator[Row | None]:
        """The rows on one page of a table, None for one that cannot be taken apart; none on any other page."""
        page, start = self._pages[number], _head(number)
        if len(page) < self._size or page[start] != _LEAF:
            return
        count = struct.unpack(">H", page[start + 3 : start + 5])[0]
        for at in range(start + 8, min(start + 8 + 2 * count, self._size - 1), 2):
            over: list[int] = []
            row = self._row_at(page, struct.unpack(">H", page[at : at + 2])[0], over)
            self.used.update(over if row is not None else ())
            yield row

    def anywhere(self, page: bytes) -> Iterator[Row]:
        """The rows that may begin anywhere on a page of which nothing else can be trusted."""
        if page.count(0) == len(page):
            return
        for at in range(self._size - 4):
            if (row := self._row_at(page, at, [])) is not None:
                yield row

    def _free(self) -> set[int]:
        """The pages that hold nothing, as the first page has them."""
        found: set[int] = set()
        trunk = struct.unpack(">I", self._pages[1][32:36])[0]
        while trunk in self._pages and trunk not in found and len(self._pages[trunk]) == self._size:
            page = self._pages[trunk]
            following, count = struct.unpack(">II", page[:8])
            count = min(count, self._size // 4 - 2)
            found |= {trunk, *struct.unpack(f">{count}I", page[8 : 8 + 4 * count])}
            trunk = following
        return found

    def _row_at(self, page: bytes, at: int, over: list[int]) -> Row | None:
        """The row that begins at a place of a page, None where none can: what is damaged says anything. over: gets
        the pages where the rest of a long one is."""
        try:
            return _values(self._payload(page, at, over))
        except (ValueError, IndexError, struct.error, KeyError):
            return None

    def _payload(self, page: bytes, at: int, over: list[int]) -> bytes:
        """The bytes of a row, wherever the rest of a long one is."""
        size = self._size
        length, at = _varint(page, at)
        _, at = _varint(page, at)  # the row's number
        most, least = size - 35, (size - 12) * 32 // 255 - 23
        if length > _LONGEST:
            raise ValueError("no row is as long")
        if length <= most:
            return page[at : at + length]
        here = least + (length - least) % (size - 4)
        here = here if here <= most else least
        pieces, left = [page[at : at + here]], length - here
        following = struct.unpack(">I", page[at + here : at + here + 4])[0]
        while left > 0:
            rest = self._pages[following]
            over.append(following)
            pieces.append(rest[4 : 4 + min(left, size - 4)])
            left -= size - 4
            following = struct.unpack(">I", rest[:4])[0]
        return b"".join(pieces)


def _head(number: int) -> int:
    """Where a page's own head begins: on the first, behind that of the file."""
    return 100 if number == 1 else 0


def _in_wal(wal: bytes, size: int) -> tuple[dict[int, bytes], list[bytes]]:
    """The pages in the -wal file up to the last commit whose frames are all sound, by their numbers; and those
    behind it that are of the same file: SQLite passes them over, but a row with a seal is a row."""
    if len(wal) < 32:
        return {}, []
    magic, _, page_size = struct.unpack(">III", wal[:12])
    if magic not in _WAL_MAGIC or page_size != size:
        return {}, []
    order = ">" if magic & 1 else "<"
    sums = _checksum(order, wal[:24], (0, 0))
    is_sound = sums == struct.unpack(">II", wal[24:32])
    committed: dict[int, bytes] = {}
    waiting: dict[int, bytes] = {}
    doubtful: list[bytes] = []
    for start in range(32, len(wal) - size - 23, size + 24):
        head, page = wal[start : start + 24], wal[start + 24 : start + 24 + size]
        if head[8:16] != wal[16:24]:
            is_sound = False  # of the file before it was begun anew
            continue
        sums = _checksum(order, page, _checksum(order, head[:8], sums))
        is_sound = is_sound and sums == struct.unpack(">II", head[16:24])
        number, after_commit = struct.unpack(">II", head[:8])
        if not is_sound:
            doubtful.append(page)
            continue
        waiting[number] = page
        if after_commit:
            committed |= waiting
            waiting = {}
    return committed, [*waiting.values(), *doubtful]


def _checksum(order: str, raw: bytes, sums: tuple[int, int]) -> tuple[int, int]:
    one, other = sums
    words = struct.unpack(f"{order}{len(raw) // 4}I", raw)
    for first, second in zip(words[::2], words[1::2], strict=True):
        one = (one + first + other) & 0xFFFFFFFF
        other = (other + second + one) & 0xFFFFFFFF
    return one, other


def _varint(raw: bytes, at: int) -> tuple[int, int]:
    value = 0
    for step in range(8):
        byte = raw[at + step]
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, at + step + 1
    return value << 8 | raw[at + 8], at + 9


def _values(payload: bytes) -> Row:
    end, at = _varint(payload, 0)
    kinds: list[int] = []
    while at < end:
        if len(kinds) == _MOST_COLUMNS:
            raise ValueError("no row has as many columns")
        kind, at = _varint(payload, at)
        kinds.append(kind)
    values = []
    for kind in kinds:
        value, at = _value(payload, at, kind)
        values.append(value)
    if at != len(payload):
        raise ValueError("not as long as it says")
    return values


def _value(raw: bytes, at: int, kind: int) -> tuple[Any, int]:
    if kind >= 12:
        length = (kind - 12) // 2
        piece = raw[at : at + length]
        if len(piece) < length:
            raise ValueError("torn")
        return (piece.decode("utf-8") if kind % 2 else piece), at + length
    if kind in (0, 8, 9):
        return {0: None, 8: 0, 9: 1}[kind], at
    if kind == 7:
        return struct.unpack(">d", raw[at : at + 8])[0], at + 8
    length = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8}[kind]
    return int.from_bytes(raw[at : at + length], "big", signed=True), at + length
