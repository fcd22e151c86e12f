"""Candidates side by side: each figure against a sum by hand or a known formula, the order, and what could change
it."""

import math

import choosing
import pytest

from truethrow.balance.correction.arriving import against_target
from truethrow.balance.planning import candidates, comparing


def worked(text, tools=None):
    found = candidates.build(text)
    return comparing.candidates(found.pairs, tools or found.tools, found.prices)


def ranked(text, by):
    return comparing.ranked(worked(text), by)


def test_the_masses_are_the_sums_that_a_hand_makes():
    """Reciprocating: 400 + 100 + 3 + 30 + 150 = 683. Bobweight: 380 + 40 + 683 / 2 + 2 = 763.5; its ± only from
    the pistons' box: 2 · 3 / √3 · 1/2 = √3 (JCGM 100:2008, 4.3.7)."""
    one, other = worked(choosing.SMALL)
    assert one.masses.reciprocating.value_g == pytest.approx(683)
    assert one.masses.target.value_g == pytest.approx(763.5)
    assert one.masses.target.expanded_g == pytest.approx(math.sqrt(3))
    assert other.masses.target.value_g == pytest.approx(774.5)


def test_pull_bolt_and_speed_are_the_known_formulas():
    """At top dead centre F = m·r·ω²·(1 + r/L), exact there; half of it on each of two bolts; 2·s·n of mean piston
    speed. Source: any text on the slider-crank, such as Norton, Design of Machinery (from memory)."""
    one = worked(choosing.SMALL)[0]
    omega = 3000 * 2 * math.pi / 60
    pull = 0.683 * 0.040 * omega**2 * (1 + 40 / 140)
    assert one.running.pull_n == pytest.approx(pull, rel=1e-9)
    assert one.running.bolt_n == pytest.approx(pull / 2, rel=1e-9)
    assert one.value("speed") == pytest.approx(2 * 0.080 * 3000 / 60)


def test_the_least_comes_first():
    order = ranked(choosing.SMALL, "bobweight")
    assert [(one.rank, one.candidate.parts.name) for one in order] == [(1, "A"), (2, "B")]


def test_a_difference_beyond_its_doubt_changes_nothing():
    """11 g apart; both boxes of pistons together: 2 · √(3² + 4²) / √3 / 2 = 5 / √3 = 2.89 g."""
    doubt = ranked(choosing.SMALL, "bobweight")[1].doubt
    assert doubt.apart == pytest.approx(11)
    assert doubt.uncertainty == pytest.approx(5 / math.sqrt(3))
    assert not doubt.could_change


def test_a_difference_inside_its_doubt_names_the_part():
    """Reciprocating: 2 g apart, ± 2 · 5 / √3 = 5.8 g, all of it from the pistons."""
    doubt = ranked(choosing.SMALL, "reciprocating")[1].doubt
    assert doubt.apart == pytest.approx(2)
    assert doubt.uncertainty == pytest.approx(10 / math.sqrt(3))
    assert doubt.could_change
    assert doubt.kinds == (("piston", pytest.approx(1.0)),)


def test_what_two_sets_have_in_common_says_nothing_of_their_difference():
    text = choosing.SMALL.replace("rings = { about = 30, within = 0 }", "rings = { about = 30, within = 9 }")
    doubt = ranked(text, "bobweight")[1].doubt
    assert doubt.uncertainty == pytest.approx(5 / math.sqrt(3))
    assert "rings" not in dict(doubt.kinds)
    own = choosing.SMALL.replace('name = "A"', 'name = "A"\nrings = { about = 30, within = 9 }')
    assert ranked(own, "bobweight")[1].doubt.uncertainty == pytest.approx(math.sqrt(25 + 81) / math.sqrt(3))


def test_scatter_from_piece_to_piece_is_averaged_and_the_box_is_not():
    """Two pistons of scatter 1: 2 · √(3²/3 + 1/2) · 1/2 in the mean of the bobweights."""
    text = choosing.SMALL.replace("within = 3 }", "within = 3, scatter = 1 }")
    one = worked(text)[0]
    assert one.masses.target.expanded_g == pytest.approx(math.sqrt(3 + 0.5))
    doubt = ranked(text, "bobweight")[1].doubt
    assert doubt.uncertainty == pytest.approx(math.sqrt(3 + 0.5 + 16 / 3))


def test_equal_sets_tie_and_nothing_could_change_that():
    text = choosing.SMALL.replace("piston = { about = 402, within = 4 }", "piston = { about = 400, within = 4 }")
    text = text.replace("about = 390", "about = 380")
    for by in ("bobweight", "reciprocating", "pull", "bolt", "speed", "force", "couple"):
        order = ranked(text, by)
        assert [one.rank for one in order] == [1, 1], by
        assert [one.doubt for one in order] == [None, None], by


def test_who_comes_third_may_come_first():
    third = '\n[[set]]\nname = "D"\n' + choosing.SMALL[
        choosing.SMALL.index("piston = { about = 402") : choosing.SMALL.index("[[crank]]")
    ].replace("about = 402, within = 4", "about = 410, within = 30")
    order = ranked(choosing.SMALL.replace("[[crank]]", third + "[[crank]]"), "bobweight")
    assert [one.candidate.parts.name for one in order] == ["A", "B", "D"]
    assert (order[2].before, order[2].doubt.could_change) == (0, True)


