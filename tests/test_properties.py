"""Laws that hold for every engine: linearity, symmetry, units, trim, and the station's sheet."""

from __future__ import annotations

import dataclasses
import math
from decimal import Decimal

import invented
import pytest
from examples import examples
from hypothesis import assume, given
from hypothesis import strategies as st

from truethrow.balance.result import spread as spreads_of
from truethrow.balance.result import trim
from truethrow.balance.result.bobweight import bobweights
from truethrow.balance.result.work import work
from truethrow.worksheets.data import station_sheet

KINDS = list(invented.PARTS)
tenths = st.integers(1, 9_999).map(lambda n: n / 10)
shares = st.sampled_from([0.0, 0.36, 0.48, 0.5, 0.52, 1.0])


@st.composite
def engines(draw, tenths_apart=40):
    """Eight cylinders whose parts scatter by whole tenths of a gram."""
    scatter = st.integers(-tenths_apart, tenths_apart)
    return [
        {"number": n}
        | {kind: max(1.0, round(grams + draw(scatter) / 10, 1)) for kind, grams in invented.PARTS.items()}
        for n in range(1, 9)
    ]


def throws(parts, **tables):
    return {t.throw.name: t for t in bobweights(invented.build(invented.document(parts, **tables))).throws}


@given(engines(), st.integers(1, 8), st.sampled_from(KINDS), tenths, shares)
@examples(60)
def test_bobweight_is_linear_in_every_mass(parts, cylinder, kind, more_g, share):
    settings_of = {"bobweight": {"share": share, "oil": 4.0}}
    before = throws(parts, **settings_of)
    heavier = [dict(p, **{kind: round(p[kind] + more_g, 1)}) if p["number"] == cylinder else p for p in parts]
    after = throws(heavier, **settings_of)
    slope = 1.0 if kind in ("big_end", "bearings") else share
    for name, throw in after.items():
        rise = more_g * slope if cylinder in throw.cylinders else 0.0
        assert throw.bobweight.value_g - before[name].bobweight.value_g == pytest.approx(rise, abs=1e-8)


@given(engines(), st.permutations(range(4)), st.lists(st.booleans(), min_size=4, max_size=4))
@examples(60)
def test_permuting_cylinders_with_their_parts_permutes_throws(parts, order, crossed):
    """The pair of throw k goes to throw order[k], the two of a pair swapped where crossed says so."""
    moved = []
    for k, to in enumerate(order):
        pair = [2 * to + 2, 2 * to + 1] if crossed[k] else [2 * to + 1, 2 * to + 2]
        moved += [dict(parts[2 * k + i], number=pair[i]) for i in (0, 1)]
    before, after = throws(parts), throws(moved)
    for k, to in enumerate(order):
        assert after[str(to + 1)].bobweight.value_g == before[str(k + 1)].bobweight.value_g
    assert {t.hung_g for t in after.values()} == {t.hung_g for t in before.values()}


@given(engines())
@examples(40)
def test_ounces_give_what_grams_give(parts):
    ounce = Decimal("28.349523125")
    in_ounces = [{k: v if k == "number" else f"{Decimal(str(v)) / ounce} oz" for k, v in p.items()} for p in parts]
    in_grams, converted = throws(parts), throws(in_ounces)
    for name, throw in in_grams.items():
        assert converted[name].bobweight.value_g == pytest.approx(throw.bobweight.value_g, abs=2e-9)
        assert converted[name].hung_g == throw.hung_g


@st.composite
def jobs_to_trim(draw):
    """Jobs with limits, pads and scatter of any sort, on scales of different steps; every reading is confirmed, so
    that none holds the plan back."""
    step = draw(st.sampled_from([0.1, 0.5, 0.05]))
    limit = st.integers(1, 40).map(lambda n: round(step * n, 2))
    names = ("piston", "pin", "big_end", "small_end", "rotating", "reciprocating", "both_ends", "bobweight")
    chosen = draw(st.lists(st.sampled_from(names), min_size=1, max_size=6, unique=True))
    most = st.integers(0, 120).map(lambda n: n / 10)
    pads = {
        "piston": draw(most),
        "pin": draw(most),
        "big_end_pad": {"at": draw(st.integers(-60, 20)), "most": draw(most)},
        "small_end_pad": {"at": draw(st.integers(140, 190)), "most": draw(most)},
    }
    job = invented.build(
        invented.document(
            draw(engines(tenths_apart=60)),
            limits={name: draw(limit) for name in chosen},
            trim=pads,
            scale={"resolution": step, "capacity": 3000, "tared": draw(st.booleans())},
        )
    )
    parts = {
        number: {kind: reading._replace(settled="confirmed") for kind, reading in own.items()}
        for number, own in job.parts.items()
    }
    return dataclasses.replace(job, parts=parts)


