"""A log of one engine lies beside the job of another: what its parts weigh counts for no other."""

from __future__ import annotations

import shutil

import invented
import pytest
from commands import in_folder


@pytest.fixture
def run(tmp_path):
    """Two jobs of a V8; pistons of the first were weighed."""
    for name in ("flat-1", "flat-3"):
        (tmp_path / f"{name}.toml").write_text(invented.text(invented.document(job={"id": name})))
    ran = in_folder(tmp_path)
    assert ran("weigh", "flat-1.toml", stdin="go piston 2\n538.9\n").status == 0
    return ran


TOLD = "flat-3.readings.jsonl: was begun for job flat-1, and lies beside job flat-3"


def test_a_copied_log_of_another_job_is_refused_by_all_that_would_count_it(run, tmp_path):
    shutil.copy(tmp_path / "flat-1.readings.jsonl", tmp_path / "flat-3.readings.jsonl")
    book = ("--book", f"sqlite:///{tmp_path / 'book.db'}")
    for words in (
        ("check", "flat-3.toml"),
        ("trim", "flat-3.toml"),
        ("hang", "flat-3.toml"),
        ("weigh", "flat-3.toml"),
    ):
        said = run(*words)
        assert said.status == 2
        assert TOLD in said.err
        assert "move it away if it is another job's; if this job was renamed, put its id back" in said.err
    assert TOLD in run("book", "add", "flat-3.toml", *book).err


def test_a_job_and_its_log_may_be_moved_and_its_file_renamed(run, tmp_path):
    (tmp_path / "elsewhere").mkdir()
    for name in ("flat-1.toml", "flat-1.readings.jsonl"):
        shutil.copy(tmp_path / name, tmp_path / "elsewhere" / name.replace("flat-1", "mine"))
    said = run("check", "elsewhere/mine.toml")
    assert said.status in (0, 1), said
    assert "was begun" not in said.out + said.err


def test_a_job_that_was_renamed_is_told_to_put_its_id_back(run, tmp_path):
    """Also where its file was renamed with it."""
    for name in ("flat-1.toml", "flat-1.readings.jsonl"):
        (tmp_path / name).rename(tmp_path / name.replace("flat-1", "mine"))
    path = tmp_path / "mine.toml"
    path.write_text(path.read_text().replace('id = "flat-1"', 'id = "flat-1b"'))
    said = run("check", "mine.toml")
    assert (said.status, 'put its id back: id = "flat-1"' in said.err) == (2, True)
    path.write_text(path.read_text().replace('id = "flat-1b"', 'id = "flat-1"'))
    assert run("check", "mine.toml").status in (0, 1)
