"""A member's own unbalance by two runs on an arbor."""

import cmath
import math

import cranks
import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.crank.offset import from_arbor, polar

VECTORS = st.builds(polar, st.floats(0, 5000), st.floats(0, 360))


@given(VECTORS, VECTORS)
def test_two_runs_tell_member_and_arbor_whatever_the_angles_are_counted_from(member, arbor):
    """By statics: turned half a turn, the member's part changes its sign as the arbor sees it, and the arbor's
    part as the member does."""
    assert from_arbor(arbor + member, arbor - member, "arbor") == pytest.approx((member, arbor), abs=1e-9)
    assert from_arbor(arbor + member, member - arbor, "member") == pytest.approx((member, arbor), abs=1e-9)


def test_counted_from_the_wrong_one_member_and_arbor_are_exchanged():
    assert from_arbor(5 + 0j, 3 + 0j, "arbor") == (1, 4)
    assert from_arbor(5 + 0j, 3 + 0j, "member") == (4, 1)
    with pytest.raises(ValueError, match="keyway"):
        from_arbor(1j, 1j, "keyway")


DAMPER = {"name": "damper", "at": -80.0, "radius": 70.0, "thickness": 22.0}
MAKERS = {"unbalance": "2 oz in", "angle": 90, "uncertainty": "30 g mm"}


def damper(**more):
    return cranks.crank(external=[DAMPER | more]).member("damper")


def test_a_makers_offset_is_tied_to_throw_1_by_the_keyway():
    """2 oz·in = 1440.155774750 g·mm (exact units), 90 degrees on from a keyway at 45."""
    own = damper(keyway=45, offset=MAKERS).offset
    assert abs(own.gmm) == pytest.approx(1440.15577475)
    assert math.degrees(cmath.phase(own.gmm)) == pytest.approx(135)
    assert (own.expanded_gmm, own.source) == (30.0, "maker")


def test_an_offset_by_an_arbor():
    """Counted from the arbor: the member has 1000 at 30 degrees from its keyway, the arbor 200 at 0."""
    runs = [polar(1000, 30) + 200, 200 - polar(1000, 30)]
    told = [{"unbalance": abs(one), "angle": math.degrees(cmath.phase(one))} for one in runs]
    arbor = {"counted": "arbor", "straight": told[0], "turned": told[1], "uncertainty": 20.0}
    own = damper(keyway=45, arbor=arbor).offset
    assert own.gmm == pytest.approx(polar(1000, 75))
    assert own.expanded_gmm == pytest.approx(20 / math.sqrt(2))


def faults(**more):
    return cranks.faults_of(cranks.v8_weights(), external=[DAMPER | more])


def test_what_no_offset_is():
    (fault,) = faults(offset=MAKERS)
    assert fault.startswith("external damper, keyway: missing")
    arbor = {"counted": "arbor", "straight": {"unbalance": 1}, "turned": {"unbalance": 1}, "uncertainty": 1}
    assert "says the same twice" in faults(keyway=0, offset=MAKERS, arbor=arbor)[0].replace("which say", "says")
    assert "arbor, counted" in faults(keyway=0, arbor=arbor | {"counted": "crank"})[0]
    assert "another member's name" in faults(replaces="damper")[0]


def test_one_that_is_to_replace_another_is_not_on_the_crank():
    crank = cranks.crank(external=[DAMPER, DAMPER | {"name": "new damper", "replaces": "damper"}])
    assert [one.name for one in crank.externals] == ["damper"]
    assert [(one.name, one.replaces) for one in crank.waiting] == [("new damper", "damper")]


def test_a_member_that_its_maker_does_not_let_drill_has_no_arc():
    assert damper(drill=False).arcs == ()
    assert "damper" not in [one.name for one in cranks.crank(external=[DAMPER]).only([]).members]
