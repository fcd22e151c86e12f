"""A match of the stock and its moves on the command line; its stories are in tests/stories."""

import json

import commands
import pytest

from truethrow.balance import demo


@pytest.fixture
def run(tmp_path):
    """Commands in a folder with a book of its own, which has the demo's job and its shelf as stock."""
    demo.copy_into(tmp_path)
    inside = commands.in_folder(tmp_path)

    def ran(*words):
        return inside(*words, TRUETHROW_BOOK=f"sqlite:///{tmp_path / 'book.db'}")

    ran("book", "add", "launch.toml")
    assert ran("book", "stock", "add", *sorted(p.name for p in tmp_path.glob("shelf-*.csv"))).status == 0
    return ran


def test_each_part_of_the_engine_is_moved_once(run):
    data = json.loads(run("shelf", "launch-7", "--stock", "--engines", 2, "--seconds", 0.5, "--json").out)
    (engine,) = data["moves"]
    assert (engine["engine"], engine["job"], engine["against"]) == (1, "launch-7", [])
    assert data["engines_without_job"] == 1
    told = {(one["kind"], one["label"], one["cylinder"]) for one in engine["moves"]}
    assert told == {
        (kind, label, cylinder["cylinder"])
        for cylinder in data["engines"][0]["cylinders"]
        for kind, label in cylinder["labels"].items()
    }
    assert len(told) == 24


def test_what_is_wrong_with_the_words(run, tmp_path):
    assert run("shelf", "launch-7").err == "SHELF.csv: missing; allowed: a file of loose parts, or --stock\n"
    assert "--to: moves parts of the stock alone" in run("shelf", "launch.toml", "shelf-rods.csv", "--to", "x").err
    few = ("shelf", "launch-7", "--stock", "--engines", 1, "--seconds", 0.2)
    one = ("--to", "launch-7")
    assert "--to: job none is not in the book" in run(*few, "--to", "none").err
    assert "--to: 2 jobs for 1 of them" in run(*few, *one, *one).err
    twice = ("shelf", "launch-7", "--stock", "--engines", 2, "--seconds", 0.2, *one, *one)
    assert "--to: one job twice" in run(*twice).err
    none = commands.in_folder(tmp_path)("shelf", "launch.toml", "--stock", TRUETHROW_BOOK="sqlite:///none.db")
    assert "there is no book yet" in none.err


def test_a_part_in_a_file_and_in_the_stock_is_told(run):
    said = run("shelf", "launch.toml", "shelf-rods.csv", "--stock")
    assert said.status == 2
    assert "rod R01; rod R02; " in said.err
    assert " more: 2 parts of one label" in said.err
    assert "the stock" in said.err
