"""The book on the command line: every command takes a file or a job's id, and says the same of either."""

from __future__ import annotations

import hashlib
import json
import uuid

import books
import invented
import pytest
from sqlalchemy import make_url
from typer.testing import CliRunner

from truethrow.balance.book import listing, roles
from truethrow.balance.book.address import VARIABLE
from truethrow.balance.demo import copy_into
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import ZeroRead
from truethrow.cli.main import app


def test_a_booked_job_is_told_as_its_file_is(run, launch):
    for command, status in (("hang", 1), ("check", 1), ("trim", 1), ("work", 1)):
        booked = run(command, "launch-7", status=status).replace("launch-7-station.csv", "launch-station.csv")
        named = booked
        for command_told in ("ground", "weigh"):
            named = named.replace(f"truethrow {command_told} launch-7", f"truethrow {command_told} launch.toml")
        assert named == run(command, "launch.toml", status=status)


def test_a_whole_job_goes_through_the_book(run, launch, tmp_path):
    assert "trimming" in run("book", "list")
    assert run("match", "launch-7", "--json", status=1)
    told = json.loads(run("book", "show", "launch-7", "--json"))
    assert (told["state"], told["records"], told["documents"]) == ("matching", 3, [])
    run("accept", "launch-7", "--by", "AB")
    heads = [line for line in run("history", "launch-7").splitlines()[1:] if not line.startswith(" ")]
    assert [line.split()[4] for line in heads][-2:] == ["propose", "trade"]
    run("send", "launch-7", status=1)
    run("cards", "launch-7", "--only", "trim", "--into", "wall", "--by", "CD")
    sheet, card = json.loads(run("book", "show", "launch-7", "--json"))["documents"]
    for issued, kind, name in (
        (sheet, "station sheet", "launch-7-station.csv"),
        (card, "trim card", "wall/trim.pdf"),
    ):
        assert (issued["kind"], issued["name"]) == (kind, name)
        assert issued["by"] == ("CD" if issued is card else "")
        assert issued["digest"] == hashlib.sha256((tmp_path / name).read_bytes()).hexdigest()
    run("book", "export", "launch-7", "--into", "out")
    of_file = run("hang", "out/launch-7.toml", status=1).replace("out/launch-7.toml", "launch-7")
    assert of_file == run("hang", "launch-7", status=1)
    assert "launch-7: text as it was, revision 1; 0 new records of 4" in run("book", "add", "out/launch-7.toml")


def test_faults_of_all_files_come_at_once_and_nothing_is_added(run, tmp_path):
    books.job_file(tmp_path, "good")
    (tmp_path / "bad.toml").write_text("[job\n")
    (tmp_path / "worse.toml").write_text("job.id = 'a/b'")
    (tmp_path / "again.toml").write_text("job.id = 'good'")
    lines = run(
        "book", "add", "good.toml", "bad.toml", "worse.toml", "again.toml", "none.toml", status=2
    ).splitlines()
    assert [line.split(":")[0] for line in lines] == ["bad.toml", "worse.toml", "again.toml", "none.toml"]
    assert "there is no book yet; make it: truethrow book add JOB.toml" in run("book", "list", status=2)


def test_a_list_tells_how_many_it_did_not_look_at_even_where_none_is_asked_for(run, tmp_path, monkeypatch):
    books.job_file(tmp_path, "a")
    run("book", "add", "a.toml")
    run("weigh", "a", piped="go 1 piston\n538.0\n")
    monkeypatch.setattr(listing, "LONGEST_S", 0)
    assert run("book", "list", "--state", "signed") == "No job.\n1 job not looked at yet: ask again.\n"
    done = CliRunner().invoke(app, ["book", "list", "--state", "signed", "--json"])
    assert json.loads(done.stdout)["jobs"] == []
    assert done.stderr == "1 job not looked at yet: ask again.\n"
    assert json.loads(run("book", "show", "a", "--json"))["state"] is None


def test_what_was_not_looked_through_for_damage_is_told_where_work_goes_on_in_it(run, tmp_path, monkeypatch):
    for name in ("a", "pump"):
        books.job_file(tmp_path, name)
        run("book", "add", f"{name}.toml")
        run("weigh", name, piped="go 1 piston\n538.0\n")
    monkeypatch.setattr(listing, "MOST_LOOKED_THROUGH", 3)

    def told(*words):
        return CliRunner().invoke(app, ["book", *words]).stderr

    assert (
        told("list")
        == "not looked through for damage, of the jobs that work goes on in: 1; run: truethrow book verify\n"
    )
    assert told("find", "pump") == "", "what is asked for is looked through first"
    run("close", "a", "--by", "AB", "--why", "handed over")
    assert told("list") == "", "and what work goes on in before what is closed"


def test_whose_it_is_stands_in_the_book(run, tmp_path):
    copy_into(tmp_path)
    run("book", "add", "launch.toml", "--by", "AB")
    run("enter", "launch-7", "launch-weigh.csv", "--by", "CD")
    run("send", "launch-7", "--by", "EF", status=1)
    run("work", "launch-7", "-o", "other.csv", "--by", "GH", status=1)
    shown = json.loads(run("book", "show", "launch-7", "--json"))
    assert (shown["revision"], shown["changed_by"]) == (2, "CD")
    assert [one["by"] for one in shown["documents"]] == ["EF", "GH"]
    for command in (("enter", "launch-7", "launch-weigh.csv"), ("send", "launch-7"), ("work", "launch-7")):
        assert "--by: 'xxxxxxxxxxxxx'; allowed: printable, at most 12 characters" in run(
            *command, "--by", "x" * 13, status=2
        )


