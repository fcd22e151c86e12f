"""Which jobs the floor shows, by names that an address can have, and what tells that one has changed."""

from __future__ import annotations

import re
import time

import pytest
from floor_shop import blank_job

from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput
from truethrow.balance.book import jobs
from truethrow.balance.log.log import Log
from truethrow.balance.log.place import again, open_log
from truethrow.balance.log.records import Weighed
from truethrow.cli.floor import shop


def weigh(place, grams=538.4, cylinder=1) -> Log:
    log = open_log(place, "bench-1", "AB")
    log.append(Weighed(cylinder, "piston", grams, f"{grams}"))
    return log


def test_the_jobs_of_a_folder_are_those_whose_files_lie_there(tmp_path):
    one, other = blank_job(tmp_path, "one"), blank_job(tmp_path, "ot her")
    (tmp_path / "station.toml").write_text("[spin]\n", encoding="utf-8")
    found = shop.Folder(tmp_path)
    assert {found.at(name) for name in found.marks()} == {one, other}
    third = blank_job(tmp_path, "third")
    assert third in {found.at(name) for name in found.marks()}
    third.unlink()
    assert len(found.marks()) == 2


@pytest.mark.parametrize("name", ["a/b", "..", "ä", "a b", "x" * 200, "<script>", "%2e%2e", ".hidden", "-x"])
def test_every_name_is_safe_in_an_address_and_no_two_are_the_same(name):
    made = {shop._safe(name), shop._safe(name + "?"), shop._safe(f"{name}!"), shop._safe("plain")}
    assert len(made) == 4
    assert all(re.fullmatch(r"[A-Za-z0-9._~-]{1,70}", one) and one not in (".", "..") for one in made)


def test_what_is_recorded_or_written_changes_that_jobs_mark_and_no_other(tmp_path):
    path = blank_job(tmp_path)
    blank_job(tmp_path, "other")
    found = shop.Folder(tmp_path)
    seen = [dict(found.marks())]
    weigh(path)
    seen.append(dict(found.marks()))
    path.write_text(path.read_text(encoding="utf-8") + "\n# more\n", encoding="utf-8")
    seen.append(dict(found.marks()))
    assert len({marks["job"] for marks in seen}) == 3
    assert len({marks["other"] for marks in seen}) == 1
    assert dict(found.marks()) == seen[-1]


def test_a_book_has_its_jobs_and_each_record_changes_its_mark(book, tmp_path):
    for name in ("ä-1", "plain"):
        path = blank_job(tmp_path, "file", job={"id": name, "title": "t"})
        jobs.add(book, jobs.from_file(path))
    found = shop.OfBook(book)
    before = dict(found.marks())
    assert {again(found.at(name)) for name in before} == {"ä-1", "plain"}
    assert dict(found.marks()) == before
    weigh(found.at("plain"))
    after = dict(found.marks())
    assert [name for name in before if before[name] != after[name]] == ["plain"]


def test_a_job_is_there_while_the_book_is_asked_for_the_rest(book, tmp_path, monkeypatch):
    """A bench asks for its job in a thread of its own, at any time: also in the middle of a look at the book."""
    jobs.add(book, jobs.from_file(blank_job(tmp_path, "file", job={"id": "plain", "title": "t"})))
    found = shop.OfBook(book)
    found.marks()
    found._seen, rows = None, found._rows()

    def asked_slowly():
        assert again(found.at("plain")) == "plain"
        return rows

    monkeypatch.setattr(found, "_rows", asked_slowly)
    monkeypatch.setattr(found, "_changed_s", time.monotonic())
    found.marks()
    assert again(found.at("plain")) == "plain"


def test_what_is_no_folder_and_no_job_is_told(tmp_path):
    with pytest.raises(BadInput, match="no such folder or job file"):
        shop.shop_of(str(tmp_path / "gone"))
    assert shop.shop_of(str(tmp_path)).marks() == {}  # a job may be begun there from a page
    with pytest.raises(BadInput, match=r"there is no book yet; .*truethrow floor FOLDER"):
        shop.shop_of(None)
    path = blank_job(tmp_path)
    with pytest.raises(BadInput, match="is not open here"):
        shop.shop_of(str(path)).at("other")


def test_a_job_file_alone_is_a_shop_of_one(tmp_path):
    path = blank_job(tmp_path)
    blank_job(tmp_path, "other")
    found = shop.shop_of(str(path))
    assert [*found.marks()] == ["job"]
    weigh(path)
    assert log_path(path).exists()
    assert found.at("job") == path


def test_a_folder_that_was_away_has_its_jobs_again_once_it_is_back(tmp_path):
    home, away = tmp_path / "jobs", tmp_path / "away"
    home.mkdir()
    path = blank_job(home)
    found = shop.Folder(home)
    before = dict(found.marks())
    home.rename(away)
    gone = dict(found.marks())
    assert gone.keys() == before.keys()
    assert gone != before
    away.rename(home)
    assert dict(found.marks()) == before
    assert found.at("job") == path
    other = blank_job(home, "other")
    assert [*found.marks()] == ["job", "other"]
    assert found.at("other") == other


def test_a_record_that_was_in_the_books_file_before_it_could_be_read_is_found(book, tmp_path, monkeypatch):
    """SQLite writes its journal, waits for the disk, and only then may others read it (SQLite's own description of
    its write-ahead log): a look between the two sees the file changed and the job as before."""
    jobs.add(book, jobs.from_file(blank_job(tmp_path, "file", job={"id": "a"})))
    found = shop.OfBook(book)
    before, rows = dict(found.marks()), found._rows()
    weigh(found.at("a"))
    with monkeypatch.context() as early:
        early.setattr(found, "_rows", lambda: rows)
        assert dict(found.marks()) == before
    assert dict(found.marks()) != before
