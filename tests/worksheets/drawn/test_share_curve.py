"""What shakes against the share."""

from __future__ import annotations

import pytest
from drawings import SVG, centre_of, checked, job_of, numbers, parts

from truethrow.balance.result.work import work
from truethrow.balance.running import running
from truethrow.worksheets.drawn.field import FIELD
from truethrow.worksheets.drawn.share_curve import share_curve


@pytest.mark.parametrize("name", ["inline-1", "v8-90-crossplane", "vtwin-45", "v6-60-even", "v12-60"])
def test_the_best_is_marked_where_the_curve_is_lowest(name):
    found = running.job_shares(work(job_of(name)), 4200.0)
    best = next(one for one in found.optima if one.aim == found.aim)
    curve = list(zip(found.shares, found.peaks[found.aim], strict=True))
    drawn = share_curve(
        "largest couple", "lbf·ft", curve, (best.share, best.least, "0.450 to 0.550"), (0.5, "0.500")
    )
    root = checked(drawn)
    (line,) = parts(root, "curve")
    flat = numbers(line.get("points"))
    points = list(zip(flat[::2], flat[1::2], strict=True))
    assert (points[0][0], points[-1][0]) == (FIELD.left, FIELD.right)
    (dot,) = parts(root, "best", f"{SVG}circle")
    x, y = centre_of(dot)
    assert x == pytest.approx(FIELD.left + best.share * (FIELD.right - FIELD.left), abs=0.01)
    # Down the page is less.
    assert y >= max(height for _, height in points) - 0.01
    (own,) = parts(root, "own")
    assert float(own.get("x1")) == pytest.approx((FIELD.left + FIELD.right) / 2)


def test_where_nothing_hangs_only_the_best_is_marked():
    root = checked(share_curve("main bearing", "N", [(0.0, 5.0), (1.0, 3.0)], (1.0, 3.0, "1.000"), None))
    assert parts(root, "own") == []
