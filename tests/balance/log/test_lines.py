"""A line of the log: what stands in it, and what is none."""

from __future__ import annotations

import json
import zlib

import kept
import pytest

from truethrow.balance.log import lines
from truethrow.balance.log.lines import line
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Weighed


@pytest.fixture
def path(tmp_path):
    return tmp_path / "launch.readings.jsonl"


def read(log, grams=538.4, cylinder=1, kind="piston", why="", **more):
    return log.append(Weighed(cylinder, kind, grams, str(grams), why=why), **more)


def test_a_line_is_plain_json_with_what_was_said_and_nothing_empty(path):
    made = ReadingLog(path, by="MK").append(Weighed(0, "rings", 41, "41,0 g"))
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


READ = {"id": "a-1", "action": "read", "cylinder": 1, "kind": "pin", "grams": 112.0}
SPUN = lines.as_data(kept.spun("t1", "1@2", "3@4")) | {"id": "a-1"}


def sealed(said):
    text = json.dumps(said).encode()[:-1]
    return text + lines._SEAL % zlib.crc32(text) + b"\n"


@pytest.mark.parametrize(
    "said",
    [
        {},
        {"id": "a-1"},
        {"id": 1, "action": "strike", "of": "x"},
        {"id": "a-1", "action": "strike", "of": "x", "why": 3},
        {"id": "a-1", "action": "weigh", "of": "x"},
        {"id": "a-1", "action": "damaged", "number": 3},
        READ | {"grams": float("nan")},
        READ | {"grams": "538.4 g"},
        READ | {"grams": 10**400},
        READ | {"cylinder": True},
        READ | {"cylinder": [1]},
        {"id": "a-1", "action": "read", "cylinder": 1, "kind": "pin"},
        SPUN | {"runs": [["1", "2", "3"]]},
        SPUN | {"runs": [["1", "2", "3", "inf"]]},
        SPUN | {"runs": [[1, 2, 3, 4]]},
        SPUN | {"read_by": {}},
        SPUN | {"turned": 3},
        {"id": "a-1", "action": "trade", "moves": {"rod": {"one": 2}}, "proposal": "p"},
        {"id": "a-1", "action": "trade", "moves": "rod 1>2 2>1", "proposal": "p"},
    ],
)
def test_a_line_with_a_fitting_checksum_that_is_no_record_is_damaged_all_the_same(path, said):
    path.write_bytes(sealed(said))
    log = ReadingLog(path)
    assert (sound(log), len(log.notes)) == ([], 1)
    assert "line 1 is damaged" in str(log.notes[0])


def test_line_ends_of_another_system_and_words_of_a_later_version_do_no_harm(path):
    path.write_bytes(
        sealed({"id": "a-1", "action": "strike", "of": "x", "mood": {"x": 1}}).replace(b"\n", b"\r\n")
    )
    log = ReadingLog(path)
    assert ([record.id for record in log.records], log.notes) == (["a-1"], [])
