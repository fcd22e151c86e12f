"""Whatever is recorded in a job, by whom ever, is told once and in order, and the board follows."""

from __future__ import annotations

import shutil
import threading

import pytest
from commands import run
from floor_shop import blank_job

from truethrow.balance.base.beside import log_path
from truethrow.balance.log.place import open_log
from truethrow.balance.log.records import Weighed
from truethrow.cli.floor import watching
from truethrow.cli.floor.shop import Folder
from truethrow.cli.floor.watching import Watch

LONGEST_WAIT_S = 60.0


class Heard:
    """A watch over a folder, and what it told."""

    def __init__(self, folder):
        self.records, self.boards = [], []
        self.news = threading.Condition()
        self.watch = Watch(Folder(folder), self._recorded, self._board)

    def _recorded(self, job, records):
        with self.news:
            self.records += [(job, one["number"], one["said"]) for one in records]
            self.news.notify_all()

    def _board(self, board):
        with self.news:
            self.boards.append(board)
            self.news.notify_all()

    def until(self, is_so):
        with self.news:
            assert self.news.wait_for(is_so, LONGEST_WAIT_S), (self.records, self.boards[-1:])


@pytest.fixture
def heard(tmp_path):
    blank_job(tmp_path)
    made = Heard(tmp_path)
    made.watch.look()
    yield made
    made.watch.close()


def weigh(path, *grams):
    log = open_log(path, "bench-1", "AB")
    for number, mass in enumerate(grams, start=1):
        log.append(Weighed(number, "piston", mass, f"{mass}"))


def test_what_any_command_records_is_told_once_and_in_order(heard, tmp_path):
    heard.watch.start()
    assert run("weigh", tmp_path / "job.toml", stdin="538.4\n538.6\n").status in (0, 1)
    heard.until(lambda: len(heard.records) == 2)
    assert run("strike", tmp_path / "job.toml", "--last", "--why", "dropped it", "--by", "AB", "--yes").status == 0
    heard.until(lambda: len(heard.records) == 3)
    assert [number for _, number, _ in heard.records] == [1, 2, 3]
    assert "538.4" in heard.records[0][2]
    heard.until(lambda: heard.watch.board.head == 3)
    assert heard.watch.board.rows[0].changed


def test_records_before_the_first_look_are_no_news(tmp_path):
    path = blank_job(tmp_path)
    weigh(path, 538.4)
    heard = Heard(tmp_path)
    heard.watch.look()
    weigh(path, 538.6)
    heard.watch._look()
    assert [number for _, number, _ in heard.records] == [2]
    assert [one["number"] for one in heard.watch.records_since("job", 0)] == [1, 2]
    assert heard.watch.records_since("job", 2) == []
    assert (heard.watch.head("job"), heard.watch.head("other")) == (2, 0)


def test_a_log_that_another_takes_the_place_of_tells_what_is_new_in_it_alone(heard, tmp_path):
    path = tmp_path / "job.toml"
    weigh(path, 538.4, 538.6)
    heard.watch._look()
    copy = tmp_path / "copy.jsonl"
    shutil.copy(log_path(path), copy)
    copy.replace(log_path(path))
    weigh(path, 538.9)
    heard.watch._look()
    assert [number for _, number, _ in heard.records] == [1, 2, 3]


def test_a_job_that_breaks_is_told_on_the_board_and_comes_back(heard, tmp_path):
    path = tmp_path / "job.toml"
    text = path.read_text(encoding="utf-8")
    heard.watch.start()
    path.write_text("[job]\n", encoding="utf-8")
    heard.until(lambda: heard.watch.board.rows[0].blocked)
    assert [row.job for row in heard.watch.board.rows] == ["job"]
    path.write_text(text, encoding="utf-8")
    heard.until(lambda: not heard.watch.board.rows[0].blocked)


def test_a_job_comes_and_goes_with_its_file(heard, tmp_path):
    heard.watch.start()
    other = blank_job(tmp_path, "other", about={"due": "2001-02-03"})
    heard.until(lambda: len(heard.watch.board.rows) == 2)
    assert heard.watch.board.late == ("other",)
    other.unlink()
    heard.until(lambda: len(heard.watch.board.rows) == 1)


def test_what_was_recorded_here_is_told_without_waiting_for_the_next_look(heard, tmp_path, monkeypatch):
    monkeypatch.setattr(watching, "LOOK_S", 10 * LONGEST_WAIT_S)
    heard.watch.start()
    weigh(tmp_path / "job.toml", 538.4)
    heard.watch.look_now()
    heard.until(lambda: heard.records)


def test_the_bench_of_a_job_whose_file_went_is_told(tmp_path):
    path = blank_job(tmp_path)
    touched: list[str] = []
    watch = Watch(Folder(tmp_path), lambda job, records: None, lambda board: None, touched=touched.append)
    watch.look()
    touched.clear()
    path.unlink()
    watch._look()
    assert touched == ["job"]
