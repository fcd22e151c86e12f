"""Texts are as wide as they are told to be, and names stay apart."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.worksheets.drawn import lettering


def test_names_that_differ_at_one_end_stay_apart():
    for names in (("<b>A&B</b> front", "<b>A&B</b> rear"), ("front <b>A&B</b> 1", "rear <b>A&B</b> 1")):
        for room in (20.0, 25.0, 30.0):
            assert len({lettering.fitting(name, lettering.SMALL, room) for name in names}) == 2
    long = [f"{'counterweight ' * 5}{end}" for end in ("front", "rear")]
    assert lettering.plain(long[0]) != lettering.plain(long[1])
    assert not re.search("…\u0301", lettering.fitting("a" * 20 + "z\u0301" * 10, 4.0, 30.0))


def test_marks_do_not_grow_out_of_their_line():
    assert lettering.plain("z" + "\u0301" * 50 + "z") == "z\u0301\u0301z"


@given(st.text(max_size=100), st.floats(8, 60))
def test_a_fitted_text_is_no_wider_than_its_room(text, room):
    assert lettering.wide_mm(lettering.fitting(text, 4.0, room), 4.0) <= room


def test_widths_are_not_less_than_those_of_the_font():
    # Of B612, regular and bold alike, in thousandths of the size, as its tables say.
    for advance, characters in {
        250: ",;·",
        300: ".:Ii°",
        350: "! l",
        400: "frt",
        450: "-J",
        550: "−eF",
        600: "±CZoTPSabdeghknpqu",
        650: "0123456789B",
        750: "w…",
        800: "×ØNO",
        900: "MmQ",
        1050: "@W",
    }.items():
        for character in characters:
            assert lettering.wide_mm(character, 1000.0) >= advance - 100 * (advance == 1050), character


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (["1 front", "1 rear"], ["1 front", "1 rear"]),
        (["counterweight 1 front", "counterweight 2 rear"], ["…1 front", "…2 rear"]),
        (["counterweight-1-front", "counterweight-1-rear"], ["…front", "…rear"]),
        (["front counterweight", "rear counterweight"], ["front …", "rear …"]),
        (["GEGENGEWICHT1VORN", "GEGENGEWICHT2VORN"], ["…1…", "…2…"]),
    ],
)
def test_names_of_one_drawing_keep_what_tells_them_apart(names, said):
    assert lettering.told_apart(names, lettering.SMALL, [27.0] * len(names)) == said


@given(st.lists(st.text(max_size=60), max_size=9), st.floats(8, 40))
def test_a_name_that_is_told_apart_keeps_to_its_room(names, room_mm):
    made = lettering.told_apart(names, lettering.SMALL, [room_mm] * len(names))
    assert len(made) == len(names)
    assert all(lettering.wide_mm(one, lettering.SMALL) <= room_mm for one in made)
