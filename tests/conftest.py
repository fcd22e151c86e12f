"""Fixtures that several test files share."""

from __future__ import annotations

import functools

import books
import invented
import pytest
import typer.main
from hypothesis import HealthCheck, settings

# The commands are the same however often a test calls one; Typer would make all of them anew for each call.
typer.main.get_command = functools.cache(typer.main.get_command)

# How long an example takes says nothing; the same examples come on every run.
settings.register_profile(
    "any machine", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("any machine")


def pytest_addoption(parser):
    parser.addoption("--whole", action="store_true", help="simulations with all their seeds, two hundred kills")


def pytest_generate_tests(metafunc):
    if mark := metafunc.definition.get_closest_marker("simulation"):
        many = "whole" if metafunc.config.getoption("whole") else "sample"
        metafunc.parametrize("seed", range(mark.kwargs[many]))


@pytest.fixture
def kills(request):
    """How many processes a test kills in a row: a sample, or with --whole two hundred."""
    return 200 if request.config.getoption("whole") else 40


@pytest.fixture(scope="session", autouse=True)
def data_folder(tmp_path_factory):
    """No test finds the user's own book, nor one that another process of the tests keeps."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_DATA_HOME", str(tmp_path_factory.mktemp("data")))
        patch.delenv("TRUETHROW_BOOK", raising=False)
        yield


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
