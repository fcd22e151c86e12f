"""A line of the log: what stands in it, and what is none."""

from __future__ import annotations

import json
import zlib

import pytest

from truethrow.balance.log import lines
from truethrow.balance.log.lines import line
from truethrow.balance.log.readinglog import ReadingLog


@pytest.fixture
def path(tmp_path):
    return tmp_path / "launch.readings.jsonl"


def read(log, grams=538.4, cylinder=1, kind="piston", **more):
    return log.append("read", cylinder=cylinder, kind=kind, grams=grams, typed=str(grams), **more)


def test_a_line_is_plain_json_with_what_was_said_and_nothing_empty(path):
    made = ReadingLog(path, by="MK").append("read", cylinder=0, kind="rings", grams=41, typed="41,0 g")
    raw = path.read_bytes()
    assert raw == line(made)
    assert raw.isascii()
    said = json.loads(raw)
    assert list(said) == ["id", "at", "bench", "by", "action", "cylinder", "kind", "grams", "typed", "crc"]
    assert (said["cylinder"], said["grams"]) == (0, 41.0)
    assert made.at.endswith("Z")
    assert len(made.at) == len("2025-03-01T09:12:44.031Z")


def sound(log):
    return [record for record in log.records if record.action != "damaged"]


def sealed(said):
    text = json.dumps(said).encode()[:-1]
    return text + lines._SEAL % zlib.crc32(text) + b"\n"


@pytest.mark.parametrize(
    "said",
    [
        {},
        {"id": "a-1"},
        {"id": 1, "action": "zero"},
        {"id": "a-1", "action": "zero", "why": 3},
        {"id": "a-1", "action": "read", "grams": float("nan")},
        {"id": "a-1", "action": "read", "grams": "538.4 g"},
        {"id": "a-1", "action": "read", "grams": 10**400},
        {"id": "a-1", "action": "read", "cylinder": True},
        {"id": "a-1", "action": "read", "cylinder": [1]},
    ],
)
def test_a_line_with_a_fitting_checksum_that_is_no_record_is_damaged_all_the_same(path, said):
    path.write_bytes(sealed(said))
    log = ReadingLog(path)
    assert (sound(log), len(log.notes)) == ([], 1)
    assert "line 1 is damaged" in str(log.notes[0])


def test_line_ends_of_another_system_and_words_of_a_later_version_do_no_harm(path):
    path.write_bytes(sealed({"id": "a-1", "action": "read", "mood": {"x": 1}}).replace(b"\n", b"\r\n"))
    log = ReadingLog(path)
    assert ([record.id for record in log.records], log.notes) == (["a-1"], [])