@given(jobs_to_trim())
@examples(150)
def test_after_the_trim_nothing_is_left_to_trim(job):
    """Each trimmed part weighs what the plan expects; then the plan is empty, or says what is out of reach."""
    plan = work(job).trim
    assume(plan is not None)
    again = work(trim.apply(job, plan.parts))
    outside = {s.quantity for s in again.spreads if s.verdict == "outside"}
    assert outside == {shortfall.spread.quantity for shortfall in plan.shortfalls}
    if not plan.shortfalls:
        assert again.trim is None


@given(jobs_to_trim())
@examples(100)
def test_no_cut_exceeds_what_its_pad_can_give(job):
    plan = work(job).trim
    assume(plan is not None)
    step = job.scale.resolution_g
    for cut in (cut for part in plan.parts for cut in part.cuts):
        assert 0 < cut.grams <= cut.pad.most_g + 1e-9
        assert cut.grams / step == pytest.approx(round(cut.grams / step), abs=1e-6)


@given(jobs_to_trim())
@examples(100)
def test_what_is_to_be_expected_is_what_the_levers_leave(job):
    """The grams of the sentence, taken at the pads of the sentence, leave its readings to half a step."""
    plan = work(job).trim
    assume(plan is not None)
    for part in plan.parts:
        loss = dict.fromkeys(part.expected_g, 0.0)
        for cut in part.cuts:
            if cut.pad.at_mm is None:
                loss[cut.pad.kind] += cut.grams
                continue
            along = cut.pad.at_mm / job.engine.rod_length_mm
            loss["big_end"] += cut.grams * (1 - along)
            loss["small_end"] += cut.grams * along
        for kind, expected in part.expected_g.items():
            left = job.parts[part.cylinder][kind].mean_g - loss[kind]
            assert abs(left - expected) <= job.scale.resolution_g / 2 + 1e-9


@given(jobs_to_trim())
@examples(60)
def test_no_limited_spread_is_pushed_outside_by_the_trim(job):
    before = {s.quantity: s.verdict for s in work(job).spreads}
    plan = work(job).trim
    assume(plan is not None)
    for after in plan.after:
        if after.verdict == "outside":
            assert before[after.quantity] == "outside"


labels = st.text(st.characters(exclude_categories=["C", "Zl", "Zp", "Zs"]), max_size=40)


@given(engines(), labels, st.lists(labels, min_size=8, max_size=8), st.sampled_from(["mean", "own", "1850 g"]))
@examples(60)
def test_the_stations_sheet_reads_back(parts, title, names, hang):
    labelled = [dict(p, labels={"rod": name}) for p, name in zip(parts, names, strict=True)]
    job = invented.build(
        invented.document(
            labelled, job={"id": "=1+2", "title": title}, bobweight={"hang": hang, "oil": 4.0, "share": 0.5}
        )
    )
    sheet = station_sheet.rows(work(job))
    written = station_sheet.to_csv(sheet)
    assert station_sheet.from_csv(written) == sheet
    assert sheet[0].job_id == "=1+2"
    assert '\r\n"\'=1+2",' in written


@given(engines(), st.floats(-math.pi, math.pi))
@examples(30)
def test_turning_the_crank_turns_the_unbalance(parts, turn):
    """Every throw's angle moved alike: the amounts stay, the angles move with it."""
    degrees = round(math.degrees(turn), 6)
    angles = [0 + degrees, 90 + degrees, 270 + degrees, 180 + degrees]
    straight = work(invented.build(invented.document(parts))).cost
    turned = work(invented.build(invented.document(parts, engine=dict(invented.V8, throw_angles=angles)))).cost
    for name in ("static", "front", "rear"):
        one, other = getattr(straight, name), getattr(turned, name)
        assert other.amount_gmm == pytest.approx(one.amount_gmm, abs=1e-6)
        if one.amount_gmm > 1e-3:
            apart = (other.angle_deg - one.angle_deg - degrees + 180) % 360 - 180
            assert apart == pytest.approx(0, abs=1e-3)


@given(engines())
@examples(30)
def test_a_spread_is_its_heaviest_less_its_lightest(parts):
    job = invented.build(invented.document(parts))
    result = work(job)
    for found in spreads_of.spreads(job, result.bobweights, result.certainty):
        values = [mass.value_g for mass in found.members.values()]
        assert found.spread_g == pytest.approx(max(values) - min(values), abs=1e-9)
