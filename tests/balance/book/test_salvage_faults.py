"""A damaged book: told or without effect, and what is left of it is saved. `pytest -s` prints the counts."""

from __future__ import annotations

import json
import random
import shutil
import tempfile
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

import books
import invented
import pytest
from book_faults import FAULTS, JOB, check_told, say, wait_for_more, with_job
from bookstation import Stations, read_told

from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.balance.book import documents, jobs, stock
from truethrow.balance.book.book_log import BookLog
from truethrow.balance.book.check import verify
from truethrow.balance.book.open import copy_file, open_book
from truethrow.balance.book.salvage import salvage
from truethrow.balance.log.place import Outgoing
from truethrow.balance.log.records import Weighed

pytestmark = FAULTS


PAGE = 4096
LONGEST = 480  # bytes of a record's text and its seal, at most


class Damaged:
    """A book of a few jobs in one file, copies of which are damaged. raw: its bytes; rows: what it holds; at:
    where each record's row lies in it, by the record's id."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.whole, self.copy = folder / "whole.db", folder / "damaged.db"
        opened = open_book(f"sqlite:///{folder / 'book.db'}")
        chance = random.Random(20250304)
        for number in range(3):
            job, title = f"engine-{number}", f"Launch engine, number {number}"
            path = folder / "job.toml"
            path.write_text(invented.text(invented.document(job={"id": job, "title": title})), encoding="utf-8")
            jobs.add(opened, jobs.from_file(path), "MK")
            path.write_text(path.read_text("utf-8") + "# as agreed\n", encoding="utf-8")
            jobs.put(opened, job, path, 1, "AB")
            log = BookLog(opened, job, "left", "MK")
            for _ in range(60):
                grams, kind = round(chance.uniform(100, 600), 1), chance.choice(list(invented.PARTS))
                log.append(Weighed(chance.randint(1, 8), kind, grams, f"{grams} g"))
            paper = Outgoing("station", b"sheet", "0" * 64, f"{job}-station.csv")
            with documents.issuing(opened, job, [paper], "MK"):
                pass
        shelf = folder / "rods.csv"
        weights = "".join(f"R{n},{450 + n / 10},{170 + n / 10}\n" for n in range(20))
        shelf.write_text(f"label,big_end,small_end\n{weights}", encoding="utf-8")
        stock.add(opened, [shelf], "MK")
        stock.move(opened, "rod", "R1", "engine-0", 1, "MK")
        copy_file(folder / "book.db", self.whole)
        opened.close()
        self.raw = self.whole.read_bytes()
        self.rows = self._rows_of(self.whole)
        found = {row["id"]: row for name, row in self.rows if name == "records"}
        self.at = {key: self.raw.index(f'{{"id":"{key}"'.encode()) for key in found}

    @staticmethod
    def _rows_of(path: Path) -> list:
        opened = open_book(f"sqlite:///{path}", create=False)
        try:
            return books.ways(opened)
        finally:
            opened.close()

    def told(self, raw: bytes) -> str:
        """What verify tells of a book of these bytes, the first line; where it tells nothing, nothing is lost."""
        for ending in ("-wal", "-shm"):
            self.copy.with_name(self.copy.name + ending).unlink(missing_ok=True)
        self.copy.write_bytes(raw)
        try:
            opened = open_book(f"sqlite:///{self.copy}", create=False)
            try:
                faults = verify(opened).faults
            finally:
                opened.close()
        except (BadInput, NotSaved) as error:
            faults = tuple(str(error).splitlines())
        assert all(line.isprintable() for line in faults)
        if not faults:
            assert self._rows_of(self.copy) == self.rows
        return faults[0] if faults else ""

    def salvaged(self, raw: bytes, hit: Iterable[tuple[int, int]]) -> int:
        """Salvage a book of these bytes: how many records are lost. hit: from and to of what is not as it was. No
        record is lost whose row was not hit; what is lost is told; and the new book is sound."""
        for ending in ("-wal", "-shm"):
            self.copy.with_name(self.copy.name + ending).unlink(missing_ok=True)
        self.copy.write_bytes(raw)
        folder = Path(tempfile.mkdtemp(dir=self.folder))
        done = salvage(self.copy, folder / "new.db")
        opened = open_book(f"sqlite:///{folder / 'new.db'}", create=False)
        try:
            assert verify(opened).faults == ()
            records = {row["id"] for name, row in books.ways(opened) if name == "records"}
        finally:
            opened.close()
        alone = [json.loads(one)["id"] for path in done.beside for one in path.read_bytes().splitlines()]
        lost = self.at.keys() - records - set(alone)
        whole = {
            key
            for key, at in self.at.items()
            if not any(at - 90 < to and start < at + LONGEST for start, to in hit)
        }
        assert lost & whole == set()
        assert not lost or done.lost
        shutil.rmtree(folder)
        return len(lost)


@pytest.fixture(scope="module")
def damaged(tmp_path_factory):
    return Damaged(tmp_path_factory.mktemp("damaged"))


def test_a_flipped_bit_is_told_or_without_effect_and_costs_at_most_its_row(damaged, as_many):
    chance = random.Random(20250305)
    counts: Counter[str] = Counter()
    many = as_many(40, sample=15)
    for _ in range(many):
        raw, at = bytearray(damaged.raw), chance.randrange(len(damaged.raw))
        raw[at] ^= 1 << chance.randrange(8)
        told = damaged.told(raw)
        counts["told" if told else "without effect"] += 1
        if told:
            lost = damaged.salvaged(raw, [(at, at + 1)])
            assert lost <= 1
            counts["records lost"] += lost
    say(f"a bit flipped in {len(damaged.raw) // PAGE} pages: {dict(counts)}")
    assert counts["told"] > many / 8


RECORD = b'"bench":"left","by":"MK","action":"read"'
SPOTS = {
    "the title of a job": b"engine-1Launch",
    "the name of a document": b"station.csv",
    "the text of a job": b"# as agreed",
    "a guard": b"SELECT RAISE",
    "a view": b"'cut'",
    "a table": b"CREATE TABLE records",
    "a record": RECORD,
    "the very start": b"SQLite format 3",
}


@pytest.mark.parametrize("spot", SPOTS)
@pytest.mark.parametrize("flip", [0x01, 0x80])
def test_damage_in_this_spot_is_told(damaged, spot, flip):
    raw, at = bytearray(damaged.raw), damaged.raw.index(SPOTS[spot]) + len(SPOTS[spot]) // 2
    raw[at] ^= flip
    assert damaged.told(raw)
    assert damaged.salvaged(raw, [(at, at + 1)]) <= 1


@pytest.mark.parametrize("what", ["zeros", "noise", "a head of zeros", "forty bits"])
def test_a_page_that_is_gone_costs_what_was_on_it_and_no_more(damaged, what, as_many):
    chance = random.Random(20250306)
    pages, many = len(damaged.raw) // PAGE, as_many(8, sample=4)
    lost = 0
    for page in chance.sample(range(pages), many) if what != "forty bits" else range(many):
        raw, start = bytearray(damaged.raw), page * PAGE
        hit = [(start, start + (16 if what == "a head of zeros" else PAGE))]
        if what == "forty bits":
            hit = [(at, at + 1) for at in (chance.randrange(len(raw)) for _ in range(40))]
            for at, _ in hit:
                raw[at] ^= 1 << chance.randrange(8)
        else:
            size = hit[0][1] - start
            raw[start : hit[0][1]] = chance.randbytes(size) if what == "noise" else bytes(size)
        if damaged.told(raw):
            lost += damaged.salvaged(raw, hit)
    say(f"{what}: {lost} records lost of {many} × {len(damaged.at)}")


def test_a_record_whose_seq_is_damaged_does_not_drive_another_out(damaged):
    """No seal covers a seq; two may then seem to stand in one place. Their own numbers tell their order."""
    found = [row for name, row in damaged.rows if name == "records" and row["job"] == "engine-1"]
    raw, key = bytearray(damaged.raw), found[30]["id"].encode()
    # SQLite has a row's values one after the other: job, seq, id.
    at = damaged.raw.index(b"engine-1" + bytes([found[30]["seq"]]) + key) + len("engine-1")
    raw[at] = found[10]["seq"]
    assert damaged.told(raw)
    assert damaged.salvaged(raw, []) == 0


@pytest.mark.parametrize("where", ["the start", "the file beside"])
def test_what_was_acknowledged_just_before_a_kill_is_salvaged_too(sqlite, tmp_path, where):
    """It may be in the file beside the book alone."""
    with_job(sqlite, tmp_path).close()
    folder = tmp_path / "acknowledged"
    folder.mkdir()
    with Stations() as stations:
        stations.start(sqlite, JOB, "s1", folder / "s1")
        wait_for_more(folder, 5)
    done, _ = read_told(folder)
    book = tmp_path / "book.db"
    beside = book.with_name("book.db-wal")
    assert beside.stat().st_size > 5 * PAGE
    with (book if where == "the start" else beside).open("r+b") as file:
        # Of the file beside, the head that says whose it is stays; its pages stand there again, further on.
        file.seek(0 if where == "the start" else 32 + 24)
        file.write(bytes(PAGE))
    saved = salvage(book, tmp_path / "new.db")
    assert (saved.jobs, saved.beside) == (1, ())
    check_told(f"sqlite:///{tmp_path / 'new.db'}", done)


def test_a_damaged_book_is_told_salvaged_and_put_back_by_the_commands(damaged, inside, tmp_path):
    raw, at = bytearray(damaged.raw), damaged.raw.index(RECORD)
    raw[at] ^= 1
    book, new = tmp_path / "book.db", tmp_path / "new.db"
    book.write_bytes(raw)
    url = f"sqlite:///{book}"
    found = inside(url, "book", "verify")
    assert (found.status, found.err) == (1, "")
    assert "damaged" in found.out
    assert inside(url, "book", "backup", tmp_path / "backup.db").status == 1
    saved = inside(url, "book", "salvage", new)
    assert (saved.status, saved.err) == (1, "")
    begun = 3  # lines that begin a log are no records to count
    assert f"3 jobs, {len(damaged.at) - begun - 1} records" in saved.out
    assert "! lost: job engine-" in saved.out
    assert inside(url, "book", "restore", new, "--yes").status == 0
    found = inside(url, "book", "verify")
    assert (found.status, "are missing" in found.out, "HELD" in found.out) == (1, True, True)
    job = found.out.partition("! job ")[2].partition(":")[0]
    number = found.out.partition("before record ")[2].partition(" ")[0]
    assert inside(url, "hang", job).status == 2
    done = inside(url, "acknowledge", job, number, "--never-happened", "--why", "weighed again", "--by", "AB")
    assert (done.status, done.err) == (0, "")
    assert inside(url, "book", "verify").status == 0
    size = book.stat().st_size
    for path in tmp_path.glob("book.db*"):
        path.unlink()
    book.write_bytes(bytes(size))
    for arguments in (
        ("book", "list"),
        ("book", "verify"),
        ("hang", "engine-1"),
        ("book", "salvage", tmp_path / "n.db"),
    ):
        done = inside(url, *arguments)
        assert (done.status, len(done.err.splitlines())) == (2, 1), done
