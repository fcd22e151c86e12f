"""A file of candidates: each set with each crank is a job, and every fault says in which set or crank it is."""

import math
import random

import choosing
import pytest

from truethrow.balance.base.errors import BadInput
from truethrow.balance.base.readings import Mass, combine
from truethrow.balance.job import job as jobs
from truethrow.balance.planning import candidates
from truethrow.balance.result.bobweight import bobweights


def faults(text):
    with pytest.raises(BadInput) as refused:
        candidates.build(text)
    return [str(fault) for fault in refused.value.faults]


def test_a_pair_is_the_job_that_a_hand_would_write():
    """The same figures as a job file with [estimate] that was written out."""
    found = candidates.build(choosing.SMALL)
    assert [(pair.parts.name, pair.crank.name) for pair in found.pairs] == [("A", "C"), ("B", "C")]
    engine = choosing.SMALL[choosing.SMALL.index("[engine]") : choosing.SMALL.index("[every_set]")]
    by_hand = jobs.build(
        f"""
[job]
id = "pump"
{engine}
[scale]
resolution = "0.1 g"
[estimate]
rings = {{ about = 30, within = 0 }}
locks = {{ about = 3, within = 0 }}
bearings = {{ about = 40, within = 0 }}
piston = {{ about = 400, within = 3 }}
pin = {{ about = 100, within = 0 }}
small_end = {{ about = 150, within = 0 }}
big_end = {{ about = 380, within = 0 }}
""",
        estimated=True,
    )
    made = found.pairs[0].job
    assert made.parts == by_hand.parts
    own, hand = (bobweights(one).throws for one in (made, by_hand))
    assert [throw.bobweight.value_g for throw in own] == [throw.bobweight.value_g for throw in hand]


def test_parts_of_every_set_are_of_one_box_and_a_sets_own_are_not():
    one, other = (pair.parts.boxes for pair in candidates.build(choosing.SMALL).pairs)
    assert {kind for kind in one if one[kind] == other[kind]} == {"rings", "locks", "bearings"}


def test_a_sets_own_part_counts_before_that_of_every_set():
    text = choosing.SMALL.replace('name = "A"', 'name = "A"\nrings = { about = 20, within = 0 }')
    first, second = candidates.build(text).pairs
    assert [pair.job.parts[1]["rings"].mean_g for pair in (first, second)] == [20, 30]


def test_a_crank_has_its_own_stroke_and_mass_and_a_set_its_own_rod():
    text = choosing.SMALL.replace("target = 800", 'target = 800\nstroke = 84\nmass = "9 kg"').replace(
        'name = "B"', 'name = "B"\nrod_length = "150 mm"'
    )
    first, second = (pair.job for pair in candidates.build(text).pairs)
    assert (first.engine.stroke_mm, first.engine.rod_length_mm) == (84, 140)
    assert (second.engine.stroke_mm, second.engine.rod_length_mm) == (84, 150)
    assert first.station.crank_mass_g == 9000


def test_a_weighed_part_counts_as_weighed_one_for_all_or_each():
    text = choosing.SMALL.replace("piston = { about = 400, within = 3 }", "piston = { weighed = [400.1, 400.3] }")
    text = text.replace("pin = { about = 100, within = 0 }", "pin = { weighed = 100.2 }", 1)
    found = candidates.build(text + "[scale]\nresolution = 0.1\n").pairs[0]
    assert [found.job.parts[n]["piston"].mean_g for n in (1, 2)] == [400.1, 400.3]
    assert found.job.parts[1]["piston"].estimate is None
    assert found.job.parts[2]["pin"] is found.job.parts[1]["pin"] or (
        found.job.parts[2]["pin"] == found.job.parts[1]["pin"]
    )
    assert found.parts.one_for_all == {"pin": None}
    assert "piston" not in found.job.estimated


