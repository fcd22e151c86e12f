"""What shakes, over one turn of the crank."""

from __future__ import annotations

import pytest
from drawings import checked, job_of, numbers

from truethrow.balance.result.work import work
from truethrow.balance.running import running
from truethrow.worksheets.drawn import turn


def curve(root, name):
    """The points of a curve, None where it is not drawn."""
    found = [one for one in root.iter() if one.get("data-part") == name]
    if not found:
        return None
    flat = numbers(found[0].get("points"))
    return list(zip(flat[::2], flat[1::2], strict=True))


@pytest.mark.parametrize("name", ["inline-1", "inline-3", "inline-4", "v8-90-crossplane", "vtwin-45", "v12-60"])
def test_both_curves_have_one_scale_and_end_where_they_began(name):
    found = running.shake(work(job_of(name)), 4200.0)
    root = checked(turn.over_a_turn(found))
    for what, vectors, most in (
        ("force", found.curve.force_n, found.force.amount),
        ("couple", found.curve.couple_nm, found.couple.amount),
    ):
        drawn = {part: curve(root, f"{what}-{part}") for part in ("vertical", "horizontal")}
        if most <= turn.NOTHING:
            assert set(drawn.values()) == {None}
            continue
        (low_x, first), (high_x, last) = drawn["vertical"][0], drawn["vertical"][-1]
        assert first == pytest.approx(last)
        assert high_x - low_x == pytest.approx(62.0, abs=0.01)
        every = len(vectors) // 180
        for part, of in drawn.items():
            values = [getattr(complex(one), "real" if part == "vertical" else "imag") for one in vectors[::every]]
            for (_, y), value in zip(of, values, strict=False):
                # The middle of the field, and as far above it as the largest is below its top.
                assert y == pytest.approx(19.75 - value * 12.25 / (1.08 * most), abs=0.01)


def test_nothing_that_shakes_is_no_curve():
    found = running.shake(work(job_of("inline-6")), 4200.0)
    still = found._replace(force=found.force._replace(amount=0.0), couple=found.couple._replace(amount=0.0))
    root = checked(turn.over_a_turn(still))
    assert curve(root, "force-vertical") is None
    assert curve(root, "couple-vertical") is None
