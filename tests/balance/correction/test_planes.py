"""The verdict of each plane."""

from crank_walls import TIGHT, at

from truethrow.balance.correction import verdicts


def test_the_verdict_of_each_plane_counts_the_stations_uncertainty():
    assert verdicts(at(50, 0, 65, 90), (5.0, 10.0), TIGHT) == ("inside", "too close to call")
    assert verdicts(at(80, 0, 55.1, 90), (5.0, 5.0), TIGHT) == ("outside", "too close to call")