def of_one(grams, scatter):
    part = f"piston = {{ weighed = {grams}, scatter = {scatter} }}"
    text = choosing.SMALL.replace("piston = { about = 402, within = 4 }", part)
    return candidates.build(text + "[scale]\nresolution = 0.1\n").pairs[1]


def test_one_weighed_piece_tells_the_others_as_far_as_they_scatter():
    """By hand: the mean of the box is a piece's scatter off the weighed one, and so is what the scale rounds of
    zero and load."""
    found = of_one(401.3, 0.8)
    assert found.parts.one_for_all == {"piston": 0.8}
    assert found.job.estimated["piston"] == (1, 2)
    estimate = found.job.parts[2]["piston"].estimate
    assert estimate.scatter_g == 0.8
    assert estimate.within_g / math.sqrt(3) == pytest.approx(math.sqrt(0.8**2 + 2 * 0.1**2 / 12))


def test_what_one_weighed_piece_tells_covers_the_mean_of_the_others(as_many):
    """One piston of each invented box is weighed on a scale that rounds, and two others are fitted: their mean
    lies within the ± that the bobweight's own part of it has, as often as is said."""
    rng, inside, boxes = random.Random(7), 0, as_many(4000, 1000)
    found = of_one(401.3, 0.8)
    readings = [own["piston"] for own in found.job.parts.values()]
    sure_g = found.job.certainty().expanded_g(combine((0.5, Mass.read(one)) for one in readings))
    for _ in range(boxes):
        box_g = rng.uniform(390, 410)
        weighed_g = round(rng.gauss(box_g, 0.8), 1)
        fitted_g = [rng.gauss(box_g, 0.8) for _ in readings]
        inside += abs(sum(fitted_g) / 2 - weighed_g) <= sure_g
    assert 0.94 <= inside / boxes <= 0.98


def test_inches_and_ounces_are_the_files_own():
    text = choosing.SMALL.replace('id = "pump"', 'id = "pump"\nmass_unit = "oz"\nlength_unit = "in"')
    text = text.replace("stroke = 80.0", "stroke = 3.15").replace("rod_length = 140.0", "rod_length = 5.5")
    text = text.replace("cylinder_spacing = 100.0", "cylinder_spacing = 4").replace("target = 800", "target = 28")
    for grams, ounces in (
        (400, 14),
        (402, 14.1),
        (100, 3.5),
        (150, 5.3),
        (380, 13.4),
        (390, 13.8),
        (30, 1),
        (3, 0.1),
    ):
        text = text.replace(f"about = {grams},", f"about = {ounces},")
    text = (
        text.replace("about = 40,", "about = 1.4,")
        .replace("within = 3", "within = 0.1")
        .replace("within = 4", "within = 0.1")
    )
    text = text.replace("oil = 2.0", "oil = 0.07")
    found = candidates.build(text).pairs[0]
    assert found.job.parts[1]["piston"].mean_g == pytest.approx(14 * 28.349523125)
    assert found.crank.target_g == pytest.approx(28 * 28.349523125)


