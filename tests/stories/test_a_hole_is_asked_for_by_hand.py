"""Somebody asks how a hole of the plan is worked while nothing is to be drilled: no angle and no depth is shown
anywhere, only what is in the way, and what to do."""

from __future__ import annotations

import pytest
from balancing_shop import Station, polar

CAUTION = "Drill only where the maker allows"


def made(folder, *, proved=True):
    shop = Station(folder, unit="g·mm", about={"crank": "C-9"})
    shop.crank = [polar(1030, 170), polar(700, 10)]
    shop.spin()
    if proved:
        assert shop.hang()[0] == 0
    return shop


def is_refused(shop, folder):
    """No hole and no page of it, no model: the same that a hole that is reported as done is refused with."""
    state = shop.state()
    assert state["plan"] is None
    why = shop.refuses("holes", "--done").replace(f"{shop.job}: ", "")
    page, model = folder / "hole.html", folder / "holes.lp"
    said = shop.refuses("working", "hole", "1", "--out", page)
    assert all(reason in said for reason in state["withheld"])
    assert all(line in why for line in said.splitlines())
    assert shop.refuses("holes", "--model", model).splitlines() == said.splitlines()
    assert not page.exists()
    assert not model.exists()
    _, listed = shop.run("working")
    assert "working" in listed
    assert "hole 1" not in listed
    return said


def test_no_known_mass_has_agreed_yet(tmp_path):
    said = is_refused(made(tmp_path, proved=False), tmp_path)
    assert "truethrow test-mass" in said


def test_a_known_mass_disagrees(tmp_path):
    shop = made(tmp_path, proved=False)
    shop.hang(grams=200.0)
    shop.zero = 90.0
    shop.hang()
    is_refused(shop, tmp_path)


@pytest.mark.parametrize(
    ("was", "now"),
    [('crank = "', 'crank = "other '), ("oil = ", "oil = 9"), ("outer_radius = ", "outer_radius = 1")],
)
def test_the_job_was_edited(tmp_path, was, now):
    shop = made(tmp_path)
    assert shop.run("working", "hole", "1")[0] == 0
    text = shop.job.read_text(encoding="utf-8")
    assert was in text
    shop.job.write_text(text.replace(was, now, 1), encoding="utf-8")
    is_refused(shop, tmp_path)


def test_where_it_may_be_drilled_it_is_shown_with_its_caution(tmp_path):
    shop = made(tmp_path)
    page = tmp_path / "hole.html"
    status, said = shop.run("working", "hole", "1", "--out", page)
    assert status == 0
    assert CAUTION in " ".join(said.split())
    assert CAUTION in page.read_text(encoding="utf-8")


def test_what_is_drilled_is_worked_whatever_is_in_the_way(tmp_path):
    shop = made(tmp_path)
    assert shop.run("holes", "--done", "1")[0] == 0
    (done,) = (one["done"] for one in shop.state()["plan"]["operations"] if one["done"])
    text = shop.job.read_text(encoding="utf-8")
    shop.job.write_text(text.replace("outer_radius = ", "outer_radius = 1", 1), encoding="utf-8")
    assert shop.state()["plan"] is None
    shop.refuses("working", "hole", "2")
    status, said = shop.run("working", "hole", done)
    assert (status, done in said) == (0, True)
