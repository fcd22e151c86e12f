"""The profiles of stations and benches that the book keeps."""

from __future__ import annotations

import pytest
from commands import refused

from truethrow.balance.book import profiles
from truethrow.balance.book.check import verify
from truethrow.balance.station import stationfile

FIRST = """[spin]
unit = "g"
radius = 100.0
sense = "with"
amount_uncertainty = 2.0
angle_uncertainty = 2.0
floor = 30.0
"""


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "station.toml"
    path.write_text(FIRST)
    return path


def test_every_text_that_a_profile_had_is_kept_in_its_order(book, file):
    assert profiles.keep(book, "station", "floor-1", file, "AB")[0].revision == 1
    assert not profiles.keep(book, "station", "floor-1", file, "CD")[1]
    file.write_bytes(FIRST.replace("100.0", "120.0").replace("\n", "\r\n").encode())
    made, is_new = profiles.keep(book, "station", "floor-1", file, "CD")
    assert (made.revision, made.by, is_new) == (2, "CD", True)
    assert profiles.keep(book, "bench", "floor-1", file)[0].revision == 1
    assert [(one.kind, one.name, one.revision) for one in profiles.kept(book)] == [
        ("bench", "floor-1", 1),
        ("station", "floor-1", 2),
    ]
    assert profiles.document(book, "station", "floor-1", 1).plain == FIRST
    assert profiles.document(book, "station", "floor-1").as_bytes() == file.read_bytes()
    assert verify(book).faults == ()


@pytest.mark.parametrize("name", ["", "a/b", "x.toml", " a", "n" * 41, "-a"])
def test_a_name_that_no_command_could_tell_from_a_file_is_refused(book, file, name):
    assert refused(profiles.keep, book, "station", name, file).startswith("--name: ")


def test_what_is_not_kept_is_told_with_where_to_look(book, file):
    profiles.keep(book, "station", "floor-1", file)
    assert "floor-2: is not in the book" in refused(profiles.document, book, "station", "floor-2")
    assert "revision 7: is not in the book" in refused(profiles.document, book, "station", "floor-1", 7)


def test_a_profile_of_the_book_is_read_as_its_file_is(book, file, monkeypatch):
    profiles.keep(book, "station", "floor-1", file)
    monkeypatch.setattr(profiles, "open_book", lambda create: book)
    made = stationfile.load(profiles.find("station", "floor-1"))
    assert made == stationfile.load(file)._replace(source="floor-1")
    told = refused(profiles.find, "bench", "b2")
    assert told.startswith("bench b2: no such file, and is not in the book")