def test_a_bare_crank_is_balanced_for_nothing():
    found = candidates.build(choosing.SMALL.replace("target = 800", "bare = true")).pairs[0]
    assert found.crank.target_g == 0


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "piston = { about = 402",
            "pistons = { about = 402",
            "set B: 'pistons' is not known here (did you mean piston?)",
        ),
        ("within = 4 }", "withn = 4 }", "set B, piston: 'withn' is not known here (did you mean within?)"),
        ("about = 402", 'about = "4o2"', "set B, piston, about:"),
        ("about = 402, within = 4", "about = 402", "set B, piston, within: missing"),
        (
            "{ about = 402, within = 4 }",
            "402",
            "set B, piston: 402 does not say whether it was weighed; allowed: { about = 521, within = 2 } by",
        ),
        (
            "about = 402, within = 4",
            "about = 402, within = 4, weighed = 401",
            "set B, piston: both about and weighed",
        ),
        (
            "about = 402, within = 4",
            "weighed = 401, within = 4",
            "set B, piston, within: goes with about",
        ),
        (
            "about = 402, within = 4",
            "weighed = [401, 402], scatter = 1",
            "set B, piston, scatter: every piece is weighed",
        ),
        (
            "about = 402, within = 4",
            "weighed = 401",
            "scale: set B has a weighed piston, and nothing says on which scale",
        ),
        ("about = 402, within = 4", "weighed = [1, 2, 3]", "set B, piston, weighed: 3 masses for 2 cylinders"),
        ("piston = { about = 402, within = 4 }\n", "", "set B: missing: piston;"),
        ('name = "B"', 'name = "A"', "set A: comes twice"),
        ('name = "B"\n', "", "set 2, name: missing"),
        ("target = 800", "", "crank C: neither a target nor bare"),
        ("target = 800", "target = 800\nbare = true", "crank C: both a target and bare"),
        ("target = 800", "taget = 800", "crank C: 'taget' is not known here (did you mean target?)"),
        (
            "target = 800",
            'target = 800\ncounterweight = [{ name = "1" }]',
            "crank C, counterweight, entry 1, at: missing",
        ),
        ("[bobweight]", "[bobwight]", "bobwight: 'bobwight' is not known here (did you mean bobweight?)"),
        (
            "about = 390, within = 0",
            "about = 390, within = 0, price = -1",
            "set B, big_end, price: -1 is out of reach",
        ),
        (
            "small_end = { about = 150, within = 0 }",
            "small_end = { about = 150, within = 0, price = 3 }",
            "set A, small_end, price",
        ),
        ('id = "pump"', 'id = "pump"\nby = "weight"', "candidates, by: 'weight' is not known"),
        ("stroke = 80.0", 'stroke = "80 kg"', "engine, stroke:"),
        ("about = 402", "about = 40200", "set B, "),
    ],
)
def test_what_is_wrong_is_told_with_the_set_or_the_crank(old, new, said):
    assert old in choosing.SMALL
    found = faults(choosing.SMALL.replace(old, new, 1))
    assert [one for one in found if one.startswith(said)], found


def test_all_faults_come_at_once():
    text = (
        choosing.SMALL.replace("about = 402", 'about = "x"').replace("target = 800", "").replace("share", "shar")
    )
    found = "\n".join(faults(text))
    assert "set B, piston, about" in found
    assert "crank C: neither" in found
    assert "bobweight: 'shar'" in found


def test_what_only_a_whole_set_shows_is_told_once_for_all_cranks():
    """Pistons as light as their pins are of another column, on whichever crank."""
    text = choosing.SMALL.replace("about = 402", "about = 40") + '\n[[crank]]\nname = "D"\ntarget = 700\n'
    found = faults(text)
    assert len(found) == 1
    assert found[0].startswith("set B, ")


@pytest.mark.parametrize("gone", ["set", "crank"])
def test_without_sets_or_cranks_there_is_nothing_to_compare(gone):
    text = choosing.SMALL[: choosing.SMALL.index(f"[[{gone}]]")]
    assert f"{gone}: missing; allowed: tables [[{gone}]], at least one" in faults(text)


def test_not_more_than_anybody_compares():
    more = "".join(f'\n[[crank]]\nname = "{n}"\ntarget = 800\n' for n in range(candidates.MOST_CRANKS))
    assert f"crank: {candidates.MOST_CRANKS + 1} of them; allowed: at most {candidates.MOST_CRANKS}" in faults(
        choosing.SMALL + more
    )


def test_a_file_has_drills_and_slugs_of_its_own_or_none():
    assert candidates.build(choosing.SMALL).tools is None
    tools = candidates.build(choosing.SMALL + choosing.TOOLS).tools
    assert [drill.diameter_mm for drill in tools.drills] == [12, 16]
    assert [slug.length_mm for slug in tools.slugs] == [16]
    assert "drill 1, diameter: missing" in faults(choosing.SMALL + "[[drill]]\n")
