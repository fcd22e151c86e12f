"""How a replacement would fit, against every way to cut it, each looked at as check would."""

import dataclasses

import invented
import pytest
import replacements

from truethrow.balance.base.readings import tidy
from truethrow.balance.result.fitting import (
    MOST_PLANNED,
    best_first,
    heaviest_to_cut,
    least_metal_mass,
    own_cut,
    tried,
)
from truethrow.balance.result.replacing import replacement


def grams(cuts):
    return None if cuts is None else tidy(sum(cut.grams for cut in cuts))


def test_metal_off_a_piston_alone_is_the_least_that_check_calls_inside(as_many):
    cut = 0
    for seed in range(as_many(40, 6)):
        made = replacements.job(seed)
        wanted = replacement(made, "piston", 1 + seed % 8)
        if wanted.out:
            continue
        pads = [(next(pad for pad in made.pads if pad.kind == "piston"), {"piston": 1.0})]
        for mass in (tidy(wanted.middle_g["piston"] + n / 10) for n in range(-12, 40, 6)):
            found = own_cut(wanted, {"piston": mass})
            best = replacements.least_grams(made, "piston", wanted.cylinder, {"piston": mass}, pads)
            assert grams(found) == best, (seed, mass)
            cut += bool(best)
    assert cut


def test_metal_off_a_rod_alone_is_the_least_that_check_calls_inside(as_many):
    """Both pads, all steps of each, in every pair."""
    made = replacements.job(4, limits={"big_end": 1.6, "small_end": 1.5, "bobweight": 2.2})
    wanted = replacement(made, "rod", 5)
    assert not wanted.out
    middle, cut = wanted.middle_g, 0
    for n, m in [(0, 0), (14, 6), (22, 4), (3, 15), (-3, 17), (30, 30)][: as_many(6, 4)]:
        masses = {"big_end": tidy(middle["big_end"] + n / 10), "small_end": tidy(middle["small_end"] + m / 10)}
        found = own_cut(wanted, masses)
        best = replacements.least_grams(made, "rod", 5, masses, replacements.rod_pads(made))
        assert grams(found) == best, (n, m)
        cut += bool(best)
    assert cut


def test_the_heaviest_that_can_be_cut_is_the_window_and_the_pad():
    """538.4 and a limit of 1.0 g leave up to 539.2 (test_replacing), the pad gives 5 g."""
    made = invented.build(invented.document(limits={"piston": 1.0}, trim={"piston": 5.0}))
    assert heaviest_to_cut(replacement(made, "piston", 3), "piston") == 544.2
    no_pad = invented.build(invented.document(limits={"piston": 1.0}, trim={"piston": 0.0}))
    assert heaviest_to_cut(replacement(no_pad, "piston", 3), "piston") is None


@pytest.mark.parametrize(
    ("mass", "way", "taken"),
    [
        (538.0, "as it is", 0.0),
        (540.0, "metal off it", 0.8),
        (537.0, "metal off others", None),
        (500.0, "not inside", None),
    ],
)
def test_each_way_to_fit(mass, way, taken):
    made = invented.build(invented.document(limits={"piston": 1.0}, trim={"piston": 5.0}))
    trial = tried(replacement(made, "piston", 3), {"piston": mass})
    assert trial.way == way
    assert taken is None or trial.grams == taken
    assert (trial.worst == "inside") == (way != "not inside")


def test_a_light_one_costs_the_others_what_the_trim_says():
    """537.0 among 538.4: a limit of 1.0 less ± 0.115 lets the seven read 537.8: 0.6 g off each."""
    made = invented.build(invented.document(limits={"piston": 1.0}, trim={"piston": 5.0}))
    trial = tried(replacement(made, "piston", 3), {"piston": 537.0})
    assert trial.grams == pytest.approx(7 * 0.6, abs=0.71)
    assert {part.cylinder for part in trial.plan.parts} == {1, 2, 4, 5, 6, 7, 8}


def test_the_best_come_first_and_the_farthest_are_counted():
    made = invented.build(invented.document(limits={"piston": 1.0}, trim={"piston": 5.0}))
    masses = {"a": 540.0, "b": 538.4, "c": 539.1, "d": 537.2} | {
        f"e{n:02}": 530.0 - n for n in range(MOST_PLANNED)
    }
    trials, more = best_first(replacement(made, "piston", 3), {name: {"piston": g} for name, g in masses.items()})
    assert list(trials)[:4] == ["b", "c", "a", "d"]
    assert more == 1
    assert len(trials) == 3 + MOST_PLANNED


def test_a_new_part_has_all_of_its_pads():
    """What came off the old one does not count: its pad gave all it had."""
    from truethrow.balance.job.grinding import Ground

    made = invented.build(invented.document(limits={"piston": 1.0}, trim={"piston": 5.0}))
    spent = Ground(1, 1, {}, {(3, "piston"): 5.0}, (), ())
    wanted = replacement(dataclasses.replace(made, ground=spent), "piston", 3)
    assert grams(own_cut(wanted, {"piston": 541.0})) == 1.8


def test_the_mass_that_costs_least_where_others_must_lose_metal_anyway():
    made = invented.build(
        invented.document(
            invented.cylinders(piston={2: [541.0] * 2}), limits={"piston": 1.0}, trim={"piston": 5.0}
        )
    )
    wanted = replacement(made, "piston", 3)
    best = least_metal_mass(wanted)
    assert tried(wanted, best).grams == 1.8
    assert least_metal_mass(replacement(invented.build(invented.document()), "piston", 3)) is None
