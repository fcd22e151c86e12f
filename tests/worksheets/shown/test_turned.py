"""A name from right to left stands whole among words from left to right, and nothing else is touched."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.worksheets.shown.turned import UNSEEN, apart

BEGIN, END = UNSEEN


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("2a front", "2a front"),
        ("ثقل 2a front", "[ثقل 2a] front"),
        ("1. ثقل 2a أمامي, station", "1. [ثقل 2a أمامي], station"),
        ("piston مكبس 3 يسار (sits in 3): 0.4 g", "piston [مكبس 3 يسار] (sits in 3): 0.4 g"),
        ("off ثقل 2.", "off [ثقل 2]."),
        ("מאזן 1b: 12 mm", "[מאזן 1b]: 12 mm"),
        ("مِكْبَس 1", "[مِكْبَس 1]"),
        # Where it was weighed and where it goes: an arrow that is turned round would say the opposite.
        ("مكبس 2 يسار 2>1", "[مكبس 2 يسار] 2>1"),
        ("pin مكبس 2 12>1, مكبس 5>1", "pin [مكبس 2] 12>1, [مكبس] 5>1"),
        ("釣合錘 2a front", "釣合錘 2a front"),
        ("Поршень-3 левый", "Поршень-3 левый"),
    ],
)
def test_a_name_is_set_apart_with_its_figures(text, said):
    assert apart(text).replace(BEGIN, "[").replace(END, "]") == said


@given(st.text())
def test_nothing_is_added_or_lost_but_what_is_not_seen(text):
    bare = "".join(letter for letter in text if letter not in UNSEEN)
    made = apart(bare)
    assert "".join(letter for letter in made if letter not in UNSEEN) == bare
    assert made.count(BEGIN) == made.count(END)
    if not any(unicodedata.bidirectional(letter) in ("R", "AL") for letter in bare):
        assert made == bare
