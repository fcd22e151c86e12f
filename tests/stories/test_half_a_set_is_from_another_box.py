"""Four pistons of another box in one engine.

By hand: who sees two heaps on the bench, 12 g apart, asks where they come from before grinding
12 g off half of them.
"""

from __future__ import annotations

import json

import commands
import invented

LIGHT = {1: 538.0, 3: 538.9, 5: 538.4, 7: 537.9}
HEAVY = {2: 550.6, 4: 550.2, 6: 550.8, 8: 550.3}


def job_of(tmp_path, **changes):
    path = tmp_path / "job.toml"
    data = invented.document(
        invented.cylinders(**changes), limits={"piston": 1.0}, trim={"piston": 20.0, "pin": 0.0}
    )
    path.write_text(invented.text(data), encoding="utf-8")
    return path


def test_it_is_told_in_one_line_and_nothing_is_ground_until_somebody_says_that_it_is_so(tmp_path):
    path = job_of(tmp_path, piston=LIGHT | HEAVY)
    said = commands.run("check", path)
    line = "pistons of two sets, 12.3 g apart: 2, 4, 6, 8 (550.2 to 550.8 g) and 1, 3, 5, 7 (537.9 to 538.9 g)"
    assert said.status == 1
    assert said.out.count("two sets") == 1
    assert line in " ".join(said.out.split())
    found = json.loads(commands.run("check", path, "--json").out)["slips"]
    assert [(s["check"], s["heaps"]) for s in found] == [("two heaps", [[2, 4, 6, 8], [1, 3, 5, 7]])]

    trim = commands.run("trim", path)
    assert trim.status == 1
    assert "take" not in trim.out.replace("mistake", "")
    told = " ".join(trim.out.split())
    assert "truethrow confirm " in told
    assert commands.run("ground", path).status == 2

    for number in HEAVY:
        done = commands.run(
            "confirm", path, "piston", number, "--why", "larger overbore, on purpose", "--by", "AB"
        )
        assert done.status == 0, done.err
    assert json.loads(commands.run("check", path, "--json").out)["slips"] == []
    told = " ".join(commands.run("trim", path).out.split())
    assert "weigh once more" in told or "12" in told  # a cut of more than 1 % of a part takes two weighings


def test_rods_of_two_sets_are_told_once_and_not_once_an_end(tmp_path):
    ends = {"big_end": dict.fromkeys((5, 6, 7, 8), 460.3), "small_end": dict.fromkeys((5, 6, 7, 8), 175.2)}
    path = job_of(tmp_path, **ends)
    found = json.loads(commands.run("check", path, "--json").out)["slips"]
    assert [(s["check"], s["kind"]) for s in found] == [("two heaps", "small_end")]
    assert "rods of two sets" in found[0]["sentence"]
    for number in (5, 6, 7, 8):
        assert (
            commands.run("confirm", path, "rod", number, "--why", "of the other maker", "--by", "AB").status == 0
        )
    assert json.loads(commands.run("check", path, "--json").out)["slips"] == []


def test_half_a_set_in_ounces_is_asked_about(tmp_path):
    """Of eight readings four in another unit: no one of them is far from the middle of all."""
    path = job_of(tmp_path, piston=dict.fromkeys((5, 6, 7, 8), 18.99))
    found = json.loads(commands.run("check", path, "--json").out)["slips"]
    assert [(s["check"], s["suspicion"]) for s in found] == [("two heaps", "ounces read as grams")]
