"""A crank that reads 30,000 g·mm and scatters by a degree, then one that reads 36: what the gross runs scatter is
no floor for ever. More runs are asked for, and then it is inside."""

from __future__ import annotations

from balancing_shop import Station, polar

GROSS = ("30000@39", "20000@250", "30050@40", "20010@249", "29980@41", "19990@251")


def test_a_good_crank_after_gross_runs_is_not_told_that_it_can_never_be_inside(tmp_path):
    """36 ± 97 was told, and a slug of 6,739 g·mm ordered."""
    shop = Station(tmp_path, unit="g·mm")
    shop.crank = [polar(30_000, 40), polar(20_000, 250)]
    shop.spin(*GROSS)
    assert shop.hang()[0] == 0
    shop.spin(*GROSS)
    shop.crank = [polar(36, 40), polar(30, 250)]
    shop.spin()
    said = " ".join(shop.spin().split())
    assert "as far as its runs tell so far; spin more runs" in said
    assert "can never" not in said
    shop.must_not_be_signed_or_drilled()
    assert "known masses have to agree again" in " ".join(shop.state()["withheld"])
    assert shop.hang()[0] == 0
    assert "make 12 runs in one go" in " ".join(shop.state()["withheld"])
    shop.spin(*shop.shows() * 12)
    assert (shop.state()["withheld"], shop.state()["inside"]) == ([], True)
