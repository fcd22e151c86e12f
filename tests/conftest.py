"""Fixtures that several test files share."""

from __future__ import annotations

import functools
import os
import shutil
import tempfile
from pathlib import Path

import books
import invented
import pytest
import typer.main
from hypothesis import HealthCheck, settings

# The commands are the same however often a test calls one; Typer would make all of them anew for each call.
typer.main.get_command = functools.cache(typer.main.get_command)

# How long an example takes says nothing; the same examples come on every run.
settings.register_profile("whole", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("sample", settings.get_profile("whole"), max_examples=25)


def pytest_addoption(parser):
    parser.addoption("--whole", action="store_true", help="all seeds of a simulation, all kills in a row")


def pytest_configure(config):
    settings.load_profile("whole" if config.getoption("whole") else "sample")
    # No test finds the user's own book, nor one that another process of the tests keeps; not even one that copies
    # its surroundings while it is loaded, which comes after this.
    own = Path(tempfile.mkdtemp(prefix="truethrow-tests-"))
    config.add_cleanup(lambda: shutil.rmtree(own, ignore_errors=True))
    for name, folder in (
        ("HOME", own / "home"),
        ("XDG_DATA_HOME", own / "data"),
        ("XDG_CONFIG_HOME", own / "config"),
    ):
        folder.mkdir()
        os.environ[name] = str(folder)
    for key in ("BOOK", "BY", "STATION", "MASS_UNIT", "LENGTH_UNIT", "SETTINGS"):
        os.environ.pop(f"TRUETHROW_{key}", None)
    os.environ.pop("COLUMNS", None)


def pytest_generate_tests(metafunc):
    if mark := metafunc.definition.get_closest_marker("simulation"):
        many = "whole" if metafunc.config.getoption("whole") else "sample"
        metafunc.parametrize("seed", range(mark.kwargs[many]))


@pytest.fixture
def as_many(request):
    """As many as a test is to do of one thing in a row: a sample, or with --whole the whole number."""
    return lambda whole, sample: whole if request.config.getoption("whole") else sample


@pytest.fixture(scope="session", autouse=True)
def data_folder():
    """No test leaves anything for the program in the home folder, which is not the user's here."""
    yield
    left = [str(path) for path in Path.home().rglob("truethrow*")]
    assert not left, f"a test did not keep to the tests' data folder: {left}"


@pytest.fixture
def blank(tmp_path):
    """A V8 whose readings are all still to be weighed."""

    def make(**tables):
        data = {name: table for name, table in invented.document(**tables).items() if name != "cylinder"}
        path = tmp_path / "job.toml"
        path.write_text(invented.text(data), encoding="utf-8")
        return path

    return make


@pytest.fixture(params=books.KINDS)
def book_address(request, tmp_path):
    """The address of an empty database for a book: one embedded, and one on PostgreSQL."""
    with books.fresh(request.param, tmp_path) as address:
        yield address


@pytest.fixture
def book(book_address):
    """A new book, on either."""
    with books.opened(book_address) as opened:
        yield opened


@pytest.fixture(scope="session", params=books.KINDS)
def full_once(request, tmp_path_factory):
    """The address of a book with something in every table, on either, which nobody has open."""
    folder = tmp_path_factory.mktemp("full")
    with books.fresh(request.param, folder) as address:
        with books.opened(address) as opened:
            books.fill(opened, folder)
        yield address


@pytest.fixture
def full(full_once, tmp_path, monkeypatch):
    """A book of one's own with something in every table, on either."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    with books.copied(full_once, tmp_path) as address, books.opened(address) as opened:
        yield opened
