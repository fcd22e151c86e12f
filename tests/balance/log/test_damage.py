"""A log that was damaged: whole records stay, and what became of the rest is told."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path

import kept
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from truethrow.balance.log import damage
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Struck, Weighed, ZeroRead


@pytest.fixture
def path(tmp_path):
    return tmp_path / "launch.readings.jsonl"


def read(log, grams=538.4, cylinder=1, kind="piston", why="", **more):
    return log.append(Weighed(cylinder, kind, grams, str(grams), why=why), **more)


def three(path):
    log = ReadingLog(path, bench="left", by="MK")
    return [read(log, 538.4), read(log, 538.5), log.append(Struck(log.records[0].id, why="größer · 重い"))]


def test_cut_at_any_byte_every_whole_record_stays_and_the_torn_one_is_told_and_kept_apart(path):
    made = three(path)
    whole = path.read_bytes()
    ends = [i + 1 for i, byte in enumerate(whole) if byte == ord("\n")]
    for cut in range(len(whole) + 1):
        path.write_bytes(whole[:cut])
        log = ReadingLog(path)
        stay = sum(end - 1 <= cut for end in ends[1:])  # a record is whole without its line end
        assert log.records == made[:stay], "what is torn is no damage"
        torn = [note for note in log.notes if note.what in ("torn", "whole")]
        assert len(torn) == len(log.notes) == (cut not in (0, *ends))
        if cut % 29 == 0 or cut + 1 in ends:
            more = [read(log, 99.0), read(log, 98.0)]
            assert path.read_bytes()[:cut] == whole[:cut]
            assert log.records == ReadingLog(path).records == [*made[:stay], *more]
            numbers = [json.loads(record.raw)["n"] for record in log.records]
            assert numbers in ([*range(1, stay + 3)], [*range(1, stay + 1), 1, 2]), "a torn one's is used again"


@pytest.mark.parametrize("by", [1, 0x20, 0x80, "\n", "\r", "{", '"', "x"])
def test_a_byte_flipped_anywhere_costs_at_most_its_line_and_is_told(path, by):
    made = three(path)
    whole = path.read_bytes()
    for position, byte in enumerate(whole):
        flipped = byte ^ by if isinstance(by, int) else ord(by)
        if flipped == byte:
            continue
        path.write_bytes(whole[:position] + bytes([flipped]) + whole[position + 1 :])
        log = ReadingLog(path)
        hit = whole[:position].count(b"\n") - 1
        lost = [record for record in made if record not in log.records]
        assert lost in ([], [made[hit]]) if hit >= 0 else lost == []
        assert lost or byte == ord("\n") or hit < 0
        assert [record for record in made if record not in lost] == sound(log)
        assert log.notes
        if isinstance(by, int):
            assert log.is_damaged or position == len(whole) - 1, "one bit never looks like a torn line"
            claims = [damage.said(line) for line in damage.unsettled(log.records)]
            begins = [claim for claim in claims if claim is not None and claim.action == "begin"]
            assert claims == ([made[hit]] if lost else begins or [None] * len(claims))
            assert bool(begins) == (hit < 0 and byte != ord("\n"))


def sound(log):
    return [record for record in log.records if record.action != "damaged"]


@settings(deadline=None, max_examples=100)
@given(st.lists(st.binary(max_size=60) | st.sampled_from([0, 1, 2]), max_size=6), st.sampled_from([b"", b"\n"]))
def test_whatever_stands_in_the_file_it_opens_and_takes_one_more(lines, end):
    records = [Weighed(1, "pin", 112.0 + n, id=f"a-{n}") for n in range(3)]
    first, *own = kept.written(*records).splitlines()
    raw = b"\n".join([first, *(one if isinstance(one, bytes) else own[one] for one in lines)]) + end
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "x.jsonl"
        path.write_bytes(raw)
        log = ReadingLog(path)
        counts, last = [], -1  # what stands behind a later one was not written there
        for n in dict.fromkeys(n for n in lines if isinstance(n, int)):
            if n > last:
                counts.append(records[n])
                last = n
        assert sound(log) == counts
        before = list(log.records)
        assert log.append(ZeroRead("start", 0.0)) == log.records[-1]
        assert log.records[:-1] == before
        assert sound(log) == sound(ReadingLog(path))
        assert path.read_bytes().startswith(raw)
