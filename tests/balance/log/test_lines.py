"""A line of the log: what stands in it, and what is none."""

from __future__ import annotations

import hashlib
import json
import shutil
import subprocess

import kept
import pytest

from truethrow.balance.base.errors import BadInput
from truethrow.balance.log import lines
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import KINDS, Weighed, own_names


@pytest.fixture
def path(tmp_path):
    return tmp_path / "launch.readings.jsonl"


def read(log, grams=538.4, cylinder=1, kind="piston", why="", **more):
    return log.append(Weighed(cylinder, kind, grams, str(grams), why=why), **more)


def test_a_line_is_plain_json_with_what_was_said_and_nothing_empty(path):
    made = ReadingLog(path, by="MK").append(Weighed(0, "rings", 41, "41,0 g"))
    whole = path.read_bytes()
    begun, raw = whole.splitlines()
    assert raw == made.raw
    assert whole.isascii()
    said = json.loads(raw)
    place = ["n", "log", "after", "seal"]
    assert list(said) == ["id", "at", "bench", "by", "action", "cylinder", "kind", "grams", "typed", *place]
    assert (said["n"], said["after"]) == (1, json.loads(begun)["seal"])
    assert (said["cylinder"], said["grams"]) == (0, 41.0)
    assert made.at.endswith("Z")
    assert len(made.at) == len("2025-03-01T09:12:44.031Z")


def sound(log):
    return [record for record in log.records if record.action != "damaged"]


READ = {"id": "a-1", "action": "read", "cylinder": 1, "kind": "pin", "grams": 112.0}
SPUN = lines.as_data(kept.spun("t1", "1@2", "3@4")) | {"id": "a-1"}


def sealed(said, n=0, log="5f0c31a2b4d67e90"):
    """A line by another's hand, in its place all the same."""
    text = f'{json.dumps(said)[:-1]},"n":{n},"log":"{log}","after":"{lines.FIRST}"'.encode()
    return text + f',"seal":"{hashlib.sha256(text).hexdigest()[:32]}"}}\n'.encode()


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
def test_a_line_with_a_fitting_seal_that_is_no_record_is_damaged_all_the_same(path, said):
    path.write_bytes(sealed(said))
    log = ReadingLog(path)
    assert (sound(log), len(log.notes)) == ([], 1)
    assert "line 1 is damaged" in str(log.notes[0])


BEGUN = {"id": "a-0", "action": "begin", "format": 1, "program": "0.1.0", "job": "launch-7", "kept": "file"}


def test_line_ends_of_another_system_and_words_of_a_later_version_do_no_harm(path):
    first = sealed(BEGUN)
    strike = {"id": "a-1", "action": "strike", "of": "x", "mood": {"x": 1}}
    second = sealed(strike, n=1).replace(lines.FIRST.encode(), json.loads(first)["seal"].encode())
    text = second.partition(b',"seal"')[0]
    second = text + f',"seal":"{hashlib.sha256(text).hexdigest()[:32]}"}}\n'.encode()
    path.write_bytes((first + second).replace(b"\n", b"\r\n"))
    log = ReadingLog(path)
    assert ([record.id for record in log.records], log.notes) == (["a-1"], [])


def test_a_log_of_another_format_is_refused_by_its_program(path):
    path.write_bytes(sealed(BEGUN | {"format": 2, "program": "9.0"}))
    with pytest.raises(BadInput, match=r"line 1: the log is of another truethrow \(9\.0\); allowed: format 1"):
        ReadingLog(path)


def test_a_seal_is_the_beginning_of_what_fips_180_4_gives():
    """FIPS 180-4, SHA-256, its first example: the message abc (the digest as NIST prints it)."""
    published = "BA7816BF 8F01CFEA 414140DE 5DAE2223 B00361A3 96177A9C B410FF61 F20015AD"
    assert lines.seal_of(b"abc") == published.replace(" ", "").lower()[: lines.DIGITS]


def test_a_shell_makes_the_same_seal(path):
    """coreutils' sha256sum, as README and lines.py tell it."""
    if not shutil.which("sha256sum"):
        pytest.skip("no sha256sum here")
    read(ReadingLog(path), why="größer")
    command = f"""tail -n 1 '{path}' | sed 's/,"seal":.*//' | tr -d '\\n' | sha256sum | cut -c 1-32"""
    done = subprocess.run(["sh", "-c", command], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.strip() == json.loads(path.read_bytes().splitlines()[-1])["seal"]


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.action)
def test_no_kind_of_record_has_a_field_that_its_place_in_the_log_would_hide(kind):
    assert not {"n", "log", "after", "seal", "action"} & set(own_names(kind))
