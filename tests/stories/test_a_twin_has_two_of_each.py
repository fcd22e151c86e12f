"""A decimal mark one place off in an engine of two cylinders, where statistics can tell nothing.

By hand: nobody hangs 1506 g where one piston weighs ten times the other.
"""

from __future__ import annotations

import json

import commands
import pytest

SHEET = """\
Hole;Piston;Pin;Locks;Rings;Pin End;Crank End;Bearings
1;412,3;101,2;2,1;28,4;160,2;{first};41,0
2;{second};101,1;2,1;28,4;160,3;453,1;41,0
"""


def entered(folder, first="452,3", second="412,6"):
    """A V-twin's job with its sheet in it."""
    ran = commands.in_folder(folder)
    assert ran("new", "vtwin-45", "twin.toml", "--step", "0.1").status == 0
    (folder / "sheet.csv").write_text(SHEET.format(first=first, second=second), encoding="utf-8")
    assert ran("enter", "twin.toml", "sheet.csv").status == 0
    return ran


def told(ran, *words):
    return " ".join(ran(*words, "twin.toml").out.split())


def slips(ran):
    return [s["check"] for s in json.loads(ran("check", "twin.toml", "--json").out)["slips"]]


@pytest.mark.parametrize("second", ["41,23", "14,54", "4123"])
def test_no_bobweight_is_hung_by_it(tmp_path, second):
    ran = entered(tmp_path, second=second)
    assert ran("check", "twin.toml").status == 1
    assert "piston 1 and piston 2: 412.3 and" in told(ran, "check")
    assert "too far apart for one engine" in told(ran, "check")
    assert "Do not hang it yet: this figure rests on what looks like a slip (piston 1, piston 2)" in told(
        ran, "hang"
    )
    assert "truethrow weigh twin.toml, then type go piston 1, go piston 2" in told(ran, "trim")


def test_weighing_again_as_it_is_told_settles_it(tmp_path):
    ran = entered(tmp_path, second="41,23")
    ran("weigh", "twin.toml", stdin="go piston 1\n412.3\ngo piston 2\n412.7\n")
    assert slips(ran) == []
    # By hand: 452.3 + 453.1 + 2·41 and half of 412.3 + 412.7 + 101.2 + 101.1 + 4.2 + 56.8 + 160.2 + 160.3.
    assert "Hang 1691.8 g on every throw" in told(ran, "hang")


def test_a_fork_and_a_blade_rod_are_confirmed_with_a_word(tmp_path):
    """Whose big ends may well be a third apart."""
    ran = entered(tmp_path, first="652,3")
    assert "rod 1, big end and rod 2, big end: 652.3 and 453.1 g are too far apart" in told(ran, "check")
    assert "truethrow confirm twin.toml big end 1" in told(ran, "trim")
    assert ran("confirm", "twin.toml", "big", "end", "1", "--why", "the fork rod", "--by", "AB").status == 0
    assert slips(ran) == []


def test_ends_that_are_swapped_are_told_as_that_alone(tmp_path):
    ran = entered(tmp_path, first="100,3")
    assert slips(ran) == ["swapped ends"]
