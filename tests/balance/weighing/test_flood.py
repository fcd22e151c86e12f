"""A scale that sends more than anybody can read."""

import pytest

from truethrow.balance.weighing.flood import FloodGuard
from truethrow.balance.weighing.scaleline import Trouble


def test_a_steady_scale_passes_whole():
    guard = FloodGuard()
    assert [guard.sift([str(i)], i / 150) for i in range(600)] == [[(i / 150, str(i))] for i in range(600)]


def test_of_a_flood_the_newest_goes_on_and_one_sentence_a_second():
    guard, passed = FloodGuard(), []
    for i in range(3000):
        passed += guard.sift([str(i)], i / 1000)
    passed += guard.sift([], 3.1) + guard.sift([], 4.5)
    lines = [item for _, item in passed if isinstance(item, str)]
    floods = [at_s for at_s, item in passed if isinstance(item, Trouble)]
    assert 200 < len(lines) < 300
    assert lines == sorted(lines, key=int)
    assert lines[-1] == "2999"
    assert floods == pytest.approx([0.2, 1.2, 2.2], abs=0.01)


def test_a_burst_in_one_piece_leaves_its_newest():
    assert [item for _, item in FloodGuard().sift([str(i) for i in range(900)], 1.0)][1:] == ["899"]
