"""From a job to its matching: the values reached, no part lost, its limits met where they can be."""

import random

import invented
import numpy as np
import pytest
import questions
from scattered_jobs import matched, scattered, uneven, worked
from trims import PADS

from truethrow.balance.base.errors import BadInput
from truethrow.balance.matching.match import _by_hand, ask, is_better_trimmed, match, moves_of, rearranged
from truethrow.balance.matching.rules import rules
from truethrow.balance.result.least_metal import least_metal
from truethrow.balance.result.work import work


def spread_of(result, quantity):
    return next(s.spread_g for s in result.spreads if s.quantity == quantity)


@pytest.mark.parametrize(
    "beside", [{}, {"rods_apart": 24.0, "rod_in_front": "right"}], ids=["one plane", "beside"]
)
def test_the_job_as_matched_has_the_values_that_were_reached(beside):
    """What the arrays say is what the job itself says once its parts sit there."""
    aims = ["bobweight", "reciprocating", "rotating", "residual"]
    found = matched(match={"aims": aims}, engine=invented.V8 | beside)
    by_name = {aim.name: aim for aim in found.reached}
    for quantity in ("bobweight", "reciprocating", "rotating"):
        assert spread_of(found.matched, quantity) == pytest.approx(by_name[quantity].value, abs=1e-9)
        assert spread_of(found.now, quantity) == pytest.approx(by_name[quantity].before, abs=1e-9)
    cost = found.matched.cost
    assert max(cost.front.amount_gmm, cost.rear.amount_gmm) == pytest.approx(by_name["residual"].value, abs=1e-5)
    assert by_name["bobweight"].value < by_name["bobweight"].before
    # No metal was asked for, so no limit stays exceeded for want of it.
    assert {(aim.over_before_g, aim.over_g) for aim in found.reached} == {(0.0, 0.0)}


ALL_AIMS = ["limits", "grams", "bobweight", "reciprocating", "residual"]
# A river boat's eight parts of a kind, one piston of another box: no cut brings all inside.
RIVER = {
    "piston": (431.2, 433.9, 429.1, 434.3, 341.0, 432.8, 431.5, 428.8),
    "big_end": (501.3, 503.0, 499.6, 502.2, 500.1, 504.5, 501.2, 498.7),
    "small_end": (180.2, 181.7, 179.9, 183.3, 178.2, 180.9, 182.1, 180.0),
    "pin": (118.3, 118.1, 117.6, 118.9, 118.0, 118.4, 117.7, 118.2),
}


def river():
    kept = {"rings": 38.0, "locks": 2.4, "bearings": 41.0}
    rows = zip(*RIVER.values(), strict=True)
    parts = [{"number": n, **dict(zip(RIVER, row, strict=True)), **kept} for n, row in enumerate(rows, start=1)]
    return parts, {
        "engine": {
            "layout": "v8-90-crossplane",
            "bore": 98,
            "stroke": 84,
            "rod_length": 148,
            "cylinder_spacing": 104,
            "top_speed": 5200,
        },
        "limits": {"reciprocating": 2.0, "bobweight": 1.5, "piston": 1.0, "big_end": 1.0, "small_end": 1.0},
        "trim": {
            "piston": 6,
            "big_end_pad": {"at": -46, "most": 8},
            "small_end_pad": {"at": 172, "most": 5},
        },
    }


@pytest.mark.parametrize("seed", [0, 1, 2, 3], ids=["river", "one", "two", "three"])
def test_every_figure_told_is_of_the_arrangement_that_is_proposed(seed):
    """Parts are sent home once the search is over: an aim that was not proved may come out better by the way."""
    parts, tables = river() if seed == 0 else (scattered(seed), {"limits": {"bobweight": 1.0}, "trim": PADS})
    found = matched(parts, seconds=20.0, match={"aims": ALL_AIMS}, **tables)
    planes = found.matched.cost
    recomputed = {
        "grams": least_metal(found.matched.job, found.matched.certainty).cost,
        "bobweight": spread_of(found.matched, "bobweight"),
        "reciprocating": spread_of(found.matched, "reciprocating"),
        "residual": max(planes.front.amount_gmm, planes.rear.amount_gmm),
    }
    told = {one.name: one.value for one in found.reached}
    assert told == pytest.approx(recomputed | {"limits": told["limits"]}, abs=2e-3)
    assert all(one.bound <= one.value for one in found.reached)
    inside = all(s.verdict == "inside" for s in found.matched.spreads if s.verdict)
    assert told["limits"] == float(not inside)


def test_no_part_is_lost_and_each_keeps_its_ends():
    found = matched()
    for kind in invented.PARTS:
        before = sorted(parts[kind].mean_g for parts in found.now.job.parts.values())
        assert sorted(parts[kind].mean_g for parts in found.matched.job.parts.values()) == before
    rods = {(p["big_end"].mean_g, p["small_end"].mean_g) for p in found.now.job.parts.values()}
    assert {(p["big_end"].mean_g, p["small_end"].mean_g) for p in found.matched.job.parts.values()} == rods


