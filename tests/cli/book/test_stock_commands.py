"""Loose parts in the book, by its commands."""

from __future__ import annotations

import json


def test_the_stock_is_filled_searched_and_moved(run, launch):
    assert run("book", "stock", "add", "shelf-rods.csv") == "40 parts new, 0 with other weights, 0 as known\n"
    assert run("book", "stock", "find", "--kind", "rod", "--big-end", "450..450,2").endswith("3 found.\n")
    told = run("book", "part", "R11").splitlines()
    assert told[0] == "rod R11"
    assert told[-1].startswith("- job launch-7 has it in cylinder ")
    own = int(told[-1].split()[-1])
    move = ("book", "stock", "move", "rod")
    refused = run(*move, "R03", "--job", "launch-7", "--cylinder", own, status=2)
    assert f"job launch-7, cylinder {own}: the job has rod R11 there" in refused
    assert run(*move, "R11", "--job", "launch-7", "--cylinder", own) == f"rod R11: launch-7, cylinder {own}.\n"
    refused = run(*move, "R11", status=2)
    assert f"job launch-7, cylinder {own}: the job has rod R11 there; first its mark out of the job" in refused
    assert [
        part["label"]
        for part in json.loads(run("book", "stock", "find", "--big-end", "450..450.2", "--json"))["parts"]
    ] == ["R25", "R03", "R17"]
