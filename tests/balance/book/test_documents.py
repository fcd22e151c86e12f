"""The documents that the book keeps."""

from __future__ import annotations

import hashlib

import books

from truethrow.balance.book.booked import BookedJob
from truethrow.balance.book.documents import issued
from truethrow.balance.log import place


def issue(book, job, raw, by="", name="launch-7-station.csv", digest="t0"):
    with place.issuing(BookedJob(book, job), [place.Outgoing("station", raw, digest, name)], by):
        pass


def test_a_document_is_kept_once_with_whose_it_is_and_a_file_keeps_none(book, tmp_path):
    books.with_job(book, tmp_path)
    for raw in (b"sheet", b"sheet", b"other sheet", b"sheet"):
        issue(book, "launch-7", raw, "AB", digest="t58829fdf932eb35")
    found = issued(book, "launch-7")
    assert len(found) == 3
    assert [one.digest for one in found[:2]] == [
        hashlib.sha256(raw).hexdigest() for raw in (b"sheet", b"other sheet")
    ]
    assert {(one.by, one.job_digest, one.name) for one in found} == {
        ("AB", "t58829fdf932eb35", "launch-7-station.csv")
    }
    issue(book, "launch-7", b"another", name="any")
    with place.issuing(tmp_path / "any.toml", [place.Outgoing("station", b"sheet", "t0", "any")]):
        pass
    assert [one.name for one in issued(book, "launch-7")[3:]] == ["any"]