def test_inside_the_limits_without_trimming_where_that_can_be():
    parts = scattered(3, big_end=0.4, small_end=0.4, piston=0.5)
    limits = {"bobweight": 0.8, "reciprocating": 1.3}
    found = matched(parts, limits=limits)
    assert found.now.outside
    assert not found.matched.outside
    aims = {aim.name: aim for aim in found.reached}
    assert (aims["limits"].before, aims["limits"].value) == (1.0, 0.0)
    assert aims["grams"].value == 0.0
    assert found.matched.trim is None


def test_a_limit_on_single_parts_is_not_met_by_any_arrangement():
    found = matched(limits={"piston": 0.5, "bobweight": 30.0}, match={"aims": ["limits"]})
    limits = found.reached[0]
    assert (limits.name, limits.value, limits.bound) == ("limits", 1.0, 1.0)


def test_a_part_without_a_label_has_the_number_under_which_it_was_first_weighed():
    job = invented.build(invented.document(scattered(), match={"fixed": ["rod 3"]}))
    moved = rearranged(job, {"rod": {3: 5, 5: 3}})
    assert rules(job, ["rod"]).allowed["rod"][2].tolist() == [n == 3 for n in range(1, 9)]
    assert rules(moved, ["rod"]).allowed["rod"][4].tolist() == [n == 5 for n in range(1, 9)]


def test_what_was_weighed_once_for_all_does_not_move():
    parts = [{k: v for k, v in p.items() if k != "pin"} for p in scattered()]
    found = matched(parts, every_cylinder={"pin": 112.0})
    assert "pin" not in found.units
    parts = [{"number": p["number"]} for p in parts]
    with pytest.raises(BadInput, match="nothing of it was weighed cylinder by cylinder"):
        matched(parts, every_cylinder=dict(invented.PARTS))


def test_parts_that_break_the_rules_as_they_sit_are_moved_and_it_is_said():
    table = {"aims": ["bobweight"], "bank": {"right": ["rod 1"]}}
    found = matched(match=table)
    assert not found.kept_rules
    assert found.moves["rod"][1] % 2 == 0


def test_the_width_of_a_limit_holds_whoever_sits_where():
    """Repeats make one piston surer than another; the width leaves room for the less sure ones."""
    parts = scattered()
    parts[0]["piston"] = [538.0, 538.1, 538.0, 538.1]
    result = worked(
        parts, limits={"reciprocating": 2.0, "bobweight": 2.0}, scale={"resolution": 0.1, "repeatability": 0.1}
    )
    asked = ask(result, ["rod", "piston", "pin"])
    limited, per_g = asked.limited, asked.per_g
    for s in result.spreads:
        if s.quantity in limited:
            inside, most_inside, outside = (grains / per_g for grains in limited[s.quantity][:3])
            assert inside - 1e-9 <= s.limit_g - s.expanded_g <= most_inside + 1e-9
            assert s.limit_g - s.expanded_g - inside < 0.1
            assert s.limit_g + s.expanded_g <= outside + 1e-9


def test_the_width_of_a_limit_counts_what_the_scale_reads_too_much_of_a_difference():
    scale = {"resolution": 0.1, "calibration": 0.2, "calibration_percent": 3.0}
    result = uneven(2, scale=scale, limits={"reciprocating": 2.0, "bobweight": 3.0})
    asked = ask(result, ("piston", "rod"))
    draw = np.random.default_rng(2)
    for _ in range(20):
        arrangement = np.array([draw.permutation(8) for _ in asked.units])
        job = rearranged(result.job, moves_of(result.job, asked, arrangement))
        for s in work(job).spreads:
            if s.quantity in asked.limited:
                inside, _, outside = (grains / asked.per_g for grains in asked.limited[s.quantity][:3])
                assert inside - 1e-9 <= s.limit_g - s.expanded_g
                assert s.limit_g + s.expanded_g <= outside + 1e-9


def test_a_rod_weighed_in_one_go_is_one_reading_more_that_goes_along():
    """Only some rods have it: a cut one is weighed again by its ends alone."""
    parts = scattered()
    parts[2]["rod_total"] = round(parts[2]["big_end"] + parts[2]["small_end"], 1)
    found = matched(parts, match={"aims": ["bobweight"], "apart": [["rod 3", "cylinder 3"]]})
    to = found.moves["rod"][3]
    assert [c for c, own in found.matched.job.parts.items() if "rod_total" in own] == [to]
    assert found.matched.job.parts[to]["rod_total"].mean_g == parts[2]["rod_total"]


def test_unequal_repeats_are_not_taken_for_equal():
    """Which two parts differ most decides how sure the spread is, and with that whether metal must come off."""
    draw = random.Random(3)
    for seed in range(4):
        parts = scattered(seed, 4, piston=0.4, small_end=0.4)
        for part in parts:
            part["piston"] = [part["piston"]] * draw.choice([1, 1, 4])
        scale = {"resolution": 0.1, "repeatability": 0.3}
        engine = invented.V8 | {"layout": "inline-4"}
        found = matched(
            parts, engine=engine, limits={"reciprocating": 0.6}, scale=scale, match={"aims": ["grams"]}
        )
        metal = found.reached[0]
        assert metal.value == pytest.approx(least_metal(found.matched.job, found.now.certainty).cost, abs=2e-3)
        for _ in range(30):
            order = np.array([draw.sample(range(4), 4) for _ in found.units])
            other = rearranged(found.now.job, moves_of(found.now.job, ask(found.now, found.units), order))
            assert metal.bound <= least_metal(other, found.now.certainty).cost + 1e-6


