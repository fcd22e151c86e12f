"""One row of the book is bad, on either kind of book: a backup is made all the same, and all that is sound of book
and backup is saved and put back."""

from __future__ import annotations

import json
import os

import books
import pytest
from commands import run


@pytest.fixture
def shop(url, tmp_path):
    settings = {**os.environ, "XDG_DATA_HOME": str(tmp_path / "data"), "TRUETHROW_BOOK": url}

    def ran(*words, status=0, stdin=""):
        done = run(*words, folder=tmp_path, environment=settings, stdin=stdin)
        assert done.status == status, done
        return done.out + done.err

    ran("demo", "--into", "launch")
    ran("book", "add", "launch/launch.toml", "launch/pump.toml")
    ran("weigh", "launch-7", stdin="go 1 piston\n538.0\ngo 2 piston\n538.1\n")
    ran("book", "profile", "add", "launch/station.toml", "--name", "floor-1")
    ran("book", "stock", "add", "launch/shelf-rods.csv")
    return ran


@pytest.fixture(params=books.KINDS)
def url(request, tmp_path):
    with books.fresh(request.param, tmp_path) as made:
        yield made


BAD = {
    "stock_readings": "UPDATE stock_readings SET other_g = 1 WHERE label = 'R01'",
    "records": "UPDATE records SET text = replace(text, '538.1', '583.1')",
    "profiles": "UPDATE profiles SET text = text || '#'",
}


@pytest.mark.parametrize("table", BAD)
def test_all_that_is_sound_is_saved_and_put_back(shop, url, tmp_path, table):
    books.spoil(url, BAD[table])
    told = shop("book", "backup", "b.bak", status=1)
    assert "Written: b.bak, copied as it is, but not all of the book is sound:" in told
    assert "truethrow book salvage sound.db --from b.bak" in told
    told = shop("book", "restore", "b.bak", status=2)
    assert "truethrow book salvage sound.db --from b.bak" in told
    for words in (["sound.db", "--from", "b.bak"], ["again.db"]):
        told = shop("book", "salvage", *words, status=1)
        assert "Saved to " in told
        assert "! lost: " in told
    for saved in ("sound.db", "again.db"):
        shop("book", "restore", saved, "--yes")
        found = json.loads(shop("book", "list", "--json"))["jobs"]
        assert {job["id"] for job in found} == {"launch-7", "pump-2"}
        assert sum(job["records"] for job in found) == (1 if table == "records" else 2)
        shop("book", "verify")


def test_the_backup_names_every_job_that_is_damaged(shop, url, tmp_path):
    """What went wrong: it named the first, and who mended that took the rest for sound."""
    books.spoil(url, BAD["records"])
    books.spoil(url, "UPDATE job_revisions SET text = text || '# ' WHERE job = 'pump-2'")
    told = shop("book", "backup", "b.bak", status=1)
    wrong = [line for line in told.splitlines() if line.startswith("! ")]
    assert any("job launch-7, record " in line for line in wrong)
    assert any("job pump-2, revision 1: the text is damaged" in line for line in wrong)
    assert (tmp_path / "b.bak").exists()


@pytest.mark.parametrize(
    ("bad", "sound", "told"),
    [
        (BAD["records"], "pump-2", "! left out: job launch-7: record "),
        (
            "UPDATE job_revisions SET text = text || '# ' WHERE job = 'pump-2'",
            "launch-7",
            "! left out: job pump-2: its text of revision 1 is damaged",
        ),
    ],
    ids=["record", "text"],
)
def test_all_sound_jobs_are_written_out_and_a_damaged_one_never_looks_whole(shop, url, tmp_path, bad, sound, told):
    shop("book", "export-all", "before")
    books.spoil(url, bad)
    said = shop("book", "export-all", "out", status=1)
    assert told in said
    assert "truethrow book salvage sound.db" in said.splitlines()[-1]
    for name in (f"{sound}.toml", f"{sound}.readings.jsonl", "stock.jsonl"):
        own, before = tmp_path / "out" / name, tmp_path / "before" / name
        assert own.exists() == before.exists()
        assert not own.exists() or own.read_bytes() == before.read_bytes(), name
    (out,) = {"launch-7", "pump-2"} - {sound}
    assert not list((tmp_path / "out").glob(f"{out}*"))
    assert f"job {out}: has no file here" in shop("book", "restore", "out", "--yes", status=2)
    shop("book", "export", sound, "--into", "alone")
