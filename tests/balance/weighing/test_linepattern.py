"""Patterns for the lines of a scale: what they say, and that nobody can write one that takes for ever."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.weighing import linepattern
from truethrow.balance.weighing.linepattern import LONGEST_PATTERN, LinePattern, Matched, compiled


def match(pattern, line):
    made = compiled(pattern)
    assert isinstance(made, LinePattern), made
    return made.match(line)


@pytest.mark.parametrize(
    ("pattern", "line", "said"),
    [
        ("{number}", "12.5", Matched("12.5", "", None)),
        ("{number} {unit}", "12.5g", Matched("12.5", "g", None)),
        ("{number} {unit}", "12.5   kg", Matched("12.5", "kg", None)),
        ("{number} {unit}", "12.5", Matched("12.5", "", None)),
        ("{any}{number}{any}", "A1 23.4 g", Matched("23.4", "", None)),
        ("A{number}", "A12.5", Matched("12.5", "", None)),
        ("{any} {number} {unit}", "A1 23.4 g", Matched("23.4", "g", None)),
        ("Weight: {number} {unit}", "WEIGHT:-  1 234,5 g", Matched("-  1 234,5", "g", None)),
        ("{stable} {number}", "ST 12.5", Matched("12.5", "", True)),
        ("{stable} {number}", "us 12.5", Matched("12.5", "", False)),
        ("{stable} {number}", "12.5", Matched("12.5", "", None)),
        ("{number}{unit}{stable=*}", "12.5g*", Matched("12.5", "g", True)),
        ("{number}{unit}{stable=*}", "12.5g", Matched("12.5", "g", False)),
        ("{number} {moving=d}{stable=*}", "12.5 d*", Matched("12.5", "", False)),
        ("{number} {unit}{any}", "12.5 g;checksum 77", Matched("12.5", "g", None)),
    ],
)
def test_a_line_is_read_as_its_pattern_says(pattern, line, said):
    assert match(pattern, line) == said


@pytest.mark.parametrize(
    ("pattern", "line"),
    [
        ("#{number}#", "#12.5"),
        ("{number}", "12.5 g"),
        ("{any}{number}", "12.5g"),
        ("N {number}", "12.5"),
        # Half a number is another number.
        ("{any} {number}", "-"),
        ("{any}x{number}", "x.12.5"),
        ("{any}{number}", "A12.5"),
        ("{any}{number}", "5-  12.5"),
        ("{number}.{any}", "12.5"),
        ("{number}5{any}", "12.5"),
    ],
)
def test_another_line_is_none(pattern, line):
    assert match(pattern, line) is None


@given(st.integers(0, 10**6), st.sampled_from(["", "A7 ", "x: "]), st.sampled_from(["", " end", ";77"]))
def test_a_number_is_never_cut(tenths, before, after):
    """Where anything may stand around it, what is read is the number, whole, and no part of a name."""
    line = f"{before}{tenths / 10}{after}"
    found = match("{any}{number}{any}", line)
    assert found.number == str(tenths / 10)


HOSTILE = [
    "{any}" * 35,
    "{any}a" * 30,
    "{any} " * 30,
    "{any}{stable}" * 13,
    "{any}{stable=a}" * 12,
    " {stable=a}{moving=a}" * 9,
]


@pytest.mark.parametrize("pattern", HOSTILE)
@pytest.mark.parametrize("line", ["a" * 200, " " * 200, "1" * 200, "a1" * 100, "1 " * 100, "a " * 99 + "!"])
def test_no_pattern_and_no_line_take_more_looks_than_letters_times_pieces(pattern, line, monkeypatch):
    """A backtracking engine would take (200 over 40) ways, more than there are atoms. Counted, not timed."""
    made = compiled("{number}" + pattern + "!")
    assert isinstance(made, LinePattern)
    looks = itertools.count()
    ways = linepattern._ways
    monkeypatch.setattr(linepattern, "_ways", lambda *said: (next(looks), ways(*said))[1])
    for one in (line, f"1{line}", f"1{line}!"):
        made.match(one)
    assert next(looks) <= 3 * 2 * (len(line) + 3) * (len(made.pieces) + 1)


@pytest.mark.parametrize(
    ("pattern", "said"),
    [
        ("", "needs one {number}"),
        ("{unit}", "needs one {number}"),
        ("{number}{number}", "needs one {number}"),
        ("{number}{unit}{unit}", "at most one {unit}"),
        ("{number", "a brace that is no name"),
        ("{}{number}", "a brace that is no name"),
        ("{mass}", "has {mass}; allowed: {number}, {unit}, {stable}, {moving}, {any}"),
        ("{number=3}", "has a mark for {number}"),
        ("{number}{moving}", "without its mark"),
        ("N-{number}", "has '-' before {number}, which would be the number's own"),
        ("x" * (LONGEST_PATTERN + 1), "longer than"),
        (r"(?P<number>\d+)", "needs one {number}"),
    ],
)
def test_what_is_no_pattern_is_told_in_one_sentence(pattern, said):
    wrong = compiled(pattern)
    assert isinstance(wrong, str)
    assert said in wrong


@given(
    st.text(alphabet="{}=numberitsalyoving* ?#-", max_size=60),
    st.text(alphabet="0123456789.,+- gkST*?#", max_size=60),
)
def test_no_text_upsets_it(pattern, line):
    made = compiled(pattern)
    if isinstance(made, str):
        assert made.isprintable()
    elif (found := made.match(line)) is not None:
        assert linepattern.NUMBER.fullmatch(found.number)
