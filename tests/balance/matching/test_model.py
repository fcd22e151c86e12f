"""Matchings as models: solved again by a solver that the tool does not use, out of the file's text alone."""

import random

import invented
import pytest
import solved_again
from scattered_jobs import matched, scattered, worked

from truethrow.balance.base.model import text
from truethrow.balance.matching.match import ask, match, moves_of
from truethrow.balance.matching.model import arrangement_of, models
from truethrow.balance.matching.question import spread

SPREADS = ["bobweight", "reciprocating", "rotating"]


def asked_of(draw):
    """Aims and units that a general solver is done with in seconds."""
    if draw.random() < 0.3:
        return {"aims": ["bobweight"], "move": ["piston", "pin", "rod"]}
    aims = draw.sample(SPREADS, draw.randint(1, 2))
    move = draw.choice([["piston", "pin"], ["piston", "rod"]])
    return {"aims": ["limits", *aims] if draw.random() < 0.5 else aims, "move": move}


@pytest.mark.simulation(whole=20, sample=3)
def test_models_solved_again_agree(seed):
    """Every aim of a matching of some shop: the least is what the tool reached where it says that it is proved,
    and within what it says where it is not; the answer keeps every row. OPB and LP ask the same."""
    draw = random.Random(seed)
    parts = scattered(seed, big_end=draw.choice([0.4, 1.8]), piston=draw.choice([0.4, 1.2]))
    limits = {"bobweight": draw.choice([1.0, 3.0]), "reciprocating": draw.choice([1.5, 4.0])}
    rules = draw.choice([{}, {"fixed": ["piston 3"]}, {"apart": [["piston 5", "cylinder 2"]]}])
    found = matched(parts, limits=limits, match=asked_of(draw) | rules)
    made = models(found)
    assert made.left_out == ()
    assert [one.aim for one in made.written] == [one.name for one in found.reached]
    for one, reached in zip(made.written, found.reached, strict=True):
        kind = draw.choice([".opb", ".lp"])
        written = text(one.model, one.claim, kind)
        assert solved_again.wrong(written) == []
        own = solved_again.read(written)
        again = solved_again.solve(written)
        assert own.is_proved == reached.proved
        if own.is_proved:
            assert again == ("optimal", own.stated), (seed, one.aim)
        elif again.status == "optimal":
            assert own.bound <= again.value <= own.stated


def test_no_more_is_claimed_of_an_aim_where_the_one_before_it_stays_behind():
    """Nothing is worth a trade here once the parts are trimmed. What the second aim could not be below with the
    first at its least is no bound with the first as it is: a solver finds 28 steps there, and 37 had been told."""
    aims = {"aims": ["bobweight", "reciprocating"], "move": ["piston", "pin"]}
    limits = {"bobweight": 1.0, "reciprocating": 1.5}
    found = matched(scattered(7004, big_end=0.4, piston=0.4), limits=limits, match=aims)
    first, second = found.reached
    assert not found.moves
    assert first.bound < first.value
    again = solved_again.solve(text(*models(found).written[1][1:], ".lp"))
    assert again.status == "optimal"
    assert second.bound <= again.value / 10 + 1e-9  # steps of 0.1 g
    assert again.value / 10 < second.value - 0.1


def small(**tables):
    """An in-line four, with few arrangements."""
    engine = {"layout": "inline-4", "stroke": 80.0, "rod_length": 140.0, "cylinder_spacing": 90.0}
    move = {"match": {"move": ["piston", "pin"], **tables.pop("match", {})}}
    return matched(scattered(4, 4), engine=engine, **move, **tables)


def test_the_stated_value_is_the_spread_of_the_job_as_matched():
    found = small(match={"aims": ["reciprocating"]})
    (one,) = models(found).written
    said = solved_again.read(text(one.model, one.claim, ".opb"))
    (of_job,) = (s.spread_g for s in found.matched.spreads if s.quantity == "reciprocating")
    assert said.said("objective of the answer").endswith(f"({of_job:g} g)")
    assert said.said("job").startswith(f"{found.now.job.id}, digest {found.now.job.digest}")
    sits = {line.partition("; ")[2] for line in said.head if line.startswith("answer: ") and " = 1;" in line}
    for unit in found.units:
        came = {to: start for start, to in found.moves.get(unit, {}).items()}
        for cylinder in (1, 2, 3, 4):
            part = found.now.job.names.said(unit, came.get(cylinder, cylinder))
            assert f"{part} in cylinder {cylinder}" in sits


