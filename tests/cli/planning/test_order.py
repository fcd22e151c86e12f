"""The order to the crank's maker, by its command."""

import json

import pytest


def test_what_is_forecast_is_held_against_what_drilling_does(estimated, shop):
    """The heavy end of the catalog's range needs heavy metal on a crank ordered for its middle, and none on one
    that is ordered as the tool says."""
    station = estimated.parent / "station.toml"
    status, said = shop.run("order", estimated, "--station", station)
    assert status == 1
    assert "! ESTIMATE: not weighed yet" in said
    assert "Target bobweight: 1849.2 g on every throw." in said
    assert "Angles count from throw 1 in the direction in which the crank turns" in said
    assert "Internal balance: the counterweights carry all of it." in said
    assert "OUTSIDE: parts at the heavy end of their range are" in said
    assert said.splitlines()[-1] == "Status 1: drilling alone may not do for these parts."
    enough = said.split("A crank that is ordered for ")[1].split(" or more")[0]
    status, said = shop.run("order", estimated, "--station", station, "--target", enough)
    assert status == 0
    assert "Wherever in their range the parts weigh in, drilling alone will do." in said
    found = json.loads(shop.run("order", estimated, "--station", station, "--target", enough, "--json")[1])[
        "order"
    ]
    assert found["needs_no_heavy_metal"]
    assert found["drilling_alone"]["lighter_g"] > 100


@pytest.mark.parametrize(
    ("typed", "said"), [("x", "--target: 'x' is not a number"), ("0", "out of reach"), ("5 mm", "--target")]
)
def test_a_target_that_is_none_is_one_line(estimated, shop, typed, said):
    status, told = shop.run("order", estimated, "--station", estimated.parent / "station.toml", "--target", typed)
    assert status == 2
    assert said in told


def test_without_a_crank_there_is_nothing_to_order_by(estimated, shop):
    text = estimated.read_text(encoding="utf-8")
    estimated.write_text(text[: text.index("[crank]")] + text[text.index("[estimate]") :], encoding="utf-8")
    status, told = shop.run("order", estimated, "--station", estimated.parent / "station.toml")
    assert status == 2
    assert "crank: missing; allowed: a table [crank] with its counterweights" in told


def test_a_page_for_the_maker_is_written(estimated, shop, tmp_path):
    station, page = estimated.parent / "station.toml", tmp_path / "order.html"
    assert shop.run("order", estimated, "--station", station, "--out", page)[0] == 1
    text = page.read_text(encoding="utf-8")
    assert "target bobweight" in text
    assert "ESTIMATE" in text
    status, said = shop.run("order", estimated, "--station", station, "--out", tmp_path / "order.txt")
    assert status == 2
    assert "--out: " in said