def test_a_kind_that_was_weighed_once_for_all_goes_along_and_ties_nothing():
    parts = [{k: v for k, v in p.items() if k != "pin"} for p in scattered()]
    table = {"aims": ["bobweight"]}
    free = matched(parts, every_cylinder={"pin": 112.0}, match=table)
    tied = matched(parts, every_cylinder={"pin": 112.0}, match=table | {"together": [["piston", "pin"]]})
    assert tied.reached[0].value == free.reached[0].value


def test_what_does_not_move_holds_what_is_kept_with_it():
    table = {"aims": ["bobweight"], "move": ["piston", "rod"], "together": [["piston", "pin"]]}
    assert set(matched(match=table).moves) == {"rod"}


def test_fixed_cylinders_keep_all_that_sits_in_them():
    found = matched(scattered(labelled=True), match={"aims": ["bobweight"], "fixed": ["cylinder 3"]})
    assert found.matched.job.labels[3] == {"piston": "P3", "rod": "R3", "pin": "N3"}


def test_a_limit_finer_than_the_scale_can_tell_is_met_by_nothing():
    """Nothing can be said to be inside a limit of 0.1 g on a sum of five readings."""
    found = matched(limits={"reciprocating": 0.1}, match={"aims": ["limits"]})
    assert (found.reached[0].value, found.reached[0].bound) == (1.0, 1.0)


def test_heavy_parts_and_a_share_of_many_digits_are_still_exact():
    parts = scattered(1, 12)
    for part in parts:
        part["big_end"] = round(part["big_end"] + 45_000, 1)
    engine = invented.V8 | {"layout": "v12-60", "checked": ["stroke", "parts"]}
    found = matched(
        parts,
        engine=engine,
        scale={"resolution": 0.1},
        bobweight={"share": 0.9999},
        match={"aims": ["bobweight"]},
        seconds=2,
    )
    assert found.reached[0].value == pytest.approx(spread_of(found.matched, "bobweight"), abs=1e-9)


def test_what_is_shown_as_better_is_better_once_it_is_trimmed():
    """In the job's aims and their order, in whole steps; else the parts stay where they are."""
    four = {"engine": invented.V8 | {"layout": "inline-4"}, "trim": PADS}
    moved = 0
    for seed in range(5):
        found = matched(scattered(seed, 4, pin=0.0), limits={"reciprocating": 1.0, "bobweight": 1.5}, **four)
        if found.now.is_held or found.matched.is_held:  # readings to be looked at again: nothing can be told
            continue
        assert not is_better_trimmed(found.matched, found.matched)
        assert bool(found.moves) == is_better_trimmed(found.matched, found.now)
        moved += bool(found.moves)
    assert moved


def test_time_that_was_out_is_told():
    asked = worked(scattered(3), limits={"reciprocating": 0.5}, match={"aims": ["grams"]})
    assert match(asked, 0.02, now=questions.by_looks()).is_out_of_time
    assert not match(worked(scattered(3), match={"aims": ["bobweight"]}), 60).is_out_of_time


@pytest.mark.parametrize("layout", ["v8-90-crossplane", "inline-6", "v6-90-shared"])
@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("step_g", [0.0001, 2.0])
def test_by_hand_is_what_a_hand_does_with_boxes(layout, seed, step_g):
    """Parts laid out by what they add to a bobweight. The heaviest of the next kind goes to the lightest set, and
    so on; the sets, heaviest first, go to the throws from the front, and where a throw takes two back again. On a
    coarse scale many weigh the same: those stay in the order in which they lie there."""
    asked = questions.question(seed, layout, step_g=step_g)
    adds = [unit.rotating * asked.share[1] + unit.reciprocating * asked.share[0] for unit in asked.units]
    heavy_first = sorted(range(asked.cylinders), key=lambda part: -adds[0][part])
    sets = [[part] for part in heavy_first]
    for number in range(1, len(adds)):
        lightest_first = sorted(sets, key=lambda own: sum(adds[at][part] for at, part in enumerate(own)))
        heaviest_first = sorted(range(asked.cylinders), key=lambda part: -adds[number][part])
        for own, part in zip(lightest_first, heaviest_first, strict=True):
            own.append(part)
    sets.sort(key=lambda own: -sum(adds[at][part] for at, part in enumerate(own)))
    there = [on[0] for on in asked.on_throw]
    back = [on[1] for on in reversed(asked.on_throw) if len(on) > 1]
    found = _by_hand(asked)
    for cylinder, own in zip([*there, *back], sets, strict=True):
        assert found[:, cylinder].tolist() == own
