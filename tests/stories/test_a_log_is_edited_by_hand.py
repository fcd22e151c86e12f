"""A log is edited by hand: a cut that should not have been made disappears, and the crank is signed all the same.

What a hand would have done wrong: take a record for what was written because it looks like one. The edits are
those of by_hand: they know the format, and make every seal anew that they can.
"""

from __future__ import annotations

import json
from pathlib import Path
from types import SimpleNamespace

import books
import by_hand
import invented
import pytest
from commands import answer as run

from truethrow.balance.base.beside import log_path
from truethrow.balance.book import jobs, outside, schema
from truethrow.balance.book.backup import backup, restore
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.book.check import verify
from truethrow.balance.log import damage
from truethrow.balance.log.lines import joined, parted, record_in
from truethrow.balance.log.place import open_log
from truethrow.balance.log.records import Begun, Weighed


def job_with_a_log(folder, name):
    """A job in a file, with a log of seven lines beside it."""
    folder.mkdir(exist_ok=True)
    path = folder / f"{name}.toml"
    path.write_text(invented.text(invented.document(job={"id": name})), encoding="utf-8")
    by_hand.fill(open_log(path, by="AB"))
    return path


def lines_of(path):
    return log_path(path).read_bytes().splitlines()


@pytest.mark.parametrize("edit", by_hand.FOUND_BY_THE_LOG.values(), ids=by_hand.FOUND_BY_THE_LOG)
def test_an_edited_log_is_refused_and_goes_on_once_somebody_said_what_became_of_it(tmp_path, edit):
    path, other = job_with_a_log(tmp_path, "launch-7"), job_with_a_log(tmp_path / "other", "pump-2")
    log_path(path).write_bytes(b"".join(line + b"\n" for line in edit(lines_of(path), lines_of(other))))
    for command in ("hang", "trim", "send", "cards"):
        status, said = run(command, path)
        assert status == 2, said
        assert f"say what became of it before anything goes on: truethrow damaged {path}" in said
    for _ in range(20):
        status, said = run("damaged", path, "--json")
        waiting = [line for line in json.loads(said)["lines"] if line["acknowledged"] is None]
        assert status == (1 if waiting else 0)
        if not waiting:
            break
        way = ["--never-happened"] if "never happened" in waiting[0]["needs"] else []
        status, said = run(
            "acknowledge", path, waiting[0]["number"], *way, "--why", "not on any card", "--by", "AB"
        )
        assert status == 0, said
    assert not waiting
    assert "say what became of it" not in run("hang", path)[1]
    assert open_log(path).append(Weighed(4, "piston", 538.0)) in open_log(path).records


def test_it_is_told_in_plain_words_what_is_wrong(tmp_path):
    path = job_with_a_log(tmp_path, "launch-7")
    own, told = lines_of(path), {}
    for name in ("one removed in the middle", "one changed and sealed again", "two swapped"):
        log_path(path).write_bytes(b"".join(line + b"\n" for line in by_hand.FOUND_BY_THE_LOG[name](own, own)))
        told[name] = run("damaged", path)[1].splitlines()
    assert told["one removed in the middle"][0] == (
        "line 4: records are missing before it; what they said can't be known"
    )
    changed = told["one changed and sealed again"][0]
    assert changed.startswith("line 4: was changed after it was written; it says now: cut, ")
    assert "0.5 g" in changed
    assert [line.partition(";")[0] for line in told["two swapped"] if line.startswith("line")] == [
        "line 3: records are missing before it",
        "line 4: was not written there, but elsewhere or in another log",
    ]


class Shelved(SimpleNamespace):
    """Two jobs in a book; rows are edited behind the back of its guards."""

    def rows(self, job):
        with self.book.reading() as connection:
            query = schema.records.select().where(schema.records.c.job == job).order_by(schema.records.c.seq)
            return [joined(row.text, row.seal) for row in connection.execute(query)]

    def put(self, lines, **of_the_job):
        """Other rows in the place of the first job's, and its own row changed."""
        with self.book.writing() as connection:
            for statement in schema.guards_off(connection.dialect.name):
                connection.exec_driver_sql(statement)
            connection.execute(schema.records.delete().where(schema.records.c.job == "launch-7"))
            for seq, line in enumerate(lines, start=1):
                text, seal = parted(line)
                said = record_in(line) or record_in(self.own[seq - 1])
                row = {"id": said.id, "at": said.at, "action": said.action, "text": text, "seal": seal}
                connection.execute(schema.records.insert().values(job="launch-7", seq=seq, **row))
            if of_the_job:
                own = schema.jobs.update().where(schema.jobs.c.id == "launch-7")
                connection.execute(own.values(**of_the_job))
            for statement in schema.guards_on(connection.dialect.name):
                connection.exec_driver_sql(statement)

    def faults(self):
        found = verify(self.book)
        return [fault for fault in (*found.faults, *found.held) if "where it stands" not in fault]


