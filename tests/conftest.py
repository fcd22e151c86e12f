"""Fixtures that several test files share."""

from __future__ import annotations

import functools
import os
import shutil
import tempfile
from pathlib import Path

import books
import invented
import outside_checks
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
    parser.addoption("--write-checks", action="store_true", help="make worksheets/handbook/checked.csv anew")


def pytest_configure(config):
    if config.getoption("write_checks") and config.getoption("numprocesses", None):
        raise pytest.UsageError("--write-checks is for one process: add -n 0")
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


MADE_ROWS = pytest.StashKey[list[outside_checks.Check]]()


@pytest.fixture
def checked(request):
    """The mark of a check against a printed answer: holds it, and makes its row of the handbook's table.

    checked(source, page, given, what, printed, ours, unit, within=…, from_memory=False). printed is the answer
    with the digits that it has in print, as text, never a figure of ours, nor one that was worked out again; what
    was not seen in print is from_memory. ours: a number out of the program, or a text, which must be the same."""
    config, test = request.config, request.node.nodeid
    made = []

    def check(source, page, given, what, printed, ours, unit="", *, within=0.0, from_memory=False):
        made.append(
            outside_checks.row(
                *(test, source, page, given, what, printed, ours, unit), within=within, from_memory=from_memory
            )
        )

    yield check
    assert made, "a test that takes the mark makes a row"
    if config.getoption("write_checks"):
        config.stash.setdefault(MADE_ROWS, []).extend(made)
    else:
        assert sorted(made) == sorted(one for one in outside_checks.stored() if one.test == test), (
            outside_checks.STALE
        )


def pytest_sessionfinish(session, exitstatus):
    """Of the tests' files that ran, the rows that they made; of the others, those that were there."""
    config = session.config
    if not config.getoption("write_checks") or exitstatus != pytest.ExitCode.OK:
        return
    ran = {item.nodeid.partition("::")[0] for item in session.items}
    kept = [one for one in outside_checks.stored() if one.test.partition("::")[0] not in ran]
    there = [one for one in kept if (config.rootpath / one.test.partition("::")[0]).exists()]
    outside_checks.write([*there, *config.stash.get(MADE_ROWS, [])])


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
