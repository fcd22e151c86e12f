"""Arrangement and metal in one programme."""

import itertools
import os
import signal
import threading

import pytest
from metal_jobs import hardly_inside, is_proved_the_least_of_all, is_proved_within_rules, least_of_all
from scattered_jobs import uneven

from truethrow.balance.matching import heights
from truethrow.balance.matching.match import match


@pytest.fixture(autouse=True)
def _too_large(monkeypatch):
    """As if every engine were too large for the search by heights."""
    monkeypatch.setattr(heights, "MOST_ELEMENTS", 0)


@pytest.mark.simulation(whole=12, sample=2)
def test_of_all_arrangements_of_a_four_the_best_is_found_and_proved(seed):
    assert is_proved_the_least_of_all(hardly_inside(seed, "inline-4", 4))


@pytest.mark.simulation(whole=12, sample=2)
def test_where_parts_are_not_equally_sure_no_bound_is_above_the_best(seed):
    result = uneven(seed, "inline-4", 4)
    (metal,) = match(result, 60).reached
    least = least_of_all(result)
    assert metal.bound <= least + 1e-3
    assert metal.value == pytest.approx(least, abs=1e-3)
    assert metal.bound > 0.9 * least


def test_rules_hold_in_it_too():
    assert is_proved_within_rules()


def test_ctrl_c_ends_it_with_the_best_so_far():
    result = hardly_inside(2)
    told = threading.Event()

    def press():
        told.wait()
        os.kill(os.getpid(), signal.SIGINT)

    threading.Thread(target=press, daemon=True).start()
    looks = itertools.count()

    def progress(*_):
        if next(looks):  # after the first search: the programme comes next
            told.set()

    found = match(result, 600, progress)
    (metal,) = found.reached
    assert found.broken_off or metal.bound == metal.value  # the programme may be through before the key is pressed
    assert metal.bound <= metal.value < metal.before
