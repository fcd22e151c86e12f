"""Books for the tests of this room, on either backend, and commands on them."""

from __future__ import annotations

import os
import sys

import books
import pytest
from book_faults import POSTGRES, environment, no_secret, with_job
from bookstation import Line, Server
from commands import Said

from truethrow.cli.main import main


@pytest.fixture
def own_folders(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


@pytest.fixture(scope="module")
def made_once(tmp_path_factory):
    """The bytes of an embedded book that nobody has open, and all its rows."""
    folder = tmp_path_factory.mktemp("made")
    with books.at(folder / "book.db") as book:
        books.fill(book, folder, 6)
        rows = books.ways(book)
    return (folder / "book.db").read_bytes(), rows


@pytest.fixture
def alone(made_once, tmp_path):
    """That book in a folder, and all its rows."""
    (tmp_path / "book.db").write_bytes(made_once[0])
    return tmp_path / "book.db", made_once[1]


@pytest.fixture
def sqlite(tmp_path):
    return f"sqlite:///{tmp_path / 'book.db'}"


@pytest.fixture
def postgres(tmp_path):
    with books.fresh("postgresql", tmp_path) as url:
        yield url


@pytest.fixture(params=books.KINDS)
def url(request, tmp_path):
    """The address of a book that is not made yet, on each backend."""
    with books.fresh(request.param, tmp_path) as made:
        yield made


@pytest.fixture(scope="module")
def own_server():
    """A server that may be killed."""
    server = Server()
    yield server
    server.close()


@pytest.fixture
def own_postgres(own_server):
    own_server.start()
    name = f"book_{os.urandom(6).hex()}"
    books.on_server(f"CREATE DATABASE {name}", own_server.address)
    return f"{own_server.address.rpartition('/')[0]}/{name}"


@pytest.fixture
def opened(url, tmp_path):
    """A book with one job whose parts are all still to be weighed."""
    made = with_job(url, tmp_path)
    yield made
    made.close()


@pytest.fixture
def line():
    with Line(int(POSTGRES.rpartition(":")[2].partition("/")[0])) as made:
        yield made


@pytest.fixture
def by_line(line, postgres):
    """The address of a book at the other end of the line."""
    return f"{POSTGRES.rpartition(':')[0]}:{line.port}/{postgres.rpartition('/')[2]}"


@pytest.fixture
def inside(monkeypatch, capfd, tmp_path):
    """Run a command inside this process, which spares it the start."""

    def run(url: str, *arguments: object, password: str = "") -> Said:
        for name, value in environment(url, tmp_path, PGPASSWORD=password).items():
            monkeypatch.setenv(name, value)
        monkeypatch.setattr(sys, "argv", ["truethrow", *map(str, arguments)])
        capfd.readouterr()
        with pytest.raises(SystemExit) as ended:
            main()
        said = Said(ended.value.code, *capfd.readouterr())
        assert no_secret(said.out, said.err)
        return said

    return run
