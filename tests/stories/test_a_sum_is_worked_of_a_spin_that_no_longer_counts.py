"""Somebody works out by hand what is signed, of a spin that no longer counts: that is read first, and no line says
inside."""

from __future__ import annotations

import json

import pytest
from balancing_shop import Station, polar

SIGNED = "What is signed is what turns in the engine"


@pytest.fixture
def shop(tmp_path):
    """A crank that is inside, by a station that is proved."""
    made = Station(tmp_path, unit="g·mm", about={"crank": "C-9"})
    made.crank = [polar(30, 170), polar(20, 10)]
    made.spin()
    assert made.hang()[0] == 0
    return made


def must_not_be_gone_by(shop, folder):
    """What is read first, on the screen, on the page and in the data; each as the station itself tells it."""
    _, told = shop.run("working", "sum", "front", "--json")
    made = json.loads(told)["working"]
    first = made["against"]
    assert first
    assert "inside" not in made["lines"][-1]["from"]
    page = folder / "sum.html"
    status, screen = shop.run("working", "sum", "front", "--out", page)
    said = " ".join(screen.split())
    assert status == 0
    assert " ".join(f"! {first[0]}".split()) in said.partition("[station profile")[0]
    assert SIGNED not in said
    text = page.read_text(encoding="utf-8")
    assert "Read this first" in text
    assert ": no more than" not in text
    assert SIGNED not in text
    return first


def test_signed_it_is_inside_and_says_so(shop):
    assert shop.run("sign", "--by", "AB")[0] == 0
    _, told = shop.run("working", "sum", "front", "--json")
    made = json.loads(told)["working"]
    assert made["against"] == []
    assert made["lines"][-1]["from"].startswith("inside")
    assert SIGNED in made["said"]
    assert made["cautions"]


@pytest.mark.parametrize(
    ("was", "now", "why"),
    [
        ("outer_radius = ", "outer_radius = 1", "[crank] in the job is not as it was"),
        ("oil = ", "oil = 9", "bobweights"),
        ('crank = "', 'crank = "other ', "other C-9"),
    ],
)
@pytest.mark.parametrize("is_signed", [True, False])
def test_the_job_is_edited(shop, tmp_path, was, now, why, is_signed):
    if is_signed:
        assert shop.run("sign", "--by", "AB")[0] == 0
    text = shop.job.read_text(encoding="utf-8")
    shop.job.write_text(text.replace(was, now, 1), encoding="utf-8")
    first = must_not_be_gone_by(shop, tmp_path)
    assert any(why in one for one in first)
    assert len(first) == len(set(first))
    if is_signed:
        assert "that no longer holds" in first[0]


def test_no_known_mass_has_agreed(tmp_path):
    shop = Station(tmp_path, unit="g·mm")
    shop.crank = [polar(30, 170), polar(20, 10)]
    shop.spin()
    must_not_be_gone_by(shop, tmp_path)
