"""Damper and flexplate on or off the crank: what is added to a spin, and whether they sit where they should."""

import pytest
from balancing_shop import polar
from engine_shop import DAMPER, FLEXPLATE, Engine, in_planes, member, true_crank

from truethrow.balance.correction import TwoPlanes
from truethrow.balance.station import balancing
from truethrow.balance.station.members import Brought

HEAVY = [member(DAMPER, 1400, 135), member(FLEXPLATE, 2200, 300)]


@pytest.fixture
def engine(tmp_path):
    return Engine(tmp_path, HEAVY, true_crank(*HEAVY))


def state(engine):
    return balancing.load(engine.job, engine.profile)


def test_what_was_off_is_added_as_vectors_by_hand(engine):
    engine.spin_with("damper")
    now = state(engine)
    by_hand = in_planes(polar(2200, 300), 410.0)
    assert now.members.off(now.last) == ("flexplate",)
    assert now.members.missing(now.last).gmm == pytest.approx(TwoPlanes(*by_hand), abs=1e-4)
    assert now.members.missing(now.last).expanded_gmm == pytest.approx((30 * 74 / 336, 30 * 410 / 336))
    assert max(map(abs, now.with_members(now.last).gmm)) < 0.01


def test_a_spin_has_to_say_which_were_on_where_one_has_an_offset(engine):
    said = engine.refuses("spin", "1@0", "1@0")
    assert "say which were on the crank" in said
    assert "--on none" in said
    assert "balancer is not in the [crank]" in engine.refuses("spin", "1@0", "1@0", "--on", "balancer")


def test_without_offsets_all_are_on_and_nothing_is_asked(tmp_path):
    engine = Engine(tmp_path, [DAMPER], [10 + 0j, 5j])
    engine.spin()
    assert state(engine).last.record.members == ("damper",)


def test_one_that_is_off_and_unknown_holds_everything_back(tmp_path):
    engine = Engine(tmp_path, [DAMPER, HEAVY[1]], [10 + 0j, 5j])
    engine.spin_with("flexplate")
    assert state(engine).members.unknown(state(engine).last) == ("damper",)
    assert "nobody knows what it brings" in engine.must_not_be_signed_or_drilled()


def test_the_spins_tell_what_one_brings_that_the_job_says_nothing_of(tmp_path):
    engine = Engine(tmp_path, [DAMPER, HEAVY[1]], [10 + 0j, 5j])
    engine.carried["damper"] = (-80.0, polar(900, 70))
    engine.spin_with("flexplate")
    engine.spin_with("damper", "flexplate")
    now = state(engine)
    found = now.members.brings("damper", now.last)
    assert found.source == "spins"
    assert list(found.gmm) == pytest.approx(in_planes(polar(900, 70), -80.0), abs=5)
    engine.spin_with("flexplate")
    now = state(engine)
    assert not now.members.unknown(now.last)
    assert list(now.with_members(now.last).gmm) == pytest.approx(list(now.spins[1].residual), abs=5)


def test_holes_in_a_member_change_what_it_brings(engine):
    engine.spin_with()
    engine.run("holes", "--did", "damper, 100 deg, 10 mm drill, 10 mm deep")
    engine.spin_with()
    now = state(engine)
    was, changed = now.members.declared("damper", 1).gmm, now.members.declared("damper").gmm
    hole = now.drilled[0].hole
    taken = in_planes(polar(hole.removes_gmm, 100), hole.z_mm)
    assert [a - b for a, b in zip(was, changed, strict=True)] == pytest.approx(taken, abs=1e-6)


def test_amounts_add_and_their_doubts_in_quadrature():
    one = Brought(TwoPlanes(1, 2j), (3.0, 0.0), "maker").plus(Brought(TwoPlanes(1, 1), (4.0, 2.0)))
    assert one == Brought(TwoPlanes(2, 1 + 2j), (5.0, 2.0), "maker")


def test_a_damper_is_indexed_by_one_spin_without_it_and_one_with_it(engine):
    engine.spin_with("damper", "flexplate")
    assert state(engine).members.unindexed == ("damper", "flexplate")
    engine.spin_with("damper")
    assert state(engine).members.unindexed == ("damper",)
    engine.spin_with()
    assert state(engine).members.unindexed == ()
    engine.spin_with("damper", "flexplate")
    assert state(engine).members.unindexed == ()
