"""What a part is called, and which part is meant: what is said of it can be typed back, and nothing is guessed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.base.errors import BadInput
from truethrow.balance.base.naming import Names, Part, mark

LABELS = st.one_of(
    st.sampled_from(
        ["P5", "5", "3", "#3", "No. 2", "05", "weighed in 2", "goes in 1", "marked 4", "A (old)", "Rod 3"]
    ),
    st.text(st.characters(codec="ascii", categories=["L", "N", "P", "Zs"]), max_size=6).map(str.strip),
)


@st.composite
def names(draw):
    """The pistons of six cylinders, marked or not, moved or not; marks may come twice."""
    order = draw(st.permutations(range(1, 7)))
    traded = {to: first for to, first in enumerate(order, start=1) if to != first}
    labels = {number: {"piston": draw(LABELS)} for number in draw(st.sets(st.integers(1, 6)))}
    return Names(tuple(range(1, 7)), labels, {"piston": traded} if traded else {})


@given(names())
def test_what_is_to_be_typed_means_that_part_and_no_other(made):
    for cylinder in made.cylinders:
        part = made.part("piston", cylinder)
        faults = []
        kind, _, name = made.typed("piston", cylinder).partition(" ")
        assert (made.meant(kind, name, faults), faults) == (part, [])


@given(names())
def test_what_is_said_never_means_another_part(made):
    for cylinder in made.cylinders:
        part, faults = made.part("piston", cylinder), []
        found = made.meant("piston", part.said.removeprefix("piston "), faults)
        assert found == part or (found is None and len(faults) == 1)


@given(names(), st.integers(1, 6))
def test_a_bare_number_is_taken_only_where_it_can_mean_one_part(made, number):
    parts = [made.part("piston", cylinder) for cylinder in made.cylinders]
    can = [part for part in parts if number in (part.cylinder, part.weighed_in)]
    found = made.meant("piston", str(number), [])
    assert found is None or can == [found]


@pytest.mark.parametrize(
    ("part", "said", "short"),
    [
        (Part("piston", 3, 3), "piston 3", "3"),
        (Part("piston", 1, 5), "piston weighed in 5 (goes in 1)", "5>1"),
        (Part("piston", 5, 5, "P5"), "piston P5 (sits in 5)", "P5 in 5"),
        (Part("piston", 1, 5, "P5"), "piston P5 (weighed in 5, goes in 1)", "P5 5>1"),
        (Part("piston", 1, 5, "7"), "piston marked 7 (weighed in 5, goes in 1)", "marked 7 5>1"),
        (Part("piston", 1, 5, goes_in=3), "piston weighed in 5 (sits in 1, goes in 3)", "5>3"),
        (Part("piston", 3, 3, is_bare=False), "piston weighed in 3 (sits in 3)", "3"),
        (Part("big_end", 1, 5, "R5"), "rod R5 (weighed in 5, goes in 1), big end", "R5 5>1"),
    ],
)
def test_a_part_is_called_by_its_mark_then_where_it_was_weighed_then_where_it_goes(part, said, short):
    assert (part.said, part.short) == (said, short)


@pytest.mark.parametrize(
    ("label", "said"), [("5", "marked 5"), ("no. 5", "marked no. 5"), ("P5", "P5"), ("5A", "5A")]
)
def test_a_mark_that_a_cylinder_could_be_taken_for_is_said_as_a_mark(label, said):
    assert mark(label) == said


def test_several_parts_in_one_line():
    made = Names((1, 2, 3), {2: {"rod": "Rod 3"}, 3: {"piston": "box 2"}}, {})
    found = made.each(["rod Rod 3 piston", "box 2", "rod", "1"])
    assert [(part.unit, part.cylinder) for part in found] == [("rod", 2), ("piston", 3), ("rod", 1)]
    for words in (["3"], ["rod"], ["rod 1 piston"], ["bolt 3"]):
        with pytest.raises(BadInput, match="PART: "):
            made.each(words)
