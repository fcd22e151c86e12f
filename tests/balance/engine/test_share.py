"""The right share comes out; it never goes in."""

import invented
import numpy as np
import pytest

from truethrow.balance.engine import shaking, share
from truethrow.balance.engine.layout import GENERIC, generic_layout
from truethrow.balance.result.work import work
from truethrow.balance.running import running


def found(name, ratio=0.3, steps=720):
    layout = generic_layout(name, 1000.0)
    parts = shaking.assembly(layout, [1.0] * len(layout.places), 1.0, 1 / ratio)
    return share.shares(layout, parts, shaking.UNIT_SPEED_RPM, steps)


@pytest.mark.parametrize("name", ["v8-90-crossplane", "vtwin-90", "v6-90-shared"])
@pytest.mark.parametrize("ratio", [0.2, 0.25, 0.3, 0.35])
def test_half_comes_out_for_ninety_degree_pairs(name, ratio):
    made = found(name, ratio)
    assert made.share == pytest.approx(0.5, abs=1e-6)
    assert made.sense == "complete"


def test_half_comes_out_for_the_mains_of_a_flat_ninety_degree_v8():
    """Its forces and couples cancel whatever the share; what the share moves is the load on the mains."""
    made = found("v8-90-flatplane")
    assert made.aim == "bearing"
    assert made.share == pytest.approx(0.5, abs=1e-6)
    assert made.sense == "itself"


def test_half_comes_out_for_a_job_with_scatter():
    result = work(invented.build(invented.document(invented.cylinders(piston={3: 545.0, 6: 530.0}))))
    assert running.job_shares(result, 5600).share == pytest.approx(0.5, abs=1e-6)


@pytest.mark.parametrize(
    ("name", "sense"),
    [
        ("inline-1", "partly"),
        ("inline-3", "partly"),
        ("inline-4", "itself"),
        ("inline-6", "itself"),
        ("v12-60", "itself"),
        ("opposed-4", "itself"),
        ("v6-60-even", "complete"),
        ("v6-90-even", "partly"),
        ("vtwin-45", "partly"),
        ("radial-3", "complete"),
        ("radial-5", "complete"),
        ("v10-72", "partly"),
    ],
)
def test_what_bobweights_can_do(name, sense):
    assert found(name, steps=180).sense == sense


@pytest.mark.parametrize("name", sorted(GENERIC))
def test_no_share_on_a_fine_grid_beats_the_optimum(name):
    made = found(name, steps=360)
    for optimum in made.optima:
        least = made.peaks[optimum.aim].min()
        assert optimum.least <= least * (1 + 1e-9) + 1e-12


@pytest.mark.parametrize("aim", share.AIMS)
def test_peaks_are_convex_in_the_share(aim):
    for name in ("inline-3", "v6-90-even", "vtwin-60"):
        peaks = found(name, steps=360).peaks[aim]
        assert np.all(peaks[:-2] + peaks[2:] - 2 * peaks[1:-1] > -1e-9)


def test_single_cylinder_by_hand():
    """Without a share the peak is 1 + λ; vertically nothing is left best at s where 1 + λ − s meets the other
    end; horizontally it is the share itself, so best at none."""
    made = {o.aim: o for o in found("inline-1", 0.3).optima}
    assert made["force"].at_none == pytest.approx(1.3)
    assert made["horizontal"].share == pytest.approx(0, abs=1e-6)
    assert made["vertical"].share > 0.9
    assert 0.5 < made["force"].share < 0.7


def test_bearing_loads_are_halves_of_the_neighbours():
    layout = generic_layout("inline-3", 100.0)
    parts = shaking.assembly(layout, [1.0] * 3, 1.0, 4.0)
    forces = np.array([[1.0], [2.0], [4.0]], complex)
    assert share.bearing_loads_n(parts, forces)[:, 0].tolist() == [0.5, 1.5, 3.0, 2.0]


def test_the_pins_of_a_split_throw_share_their_mains():
    layout = generic_layout("v6-60-even", 100.0)
    parts = shaking.assembly(layout, [1.0] * 6, 1.0, 4.0)
    loads = share.bearing_loads_n(parts, np.ones((6, 1), complex))
    assert loads[:, 0].tolist() == [1.0, 2.0, 2.0, 1.0]


@pytest.mark.parametrize(
    ("name", "aim", "share_of", "width"),
    [("inline-3", "couple", 0.62413, 0), ("radial-3", "vertical", 0.5, 0), ("inline-1", "vertical", 1.0, 0)],
)
def test_optima_are_those_of_the_continuous_turn(name, aim, share_of, width):
    """Brute force over the share with the angle refined to 1e-9 by golden section (worked apart, 5 digits)."""
    optimum = next(o for o in found(name, steps=3600).optima if o.aim == aim)
    assert optimum.share == pytest.approx(share_of, abs=1e-5)
    assert optimum.width == pytest.approx(width, abs=1e-5)


@pytest.mark.parametrize(("low", "high"), [(0.3, 0.4), (0.15, 0.85), (0.0, 0.4), (0.6, 1.0), (0.35, 0.95)])
def test_a_plateau_is_told_by_its_middle_and_its_width(low, high):
    """Between low and high the share makes no difference, beside them it does: by the middle, and how far one may
    go from it either way, whether the plateau ends inside 0 to 1 or at one of them."""

    def peak(share):
        return 1.0 + max(0.0, low - share, share - high)

    optimum = share._optimum("force", peak, 1.0)
    assert optimum.share == pytest.approx((low + high) / 2, abs=1e-6)
    assert optimum.width == pytest.approx((high - low) / 2, abs=1e-6)
    assert optimum.least == 1.0
    assert (optimum.at_half, optimum.at_none) == (peak(0.5), peak(0.0))


@pytest.mark.parametrize("desaxe_mm", [0.0, 1.5])
def test_what_the_mains_carry_does_not_ask_how_far_apart_they_are(desaxe_mm):
    """Each carries half of its neighbors' forces, which do not know of the spacing: the best share and how far one
    may go from it are those of any other. On the cross-plane V8 that is a plateau; beside it the load grows."""
    made = []
    for spacing_mm in (1.0, 112.0, 5000.0):
        layout = generic_layout("v8-90-crossplane", spacing_mm)
        parts = shaking.assembly(layout, [700.0] * 8, 46.0, 155.0, desaxe_mm)
        found = share.shares(layout, parts, 3000.0, 180)
        made.append(next(one for one in found.optima if one.aim == "bearing"))
        peaks = found.peaks["bearing"]
        flat = found.shares[peaks <= peaks.min() * (1 + 1e-9)]
        assert flat.min() - 0.01 <= made[-1].share - made[-1].width <= flat.min()
        assert flat.max() <= made[-1].share + made[-1].width <= flat.max() + 0.01
    assert [one.share for one in made] == pytest.approx([made[1].share] * 3, abs=1e-6)
    assert [one.width for one in made] == pytest.approx([made[1].width] * 3, abs=1e-3)


def test_an_engine_without_reciprocating_parts_has_no_best_share():
    engine = dict(invented.V8, without=["piston", "pin", "locks", "rings", "small_end"])
    parts = [{k: p[k] for k in ("number", "big_end", "bearings")} for p in invented.cylinders()]
    result = work(invented.build(invented.document(parts, engine=engine)))
    made = running.job_shares(result, 5600)
    assert (made.share, made.aim) == (None, None)