@pytest.fixture(params=books.KINDS)
def shelved(request, tmp_path):
    with books.fresh(request.param, tmp_path) as address, books.opened(address) as book:
        for name in ("launch-7", "pump-2"):
            jobs.add(book, jobs.from_file(job_with_a_log(tmp_path / name, name)))
        made = Shelved(book=book)
        made.own, made.other = made.rows("launch-7"), made.rows("pump-2")
        assert made.faults() == []
        yield made


ALL = by_hand.FOUND_BY_THE_LOG | by_hand.FOUND_FROM_OUTSIDE


@pytest.mark.parametrize("edit", ALL.values(), ids=ALL)
def test_an_edited_book_is_not_called_sound_and_the_job_is_held(shelved, edit):
    """Also where whoever did it set the number of the records in the job's row right."""
    lines = edit(shelved.own, shelved.other)
    shelved.put(lines, last_seq=len(lines))
    assert shelved.faults()
    assert damage.unsettled(BookedJob(shelved.book, "launch-7").open_log().records)


def query():
    """The query that DEVELOPERS.md gives."""
    text = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    return text.partition("```sql")[2].partition("```")[0].replace("%", "%%")


@pytest.mark.parametrize("edit", ALL.values(), ids=ALL)
def test_on_a_server_sql_alone_finds_it(shelved, edit):
    """PostgreSQL's own sha256, beside Python's."""
    if shelved.book.address.file is not None:
        pytest.skip("an embedded book knows no sha256")

    def found():
        with shelved.book.reading() as connection:
            return connection.exec_driver_sql(query()).all()

    assert found() == []
    shelved.put(edit(shelved.own, shelved.other))
    assert {job for job, _ in found()} == {"launch-7"}


def test_a_row_copied_has_no_place_in_a_book(shelved):
    copied = [*shelved.own, shelved.own[3]]
    with pytest.raises(Exception, match="nothing was written"):
        shelved.put(copied)
    assert shelved.faults() == []


def test_the_head_in_the_jobs_row_changed_alone_is_told(shelved):
    shelved.put(shelved.own, head="9a3e71c4" * 4)
    (fault,) = shelved.faults()
    assert fault.startswith("job launch-7: its log ends with ")
    assert "and the book says 9a3e-71c4-6: records were taken off its end, or changed" in fault


def test_all_the_way_round_every_byte_and_the_chain_stay(tmp_path):
    """SQLite, PostgreSQL, a file, SQLite: the same lines, and all of it sound."""
    path = job_with_a_log(tmp_path, "launch-7")
    own = lines_of(path)
    with books.fresh("postgresql", tmp_path) as address, books.opened(address) as served:
        with books.at(tmp_path / "one.db") as book:
            jobs.add(book, jobs.from_file(path))
            BookedJob(book, "launch-7").open_log().append(Weighed(4, "piston", 538.0))
            backup(book, tmp_path / "one.bak")
        restore(served.address, tmp_path / "one.bak")
        BookedJob(served, "launch-7").open_log().append(Weighed(5, "piston", 538.0))
        assert verify(served).faults == ()
        file, _ = outside.export(served, "launch-7", tmp_path / "out")
    open_log(file).append(Weighed(6, "piston", 538.0))
    whole = lines_of(file)
    with books.at(tmp_path / "two.db") as book:
        jobs.add(book, jobs.from_file(file))
        again, _ = outside.export(book, "launch-7", tmp_path / "again")
        assert verify(book).faults == ()
        log = BookedJob(book, "launch-7").open_log()
    assert lines_of(again) == whole
    assert whole[: len(own)] == own
    assert (damage.unsettled(log.records), log.head.records, len(log.records)) == ([], 9, 9)
    assert len([record for record in log.written if isinstance(record, Begun)]) == 4, (
        "one more wherever it went on"
    )