def test_what_shakes_is_doubted_by_the_scatter_of_the_pieces():
    """Two pistons of one box move the throws alike; only their scatter shakes a twin's couple, or its force."""
    text = choosing.SMALL.replace("within = 4 }", "within = 4, scatter = 2 }")
    for by in ("force", "couple"):
        order = ranked(text, by)
        sure = [comparing._shaking_sure(one.candidate, one.candidate, by)[0] for one in order]
        doubt = order[1].doubt
        if doubt is not None and doubt.could_change:
            assert doubt.uncertainty == pytest.approx(math.hypot(*sure))
            assert dict(doubt.kinds)["piston"] == pytest.approx(1.0)


def test_without_lengths_masses_are_told_and_nothing_else():
    text = choosing.SMALL.replace("stroke = 80.0\n", "")
    one = worked(text)[0]
    assert one.value("bobweight") == pytest.approx(763.5)
    assert [one.value(by) for by in ("pull", "force", "speed", "slugs", "price")] == [None] * 5
    order = ranked(text, "pull")
    assert [place.rank for place in order] == [1, 1]


@pytest.fixture(scope="module")
def demos():
    """Of the demo, one set on both cranks."""
    text = choosing.demo_text()
    start, end = text.index('[[set]]\nname = "cast from the shop"'), text.index("[[crank]]")
    found = candidates.build(text[:start] + text[end:])
    return found, comparing.candidates(found.pairs, found.tools, found.prices)


def test_metal_slugs_and_holes_are_those_of_the_stations_plan(demos):
    found, made = demos
    for pair, one in zip(found.pairs, made, strict=True):
        weights, job = one.result.bobweights.throws, pair.job
        plan = against_target(
            [throw.bobweight.value_g for throw in weights],
            pair.crank.target_g,
            job.engine.throw_radius_mm,
            job.layout.throws,
            pair.crank.crank,
            found.tools,
            (job.station.front_plane_mm, job.station.rear_plane_mm),
            allowed_gmm=comparing.allowed_gmm(job),
        ).plan
        holes = (*plan.operations, *plan.then)
        assert one.expected.middle.slugs == sum(hole.kind == "slug" for hole in holes)
        assert one.expected.middle.holes == sum(hole.kind != "slug" for hole in holes)
        assert one.expected.middle.metal_g == pytest.approx(sum(h.mass_g for h in holes if h.kind != "slug"))
        assert one.expected.is_enough


def test_parts_lighter_than_the_target_are_drilled_for_and_heavier_ones_take_slugs(demos):
    _, (light, heavy) = demos
    assert light.masses.target.most_g < 1850
    assert light.expected.heavy.slugs == 0 < light.expected.light.holes
    assert heavy.masses.target.least_g > 1740
    assert heavy.expected.light.slugs > 0


def test_the_price_is_the_sum_that_a_hand_makes(demos):
    """8 · (96 + 14 + 80 + 9 + 2 + 11) = 1696 of parts; 900 for the crank; 4 h · 85 = 340; a slug 38, a hole 6."""
    _, made = demos
    for one, crank in zip(made, (900, 780), strict=True):
        work = one.expected.middle
        assert one.value("price") == pytest.approx(1696 + crank + 340 + 38 * work.slugs + 6 * work.holes)
        assert one.cost.unpriced == ()


def test_the_same_parts_are_light_or_heavy_on_both_cranks(demos):
    """Never on one alone: their prices are held against each other end by end."""
    _, made = demos
    order = comparing.ranked(made, "price")
    doubt = order[1].doubt
    ends = list(zip(order[0].candidate.cost.totals, order[1].candidate.cost.totals, strict=True))
    assert doubt.could_change == any(b <= a for a, b in ends)
    assert doubt.uncertainty is None


def test_what_has_no_price_is_told_and_never_taken_for_cheap():
    text = choosing.SMALL.replace("target = 800", "target = 800\nprice = 500")
    one = worked(text)[0]
    assert one.cost.totals == (500, 500, 500)
    assert "piston" in one.cost.unpriced
    assert "rod" in one.cost.unpriced
    assert one.value("price") is None
    assert worked(choosing.SMALL)[0].cost is None


def test_a_shops_work_without_its_price_is_told():
    unpriced = []
    prices = candidates.PricesTable(hours=4)
    assert comparing.shop_price(prices, comparing.Work(10.0, 1, 2, is_enough=True), unpriced) == 0
    assert unpriced == ["hour", "slug", "hole"]
    assert comparing.shop_price(None, None, []) == 0


def test_a_crank_that_does_not_come_inside_is_last_and_has_no_figure():
    """Balanced bare, with no slug at hand: no drill makes up for a whole bobweight."""
    text = choosing.demo_text()
    text = (
        text[: text.index("[[slug]]")]
        .replace("target = 1740 ", "bare = true ")
        .replace("target = 1740", "bare = true")
    )
    start, end = text.index('[[set]]\nname = "cast from the shop"'), text.index("[[crank]]")
    order = ranked(text[:start] + text[end:], "holes")
    assert [one.candidate.crank.name for one in order] == ["crank A", "crank B"]
    assert not order[1].candidate.expected.middle.is_enough
    assert order[1].candidate.value("holes") is None
    assert order[1].doubt is None
