"""Each reason that holds a plan or a signature back says what is the matter, and of which spin."""

from types import SimpleNamespace
from typing import get_args

import pytest

from truethrow.balance.station.reasons import Reason, Why

ONE, TWO, THREE = (SimpleNamespace(number=n) for n in (1, 2, 3))


PLANE = SimpleNamespace(
    plane="front",
    spin="9 ± 1 g·mm at 30.0",
    hanging="1",
    members=SimpleNamespace(gmm=0),
    whole="10",
    limit_gmm=8.0,
    has_parts=True,
    is_by_what_is_assumed=False,
)
SIGNED = SimpleNamespace(by="AB", id="0123456789ab-1")


def told(why):
    """A reason with all that any could tell."""
    return Reason(why, (ONE, TWO), ("sense",), 3, PLANE, "outside", SIGNED)


@pytest.mark.parametrize("why", get_args(Why))
def test_every_reason_is_a_sentence_of_its_own(why):
    said = [str(told(other)) for other in get_args(Why)]
    own = str(told(why))
    assert said.count(own) == 1
    assert own[0].islower() or own[0].isdigit()
    assert "None" not in own
    assert "{" not in own
    assert not own.endswith(".")


def test_spins_apart_are_named_the_last_one_first():
    assert str(Reason("apart", (ONE, TWO, THREE))).startswith("spin 3 reads otherwise than spin 1, 2, ")


def test_a_known_mass_that_disagrees_says_in_what():
    assert str(Reason("disagrees", kinds=("sense", "zero"))).endswith(": sense, zero")


def test_the_sum_is_of_the_engine_or_of_the_crank_as_it_was_given():
    assert "it is 10° in the engine, outside" in str(told("not inside in engine"))
    given = SimpleNamespace(**vars(PLANE) | {"has_parts": False})
    said = str(told("not inside in engine")._replace(plane=given))
    assert "it is 10° with the given bobweights, outside" in said
    assert "engine" not in said
