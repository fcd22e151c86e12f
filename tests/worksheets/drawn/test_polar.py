"""The polar curve of what shakes."""

from __future__ import annotations

import math

import pytest
from drawings import centre_of, checked, job_of, numbers

from truethrow.balance.result.work import work
from truethrow.balance.running import running
from truethrow.worksheets.drawn import polar


def parts(root, name, tag=None):
    """The elements of a drawing that stand for something."""
    return [one for one in root.iter() if one.get("data-part") == name and tag in (None, one.tag)]


def points(element):
    flat = numbers(element.get("points"))
    return list(zip(flat[::2], flat[1::2], strict=True))


@pytest.mark.parametrize(
    "name", ["inline-1", "inline-3", "inline-4", "v8-90-crossplane", "vtwin-45", "v12-60", "radial-5"]
)
def test_a_polar_curve_is_what_shakes(name):
    found = running.shake(work(job_of(name)), 4200.0)
    root = checked(polar.shaking(found))
    for curve, vectors, most in (
        ("force", found.curve.force_n, found.force.amount),
        ("couple", found.curve.couple_nm, found.couple.amount),
    ):
        if most <= polar.NOTHING:
            assert not parts(root, curve)
            continue
        (drawn,) = parts(root, curve)
        (peak,) = parts(root, f"{curve}-peak")
        where = points(drawn)
        middle_x = 41.25 if curve == "force" else 123.75
        x, y = centre_of(peak)
        scale = math.hypot(x - middle_x, y - 47.5) / most
        for at_, (px, py) in zip(range(0, len(vectors), 10), where, strict=False):
            del at_
            assert math.hypot(px - middle_x, py - 47.5) <= most * scale + 0.01
        first = complex(vectors[0])
        assert where[0] == pytest.approx((middle_x + first.imag * scale, 47.5 - first.real * scale), abs=0.02)
        assert len(where) >= 360


def test_nothing_that_shakes_is_no_curve():
    found = running.shake(work(job_of("inline-6")), 4200.0)
    still = found._replace(force=found.force._replace(amount=0.0), couple=found.couple._replace(amount=0.0))
    root = checked(polar.shaking(still))
    assert not parts(root, "force") and not parts(root, "couple")
