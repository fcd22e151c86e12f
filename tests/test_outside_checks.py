"""The table of what was checked against what is what the tests make, and can fail."""

import re
import subprocess
import sys
from pathlib import Path

import outside_checks
import pytest

ROOT = Path(__file__).parents[1]
GIVEN = ("tests/a.py::test_a", "A book", "p. 1", "two masses", "their sum", "8.1", 8.12, "kg")


def test_a_row_has_the_answer_as_printed_and_ours_two_digits_finer():
    made = outside_checks.row(*GIVEN, within=0.05, from_memory=True)
    assert made[4:9] == ("8.1", "8.120", "+0.020", "kg", "from memory")


def test_a_text_is_the_same_or_fails():
    *where, _, _, unit = GIVEN
    made = outside_checks.row(
        *where, "three triples of 10", "three triples of 10", unit, within=0, from_memory=False
    )
    assert (made.difference, made.memory) == ("none", "")
    with pytest.raises(AssertionError, match="two triples"):
        outside_checks.row(*where, "three triples of 10", "two triples of 10", unit, within=0, from_memory=False)


@pytest.mark.parametrize(
    ("within", "why"), [(0.01, "allowed within 0.01"), (2.0, "no tolerance"), (float("inf"), "no tolerance")]
)
def test_what_is_too_far_or_cannot_fail_is_refused(within, why):
    with pytest.raises(AssertionError, match=why):
        outside_checks.row(*GIVEN, within=within, from_memory=False)


def test_a_row_without_its_source_is_refused():
    with pytest.raises(AssertionError, match="its source"):
        outside_checks.row(GIVEN[0], " ", *GIVEN[2:], within=0.05, from_memory=False)


def test_each_row_is_of_a_test_that_still_makes_it():
    """What a test makes is held by its own fixture; this finds rows of tests that are gone or no longer ask."""
    rows = outside_checks.stored()
    assert len(rows) >= 40
    files = sorted({one.test.partition("::")[0] for one in rows})
    asked = [sys.executable, "-m", "pytest", "-n", "0", "--collect-only", *files]
    said = subprocess.run(asked, cwd=ROOT, capture_output=True, text=True, check=True, timeout=300).stdout
    assert {one.test for one in rows} <= set(said.splitlines()), outside_checks.STALE
    for one in rows:
        file, name = one.test.split("[")[0].split("::")
        made = re.search(rf"^def {name}\(([^)]*)\)", (ROOT / file).read_text(encoding="utf-8"), re.M)
        assert "checked" in made[1], f"{one.test} makes no row; {outside_checks.STALE}"


def test_the_file_is_in_its_own_order():
    text = outside_checks.STORED.read_text(encoding="utf-8")
    assert text.splitlines()[0].split(",") == list(outside_checks.Check._fields)
    assert outside_checks.stored() == sorted(set(outside_checks.stored()))