def test_a_better_arrangement_that_was_overlooked_shows():
    """The model of a worse answer, as if the tool had stopped at it: what a solver finds is below what it says."""
    found = small(match={"aims": ["reciprocating"]})
    (before,) = found.reached
    worse = found._replace(moves={}, reached=(before._replace(value=before.before, bound=before.before),))
    (one,) = models(worse).written
    written = text(one.model, one.claim, ".opb")
    assert solved_again.wrong(written) == []
    own = solved_again.read(written)
    assert own.is_proved  # so the tool would have said
    assert solved_again.solve(written).value < own.stated


def test_what_an_aim_before_has_reached_is_kept():
    found = small(match={"aims": ["reciprocating", "bobweight"]})
    first, second = models(found).written
    alone = models(small(match={"aims": ["bobweight"]})).written[0]
    assert "spread of the cylinders' reciprocating masses no more than" in "".join(second.claim.notes)
    rows = {row.name: row for row in second.model.rows}
    assert rows["reciprocating_kept"].than == first.model.value
    assert second.model.value >= alone.model.value


def test_limits_that_no_arrangement_meets():
    """Single pistons outside their limit, and a limit on sums out of reach: metal must come off whoever sits
    where."""
    for limits in ({"piston": 0.5, "bobweight": 30.0}, {"reciprocating": 0.3}):
        found = small(limits=limits, match={"aims": ["limits"]})
        (one,) = models(found).written
        assert one.model.value == 1
        for kind in (".opb", ".lp"):
            written = text(one.model, one.claim, kind)
            assert solved_again.wrong(written) == []
            assert solved_again.solve(written) == ("optimal", 1)


@pytest.mark.parametrize("engine", [{}, {"layout": "v6-60-even"}, {"rods_apart": 24.0, "rod_in_front": "right"}])
def test_the_worse_plane_solved_again_agrees(engine):
    """To a part in 26,000, which is how far a polygon of 360 corners is from its circle: 1 - cos(pi/360)."""
    count = 6 if "layout" in engine else 8 if engine else 4
    made = invented.V8 | ({} if count == 8 else {"layout": "inline-4"}) | engine
    aims = {"aims": ["residual"], "move": ["piston"] if count == 8 else ["piston", "pin"]}
    found = matched(scattered(4, count), engine=made, match=aims)
    (one,) = models(found).written
    written = text(one.model, one.claim, ".lp")
    assert solved_again.wrong(written, solved_again.NEAR) == []
    own, (reached,) = solved_again.read(written), found.reached
    assert "(or smaller by no more than a part in 26,000)" in own.said("verdict")
    assert float(own.stated) == pytest.approx(reached.value, rel=4e-5, abs=1e-5)
    again = solved_again.solve(written)
    assert again.status == "optimal"
    assert float(own.bound) * (1 - 4e-5) - 1e-5 <= again.value <= float(own.stated) + 1e-5
    ((_, why),) = models(found, ".opb").left_out
    assert why.startswith("lengths of vectors")


def test_metal_and_residual_have_none_in_whole_numbers_and_are_named_with_why():
    found = small(limits={"reciprocating": 0.3}, match={"aims": ["limits", "grams", "bobweight", "residual"]})
    made = models(found, ".opb")
    assert [one.aim for one in made.written] == ["limits"]
    why = dict(made.left_out)
    assert (
        why["bobweight"]
        == "it comes after grams: what comes off is no whole number, which OPB has alone: name it .lp"
    )
    assert why.keys() == {"grams", "bobweight", "residual"}
    inside = small(limits={"reciprocating": 90.0}, match={"aims": ["limits", "grams", "bobweight"]})
    assert [one.aim for one in models(inside).written] == ["limits", "grams", "bobweight"]


def test_the_arrangement_is_that_of_the_moves():
    result = worked(scattered(5), match={"aims": ["bobweight"]})
    found = match(result, 3600.0)

    question = ask(result, found.units)
    arrangement = arrangement_of(found, question)
    assert moves_of(result.job, question, arrangement) == found.moves
    value = int(spread(question.masses(arrangement).bobweight)) / question.per_g
    assert value == pytest.approx(found.reached[0].value, abs=1e-9)


@pytest.mark.parametrize("layout", ["inline-4", "inline-6", "v6-60-even", "v8-90-flatplane"])
def test_other_layouts(layout):
    count = {"inline-4": 4, "v8-90-flatplane": 8}.get(layout, 6)
    engine = invented.V8 | {"layout": layout}
    move = {"aims": ["bobweight"], "move": ["piston", "rod"]}
    found = matched(scattered(7, count), engine=engine, match=move)
    (one,) = models(found).written
    written = text(one.model, one.claim, ".opb")
    assert solved_again.wrong(written) == []
    if found.reached[0].proved:
        assert solved_again.solve(written) == ("optimal", one.model.value)
