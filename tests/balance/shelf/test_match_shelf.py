"""Engines out of pools of parts: every part once, whatever the order, with rules kept."""

from __future__ import annotations

import random

import pytest
from pools import invented, match, standing

from truethrow.balance.base.errors import BadInput
from truethrow.balance.shelf import match_shelf


def weighed(engine):
    """What the parts of an engine cost, worked out by hand."""
    x = [sum(part.reciprocating_g for part in filled.parts.values()) for filled in engine.cylinders]
    big = [sum(part.big_end_g for part in filled.parts.values()) for filled in engine.cylinders]
    return sum(x) - len(x) * min(x) + sum(big) - len(big) * min(big)


def test_every_part_is_used_once_and_the_grams_are_those_of_the_parts():
    shelf = invented(43, 5, more=[("rod", 3)])
    found = match(shelf, seconds=0.6)
    assert len(found.engines) == 5
    for kind, pool in shelf.pools.items():
        used = [filled.parts[kind] for engine in found.engines for filled in engine.cylinders]
        assert sorted([*used, *found.leftovers[kind]]) == sorted(pool)
        assert len(used) == 40
    assert sum(weighed(engine) for engine in found.engines) == pytest.approx(found.cost_g, abs=1e-9)
    for engine in found.engines:
        assert engine.cost_g == pytest.approx(weighed(engine), abs=1e-9)
        filled = engine.cylinders[0]
        given = 3.2 + sum(part.reciprocating_g for part in filled.parts.values())
        assert filled.reciprocating_g == pytest.approx(given, abs=1e-9)


def test_leaving_parts_out_is_part_of_the_search():
    shelf = invented(40, 7)
    every, best_two = match(shelf, seconds=1.0), match(shelf, 2, seconds=1.0)
    assert len(best_two.engines) == 2
    assert best_two.cost_g < sum(sorted(engine.cost_g for engine in every.engines)[:2])
    assert [len(parts) for parts in best_two.leftovers.values()] == [24, 24, 24]


def test_what_is_told_as_beaten_by_none_is_the_best_that_was_shown():
    """Each bound holds by itself, so the largest is what the answer is held to; and it gets beyond nothing."""
    heard = []
    found = match(invented(24, 8, "inline-4"), seconds=1.0, progress=lambda *told: heard.append(told))
    bounds = [bound_g for _, bound_g, _ in heard]
    assert bounds == sorted(bounds)
    assert found.bound_g == pytest.approx(max(bounds), abs=1e-9)
    assert 0 < found.bound_g <= found.cost_g


def shuffled(shelf, seed):
    draw = random.Random(seed)
    pools = {kind: tuple(draw.sample(pool, len(pool))) for kind, pool in shelf.pools.items()}
    return shelf._replace(pools=dict(draw.sample(list(pools.items()), len(pools))))


def test_the_order_of_the_rows_changes_nothing():
    shelf = invented(24, 8, "inline-4")
    one, other = (match(s, seconds=1.0, now=standing) for s in (shelf, shuffled(shelf, 1)))
    assert not one.stopped and not other.stopped
    assert one.cost_g == other.cost_g
    assert one.bound_g == other.bound_g
    assert one.engines == other.engines


def test_parts_of_a_bank_sit_on_it_and_the_rest_anywhere():
    shelf = invented(40, 9)
    pistons = tuple(
        part._replace(bank=("left", "right", "")[i % 3 if i < 30 else i % 2])
        for i, part in enumerate(shelf.pools["piston"])
    )
    rods = tuple(part._replace(bank="left") if i < 6 else part for i, part in enumerate(shelf.pools["rod"]))
    shelf = shelf._replace(pools={"rod": rods, "piston": pistons, "pin": shelf.pools["pin"]})
    found = match(shelf, seconds=0.6)
    bank = {place.cylinder: place.bank for place in shelf.layout.places}
    for filled in (filled for engine in found.engines for filled in engine.cylinders):
        for part in filled.parts.values():
            assert part.bank in ("", bank[filled.cylinder])
    assert len(found.engines) == 5
    assert found.cost_g <= found.sorted_g


def test_fitted_parts_stay_with_their_piston():
    shelf = invented(24, 10, "inline-4", ("rod", "piston", "pin", "rings"), more=[("piston", 3)])
    pins = tuple(p._replace(together=f"p{i:04}") if i % 3 == 0 else p for i, p in enumerate(shelf.pools["pin"]))
    rings = tuple(p._replace(together=f"p{i:04}") if i % 4 == 0 else p for i, p in enumerate(shelf.pools["rings"]))
    found = match(shelf._replace(pools=dict(shelf.pools) | {"pin": pins, "rings": rings}), seconds=1.0)
    held = 0
    for filled in (filled for engine in found.engines for filled in engine.cylinders):
        for kind in ("pin", "rings"):
            held += bool(filled.parts[kind].together)
            assert filled.parts[kind].together in ("", filled.parts["piston"].label)
    assert held == 8 + 6
    assert found.cost_g < found.sorted_g


