"""Parts that trade places, in the order in which hands move them."""

from hypothesis import given
from told_apart import moves

from truethrow.balance.base.naming import Names
from truethrow.balance.base.parts import UNITS
from truethrow.balance.base.trades import after
from truethrow.cli.show import Screen
from truethrow.cli.trading import MARKING, parts_of, tell

NAMES = Names(tuple(range(1, 9)), {3: {"piston": "P9"}}, {})


@given(moves())
def test_whoever_puts_a_part_down_picks_up_the_one_that_lay_there(made):
    """Within one kind of part each step begins where the one before ended, until a ring is closed."""
    found = parts_of(NAMES, made)
    assert {(part.unit, part.cylinder, part.goes_in) for part in found} == {
        (unit, start, to) for unit, own in made.items() for start, to in own.items()
    }
    assert [part.unit for part in found] == [unit for unit in UNITS for _ in made.get(unit, {})]
    first = None
    for one in found:
        if first is None:
            first, hand = (one.unit, one.cylinder), one.cylinder
        assert (one.unit, one.cylinder) == (first[0], hand)
        hand = one.goes_in
        if (one.unit, hand) == first:
            first = None
    assert first is None


def test_parts_that_sit_elsewhere_already_keep_the_number_under_which_they_were_weighed():
    made = {"pin": {1: 2, 2: 1}}
    there = NAMES._replace(traded=after({}, made))
    before, again = parts_of(NAMES, made), parts_of(there, made, are_made=True)
    assert [(part.weighed_in, part.goes_in) for part in before] == [(1, 2), (2, 1)]
    assert [(part.weighed_in, part.goes_in) for part in again] == [(1, 2), (2, 1)]
    back = parts_of(there, made)
    assert [(part.cylinder, part.weighed_in) for part in back] == [(1, 2), (2, 1)]


def test_the_table_says_which_to_take_what_to_mark_and_where_it_goes(capsys):
    tell(Screen(), "Move these", parts_of(NAMES, {"piston": {3: 5, 5: 3}}))
    lines = [" ".join(line.split()) for line in capsys.readouterr().out.splitlines()]
    assert lines == [
        "",
        "Move these",
        "take mark it it goes in",
        "piston P9 (weighed in 3) 3>5 5",
        "piston weighed in 5 5>3 3",
    ]
    assert "5>1" in MARKING  # how to read a mark


def test_where_a_part_sits_elsewhere_it_is_said_too(capsys):
    there = NAMES._replace(traded={"pin": {1: 2, 2: 1}})
    tell(Screen(), "Move these", parts_of(there, {"pin": {1: 4, 4: 1}}))
    lines = [" ".join(line.split()) for line in capsys.readouterr().out.splitlines()]
    assert lines[2:4] == ["take it sits in mark it it goes in", "pin weighed in 2 1 2>4 4"]