def test_what_could_not_be_written_was_not_issued(run, launch, tmp_path):
    told = run("send", "launch-7", "-o", tmp_path / "no" / "x.csv", status=2)
    assert told.endswith("no such folder; nothing was written")
    (tmp_path / "file").touch()
    run("cards", "launch-7", "--only", "trim", "--into", "file/wall", status=2)
    assert json.loads(run("book", "show", "launch-7", "--json"))["documents"] == []


def test_a_job_of_a_long_name_has_its_files(run, tmp_path):
    name = "\N{WRENCH}" * 64
    books.job_file(tmp_path, "x").write_text(invented.text(invented.document(job={"id": name})))
    run("book", "add", "x.toml")
    run("send", name)
    run("book", "export", name, "--into", "out")
    assert len(list((tmp_path / "out").iterdir())) == 1
    assert len(list(tmp_path.glob("*-station.csv"))) == 1


@pytest.fixture
def as_member(book_address, run, monkeypatch):
    """Run commands as a member of a role from now on."""
    if not book_address.startswith("postgresql"):
        pytest.skip("an embedded book has no roles")
    names = []

    def as_(role):
        run("book", "roles")
        name = f"truethrow_test_{uuid.uuid4().hex[:8]}"
        books.on_server(f"CREATE ROLE {name} LOGIN IN ROLE {role}")
        names.append(name)
        monkeypatch.setenv(VARIABLE, make_url(book_address).set(username=name).render_as_string())

    yield as_
    for name in names:
        books.on_server(f"DROP ROLE {name}")


@pytest.mark.xdist_group("the server's roles")
def test_a_viewer_looks_at_everything_and_is_told_what_he_may_not(run, launch, as_member, tmp_path):
    run("ground", "launch-7")
    as_member(roles.VIEWER)
    assert json.loads(run("book", "list", "--json"))["jobs"][0]["state"] == "weighing"
    listed = json.loads(run("book", "list", "--state", "weighing", "--json"))["jobs"]
    assert [job["id"] for job in listed] == ["launch-7"]
    told = run("weigh", "launch-7", piped="538.0\n", status=2)
    assert "stopped here; nothing was taken, at hand is: " in told
    run("book", "stock", "find")


@pytest.mark.xdist_group("the server's roles")
def test_a_viewer_issues_nothing_and_is_told_so_in_plain_words(run, launch, as_member, tmp_path):
    as_member(roles.VIEWER)
    run("hang", "launch-7", status=1)
    told = run("send", "launch-7", status=2)
    assert told.endswith(
        "this user may only read the book (hang, check and trim write nothing); "
        "the station sheet of job launch-7 was not issued"
    )
    assert "only read the book" in run("cards", "launch-7", "--only", "trim", "--into", "wall", status=2)
    assert not (tmp_path / "launch-7-station.csv").exists()
    assert not (tmp_path / "wall").exists()


@pytest.mark.xdist_group("the server's roles")
def test_a_bench_adds_what_a_log_has_grown_by(run, launch, as_member, tmp_path):
    as_member(roles.BENCH)
    ReadingLog(tmp_path / "launch.readings.jsonl").append(ZeroRead("start", 0.0))
    assert run("book", "add", "launch.toml").endswith(
        "text as it was, revision 1; 1 new record of 3\nNext: truethrow next launch-7\n"
    )


def test_an_edit_goes_in_at_its_revision_only(run, launch, tmp_path):
    run("book", "export", "launch-7", "--into", "out")
    path = tmp_path / "out" / "launch-7.toml"
    path.write_text(path.read_text().replace("oil = 4.0", "oil = 4.5"))
    assert run("book", "put", "launch-7", path, "--revision", 1) == "Job launch-7 is at revision 2.\n"
    told = run("book", "put", "launch-7", tmp_path / "launch.toml", "--revision", 1, status=2)
    assert [line.split("#")[0].rstrip() for line in told.splitlines()[1:]] == ["  -oil = 4.0", "  +oil = 4.5"]


def test_jobs_are_listed_as_data_and_by_state(run, tmp_path):
    books.job_file(tmp_path, "a", parts=invented.cylinders(piston={3: ""}))
    books.job_file(tmp_path, "b")
    run("book", "add", "a.toml", "b.toml")
    (found,) = json.loads(run("book", "list", "--state", "weighing", "--json"))["jobs"]
    assert (found["id"], found["blocked"]) == ("a", "to be weighed: piston of cylinder 3")
    assert run("book", "find", "spun").splitlines()[-1] == "1 job: 1 station"
    assert "--state: 'lost' is not known; allowed: weighing, matching, trimming, station, signed" in run(
        "book", "list", "--state", "lost", status=2
    )


def test_a_log_that_was_cut_short_is_told_when_it_is_added_again(run, launch, tmp_path):
    log = tmp_path / "launch.readings.jsonl"
    lines = log.read_bytes().splitlines(keepends=True)
    assert len(lines) > 1
    log.write_bytes(b"".join(lines[:-1]))
    assert "! 1 record is in the book and not in this file's log" in run("book", "add", "launch.toml")
    log.unlink()
    assert "in the book and not in this file's log" in run("book", "add", "launch.toml")