def test_fitted_parts_that_leave_too_few_are_told():
    shelf = invented(4, 1, "inline-4", ("piston", "pin", "rings"), more=[("piston", 4)])
    pins = tuple(p._replace(together=f"p{i:04}") for i, p in enumerate(shelf.pools["pin"]))
    rings = tuple(p._replace(together=f"p{i + 4:04}") for i, p in enumerate(shelf.pools["rings"]))
    with pytest.raises(BadInput, match="too few for 1 engine that stay with no piston"):
        match(shelf._replace(pools=dict(shelf.pools) | {"pin": pins, "rings": rings}))


def test_pistons_that_others_stay_with_are_taken_before_any_that_nothing_stays_with():
    """Four pistons of each bank and one of any; its pin stays with that one, so it must be used."""
    shelf = invented(8, 1, "v8-90-crossplane", ("piston", "pin"), more=[("piston", 1)])
    banks = {f"p{i:04}": ("left", "right")[i % 2] for i in range(8)}
    pistons = tuple(p._replace(bank=banks.get(p.label, "")) for p in shelf.pools["piston"])
    pins = (shelf.pools["pin"][0]._replace(together="p0008"), *shelf.pools["pin"][1:])
    (engine,) = match(
        shelf._replace(pools=dict(shelf.pools) | {"piston": pistons, "pin": pins}), seconds=0.3
    ).engines
    assert "p0008" in {filled.parts["piston"].label for filled in engine.cylinders}


def test_one_kind_alone_has_its_least_proved():
    shelf = invented(24, 17, "inline-4", ("piston",))
    found = match(shelf, seconds=1.0)
    assert found.proved
    assert found.counts == "reciprocating masses"


def test_the_dearest_part_is_named_and_a_leftover_that_does_better():
    shelf = invented(8, 18)
    heavy = shelf.pools["rod"][0]._replace(big_end_g=460.0)
    found = match(shelf._replace(pools=dict(shelf.pools) | {"rod": (heavy, *shelf.pools["rod"][1:])}), seconds=0.3)
    assert found.costly.part == heavy
    assert found.costly.saves_g > 5
    assert found.costly.leftover is None


def test_a_busy_machine_gives_the_same_answer_later(monkeypatch):
    """Of a clock that goes fast the search minds nothing unless it was told how long it may take; and then that is
    told."""
    monkeypatch.setattr(match_shelf, "SECONDS", 0.4)
    shelf, clock = invented(40, 23), iter(range(10**9))
    quiet = match_shelf.match(shelf, now=standing)
    busy = match_shelf.match(shelf, now=lambda: next(clock) * 0.02)
    assert [one.cylinders for one in busy.engines] == [one.cylinders for one in quiet.engines]
    assert busy.stopped == quiet.stopped == ""
    clock = iter(range(10**9))
    assert match_shelf.match(shelf, seconds=0.4, now=lambda: next(clock) * 0.02).stopped == "time"


@pytest.mark.parametrize(
    ("engines", "seconds", "said"),
    [
        (6, 1.0, "--engines: 6 is out of reach; allowed: 1 to 5"),
        (0, 1.0, "--engines: 0 is out of reach; allowed: 1 to 5"),
        (None, 0.0, "--seconds: 0 is out of reach; allowed: above 0 and at most 3600"),
        (None, float("nan"), "--seconds: nan is out of reach"),
    ],
)
def test_options_out_of_reach(engines, seconds, said):
    with pytest.raises(BadInput, match=said):
        match(invented(40, 1), engines, seconds=seconds)


def test_single_cylinders_cost_nothing():
    found = match(invented(5, 19, "inline-1"), seconds=0.2)
    assert found.cost_g == 0
    assert found.proved
    assert found.costly is None


@pytest.mark.parametrize(("seconds", "searched_s"), [(None, 10.0), (4.0, 2.0)])
def test_the_bound_of_both_masses_has_its_part_of_a_given_time_and_else_comes_on_top(
    seconds, searched_s, monkeypatch
):
    """Half of a given time is searched, all of the usual ten seconds' work; a fifth of it by sorting."""
    asked = []
    for name in ("settle", "search"):
        monkeypatch.setattr(match_shelf, name, lambda problem, start, seconds, done: asked.append(seconds))
    match_shelf.match(invented(16, 3, "inline-4"), seconds=seconds, now=standing)
    assert asked == pytest.approx([0.2 * searched_s, 0.8 * searched_s])
