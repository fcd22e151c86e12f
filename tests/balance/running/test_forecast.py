"""The target bobweight of what nobody weighed yet, against sums by hand and boxes drawn at random."""

import math
import random

import pytest

from truethrow.balance.base.errors import BadInput
from truethrow.balance.base.readings import combine
from truethrow.balance.job.job import build
from truethrow.balance.result.work import work
from truethrow.balance.running import budget, draws, running
from truethrow.balance.running.forecast import forecast

# about, within, scatter: a cross-plane V8 out of catalogs, invented.
BOXES = {
    "piston": (521.0, 2.0, 0.8),
    "pin": (118.0, 0.5, 0.1),
    "locks": (3.2, 0.1, 0.0),
    "rings": (41.0, 1.0, 0.0),
    "small_end": (180.0, 3.0, 1.0),
    "big_end": (445.0, 4.0, 1.5),
    "bearings": (46.0, 1.0, 0.0),
}
SHARE = {"big_end": 2.0, "bearings": 2.0}  # of one throw: two cylinders, half of what goes up and down


def job_text(boxes=BOXES, more="", engine='layout = "v8-90-crossplane"'):
    rows = "".join(
        f"{kind} = {{ about = {about}, within = {within}, scatter = {scatter} }}\n"
        for kind, (about, within, scatter) in boxes.items()
    )
    return (
        f'[job]\nid = "e"\n[engine]\n{engine}\n[scale]\nresolution = 0.1\nrepeatability = 0.05\n'
        f"rod_end_repeatability = 0.1\n[bobweight]\noil = 4.0\n[estimate]\n{rows}{more}"
    )


def made(text):
    return work(build(text, estimated=True))


def test_it_is_the_sum_by_hand_and_a_mean_of_eight_is_no_surer_than_the_box():
    """Two cylinders a throw at a share of one half: 2·(445 + 46) + (521 + 118 + 3.2 + 41 + 180) + 4 = 1849.2 g. A
    box off by its half-width is in all pieces: 2·half/√3 each, times 2 for big end and bearings, 1 for the others,
    in quadrature; and 2·scatter of the mean of eight pieces: over √8."""
    found = forecast(made(job_text())).target
    assert found.value_g == pytest.approx(1849.2)
    squares = 0.0
    for kind, (_, within, scatter) in BOXES.items():
        c = SHARE.get(kind, 1.0)
        squares += (2 * c * within / math.sqrt(3)) ** 2 + (2 * c * scatter / math.sqrt(8)) ** 2
    assert found.expanded_g == pytest.approx(math.sqrt(squares))
    assert found.doubts[0][0] == "big_end"
    assert sum(part for _, part in found.doubts) == pytest.approx(1.0, abs=1e-3)


def test_of_one_throw_the_scatter_of_its_own_two_counts():
    result = made(job_text())
    throw = result.bobweights.throws[0].bobweight
    squares = 0.0
    for kind, (_, within, scatter) in BOXES.items():
        c = SHARE.get(kind, 1.0)
        squares += (2 * c * within / math.sqrt(3)) ** 2 + 2 * (2 * c / 2 * scatter) ** 2
    assert result.certainty.expanded_g(throw) == pytest.approx(math.sqrt(squares))
    apart = result.bobweights.throws[0].bobweight, result.bobweights.throws[1].bobweight
    difference = combine([(1.0, apart[0]), (-1.0, apart[1])])
    own = sum(4 * (2 * SHARE.get(kind, 1.0) / 2 * scatter) ** 2 for kind, (_, _, scatter) in BOXES.items())
    assert result.certainty.expanded_g(difference) == pytest.approx(math.sqrt(own)), "the box cancels"


def test_the_range_covers_what_boxes_weigh_in_at(as_many):
    """1,000 draws: each box off by a rectangle's draw, each piece by a normal one, weighed on the scale. The range
    that was told covers the weighed mean at least 95 of 100 times."""
    told = forecast(made(job_text())).target
    inside, count = 0, as_many(1000, 300)
    for seed in range(count):
        rng = random.Random(seed)
        rest = 0.0
        for kind, (about, within, scatter) in BOXES.items():
            off = rng.uniform(-within, within)
            pieces = [round((about + off + rng.gauss(0, scatter)) / 0.1) * 0.1 for _ in range(8)]
            rest += SHARE.get(kind, 1.0) * sum(pieces) / 8
        inside += told.least_g <= rest + 4.0 <= told.most_g
    assert inside >= 0.95 * count


