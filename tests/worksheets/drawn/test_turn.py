"""What shakes, over one turn of the crank."""

from __future__ import annotations

import pytest
from drawings import checked, job_of, numbers

from truethrow.balance.result.work import work
from truethrow.balance.running import running
from truethrow.worksheets.drawn import turn
from truethrow.worksheets.drawn.field import FIELD


def curve(root, name):
    """The points of a curve, None where it is not drawn."""
    found = [one for one in root.iter() if one.get("data-part") == name]
    if not found:
        return None
    flat = numbers(found[0].get("points"))
    return list(zip(flat[::2], flat[1::2], strict=True))


@pytest.mark.parametrize("name", ["inline-1", "inline-3", "inline-4", "v8-90-crossplane", "vtwin-45", "v12-60"])
def test_a_curve_ends_where_it_began_and_is_as_high_as_the_largest(name):
    found = running.shake(work(job_of(name)), 4200.0)
    for what, vectors, most in (
        ("force", found.curve.force_n, found.force.amount),
        ("couple", found.curve.couple_nm, found.couple.amount),
    ):
        if most < 1e-6:
            continue
        root = checked(turn.over_a_turn(what, "N", vectors, most))
        drawn = {part: curve(root, f"{what}-{part}") for part in ("vertical", "horizontal")}
        (low_x, first), (high_x, last) = drawn["vertical"][0], drawn["vertical"][-1]
        assert first == pytest.approx(last)
        assert high_x - low_x == pytest.approx(FIELD.right - FIELD.left, abs=0.01)
        every, half = len(vectors) // 180, (FIELD.bottom - FIELD.top) / 2
        for part, of in drawn.items():
            values = [getattr(complex(one), "real" if part == "vertical" else "imag") for one in vectors[::every]]
            for (_, y), value in zip(of, values, strict=False):
                # The middle of the field, and as far above it as the largest is below its top.
                assert y == pytest.approx(FIELD.top + half - value * half / (1.08 * most), abs=0.01)


def test_nothing_that_shakes_is_no_curve():
    root = checked(turn.over_a_turn("force", "N", [], 0.0))
    assert curve(root, "force-vertical") is None
