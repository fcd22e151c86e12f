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
    told = shop("book", "backup", "b.bak", status=2)
    assert "copied as it is, but the book is damaged" in told
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