def test_what_is_weighed_tightens_it_and_what_is_not_stays_an_estimate():
    weighed = "".join(f"[[cylinder]]\nnumber = {n}\npiston = {521.4 + n / 10}\n" for n in range(1, 9))
    before, after = made(job_text()), made(job_text(more=weighed))
    assert before.job.estimated["piston"] == tuple(range(1, 9))
    assert "piston" not in after.job.estimated
    assert forecast(after).target.expanded_g < forecast(before).target.expanded_g
    assert forecast(after).target.value_g == pytest.approx(1849.2 + 0.85)
    some = "".join(f"[[cylinder]]\nnumber = {n}\npiston = 521.4\n" for n in range(1, 4))
    assert made(job_text(more=some)).job.estimated["piston"] == (4, 5, 6, 7, 8)


def test_an_estimate_has_no_spread_looks_like_no_slip_and_is_never_inside():
    some = "[limits]\npiston = 1.0\nbobweight = 2.0\n[[cylinder]]\nnumber = 1\npiston = 530.0\n"
    result = made(job_text(more=some))
    assert result.slips == ()
    assert "bobweight" not in {spread.quantity for spread in result.spreads}
    assert "piston" not in {spread.quantity for spread in result.spreads}
    throws = [throw.bobweight for throw in result.bobweights.throws]
    assert result.certainty.judged(throws[0], 1e6) == "too close to call"


def test_without_being_asked_for_an_estimate_is_no_reading():
    with pytest.raises(BadInput, match="missing"):
        build(job_text())


def test_faults_of_an_estimate_are_named():
    for boxes, said in [
        ({"piston": (-1.0, 2.0, 0.0)}, "estimate, piston, about"),
        ({"crown": (1.0, 2.0, 0.0)}, "crown"),
        ({"rod_total": (1.0, 2.0, 0.0)}, "rod_total"),
    ]:
        with pytest.raises(BadInput, match=said):
            build(job_text(boxes), estimated=True)


ENGINE = 'layout = "v8-90-crossplane"\nstroke = 92\nrod_length = 155\ncylinder_spacing = 112\ntop_speed = 5600'


def test_the_budget_adds_up_and_the_draws_agree():
    """In quadrature the parts make up the ±; Monte Carlo (JCGM 101) draws a rectangle for each box."""
    weighed = "".join(f"[[cylinder]]\nnumber = {n}\npiston = 521.4\n" for n in range(1, 9))
    result = made(job_text(more=weighed, engine=ENGINE))
    for one in budget.budgets(result):
        whole = math.hypot(one.rounding, one.on_the_pan, one.rod_ends, one.calibration, one.zero, one.estimated)
        assert whole == pytest.approx(one.expanded)
    for one in draws.draw(result, 20_000):
        if one.figure.startswith("bobweight"):
            assert one.mean == pytest.approx(one.value, abs=0.2)
            assert one.reach <= one.expanded * 1.02
            assert one.reach > 0.8 * one.expanded


def test_what_shakes_is_as_unsure_as_the_boxes():
    """The vertical pull of an in-line engine's single cylinder is in proportion to its mass: by hand."""
    single = 'layout = "inline-1"\nstroke = 92\nrod_length = 155\ntop_speed = 3000'
    boxes = dict.fromkeys(("piston",), (500.0, 5.0, 0.0)) | {
        kind: (about, 0.0, 0.0) for kind, (about, _, _) in BOXES.items() if kind != "piston"
    }
    wide = running.shake(made(job_text(boxes, engine=single)), 3000.0)
    omega = 3000 * 2 * math.pi / 60
    pull = 2 * 5.0 / math.sqrt(3) / 1000 * 0.046 * omega**2 * (1 + 46 / 155)
    hung = 2 * 5.0 / math.sqrt(3) / 1000 * 0.046 * omega**2 * 0.5
    assert pull - hung - 1 <= wide.vertical_expanded_n <= pull + 1
