"""A job at many shares at once, against each worked alone."""

import dataclasses

import invented
import numpy as np
import pytest

from truethrow.balance.result.work import work
from truethrow.balance.running import running, sweeping

SHARES = (0.0, 0.37, 0.5, 0.613, 1.0)


@pytest.mark.parametrize("hang", ["mean", "own"])
def test_each_is_what_the_share_alone_gives(hang):
    parts = invented.cylinders(piston={3: 541.7, 6: 537.2}, big_end={2: 455.0})
    result = invented.worked(parts, bobweight={"share": 0.5, "oil": 4.0, "hang": hang})
    found = sweeping.sweep(result, SHARES, 4200)
    for at, share in enumerate(SHARES):
        alone = work(dataclasses.replace(result.job, share=share))
        assert list(found.hung_g[at]) == [throw.hung_g for throw in alone.bobweights.throws]
        shaken = running.shake(alone, 4200)
        assert found.force_n[at] == pytest.approx(shaken.force.amount, rel=1e-5)
        assert found.couple_nm[at] == pytest.approx(shaken.couple.amount, rel=1e-5)


def test_fewer_steps_find_the_same_peaks():
    result = invented.worked(invented.cylinders(piston={3: 541.7}))
    few, many = (sweeping.sweep(result, SHARES, 4200, steps) for steps in (360, 3600))
    assert np.allclose(few.force_n, many.force_n, rtol=1e-3)
    assert np.allclose(few.couple_nm, many.couple_nm, rtol=1e-3)


def test_rods_side_by_side_are_counted_where_they_are():
    engine = invented.V8 | {"rods_apart": 24.0, "rod_in_front": "left"}
    result = invented.worked(engine=engine)
    found = sweeping.sweep(result, [0.5], 4200)
    assert found.couple_nm[0] == pytest.approx(running.shake(result, 4200).couple.amount, rel=1e-5)


def test_a_thousand_shares_are_one_turn(monkeypatch):
    """Not a thousand jobs: a turn is worked out once, whatever the shares."""
    turns, curve = [], sweeping.shaking.curve
    monkeypatch.setattr(sweeping.shaking, "curve", lambda *asked: turns.append(asked) or curve(*asked))
    found = sweeping.sweep(invented.worked(), np.linspace(0, 1, 1000), 4200, 360)
    assert (len(turns), len(found.force_n)) == (1, 1000)
