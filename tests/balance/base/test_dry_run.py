"""Nothing is written while a dry run lasts, and what would be can be read back; afterwards all is as ever."""

import pytest

from truethrow.balance.base import dry_run, files
from truethrow.balance.base.errors import NotSaved


def test_a_file_stays_as_it_is_and_reads_as_it_would_be(tmp_path):
    path, new = tmp_path / "a.txt", tmp_path / "new.txt"
    files.write_text(path, "before")
    with dry_run.running():
        files.write_text(path, "after", expected="before")
        files.write_text(new, "new")
        assert (files.read_text(path), files.read_text(new)) == ("after", "new")
        assert dry_run.files() == (str(path), str(new))
        assert path.read_text() == "before" and not new.exists()
        with pytest.raises(NotSaved, match="hard link"):
            (tmp_path / "link.txt").hardlink_to(path)
            files.write_text(path, "what could not be written in earnest, either")
    assert files.read_text(path) == "before"
    (tmp_path / "link.txt").unlink()
    files.write_text(path, "in earnest")
    assert path.read_text() == "in earnest"


def test_what_was_begun_is_taken_back_whatever_happens():
    done = []
    with pytest.raises(ZeroDivisionError), dry_run.running():
        dry_run.at_the_end(lambda: done.append(dry_run.is_on()))
        dry_run.kept("a-1")
        dry_run.kept("a-1")
        assert dry_run.records() == ("a-1",)
        raise ZeroDivisionError
    assert done == [False] and not dry_run.is_on()


def test_without_one_nothing_is_kept():
    dry_run.not_written("a", b"b")
    assert dry_run.content("a") is None
