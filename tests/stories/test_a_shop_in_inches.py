"""A shop in inches and ounces is told nothing in grams or millimeters: a V8 is walked from the first bobweight to
the signature through the command line, with every way of going wrong on the way."""

from __future__ import annotations

import re

import inch_shop
import invented
import pytest

# What a metric figure looks like: a unit by itself, or behind a number.
METRIC = re.compile(
    r"g·mm|g·cm|g/mm|N·m|kg|\b\d[\d.,]* ?(?:g|mm|cm|N)\b|\[(?:g|mm|N)\]|\bmm\b|GRAMS|[A-Z][A-Za-z]+\([a-z_]+="
)


def metric(shop):
    """The lines of all that was said in which a figure is metric."""
    return [
        f"{command}: {line}"
        for command, told in shop.said
        for line in told.splitlines()
        if METRIC.search(line) and not line.lstrip().startswith('"')
    ] + [
        # Of what machines read the sentences alone: its figures are always in g, mm and degrees.
        f"{command}: {line}"
        for command, told in shop.said
        for line in told.splitlines()
        if line.lstrip().startswith('"') and METRIC.search(line) and " " in line.partition(": ")[2].strip()
    ]


def at_the_bench(shop):
    for command in ("hang", "check --picture", "work", "trim", "sure", "share", "forecast", "next"):
        name, *more = command.split()
        shop.run(name, *more)
    shop.run("shake", "--at", "4200")
    for figure in (("bobweight", "1"), ("hang",), ("plane", "front"), ("spread", "piston")):
        shop.run("working", *figure)
    shop.run("match", "--seconds", "1")
    shop.run("replace", "piston", "3")


def before_anything_is_cut(shop):
    shop.run("what-if", "--turned-to", "3.4in")
    shop.run("what-if", "--part", "piston -0.4", "--share", "0.48")
    shop.run("what-if", "--part", "piston = 900")
    shop.run("what-if", "--part", "piston -100")
    shop.run("what-if", "--oil", "50")
    shop.run("what-if", "--oil", "50000")
    for radius in ("3.4in", "9in", "2.06in", "0.5in", "1000in"):
        shop.run("turn", "--to", radius)
        shop.at("turn", "--to", radius)
    shop.at("target", "--target", "64oz")
    shop.at("target", "--target", "80oz")
    shop.at("order")
    shop.at("convert")
    shop.run("clearance")


def at_the_station(shop):
    shop.at("stack")
    for command in ("spins", "holes"):
        shop.at(command)
    told = shop.at("spin", *shop.shows())
    for command in ("spins", "spins --picture", "spins --json", "holes"):
        name, *more = command.split()
        shop.at(name, *more)
    shop.at("sign", "--by", "AB")
    # Known masses that are none, one that is too light, and two that disagree.
    shop.at("test-mass", "--front", "1oz@30", "--rear", "1oz@120", "--radius", "30in", *shop.shows(10, 10))
    shop.at(
        "test-mass", "--mass", "0.01oz", "--plane", "front", "--at", "30", "--radius", "4in", *shop.shows(7, 0)
    )
    shop.at("spins")
    shop.at(
        "test-mass", "--mass", "1oz", "--plane", "front", "--at", "30", "--radius", "4in", *shop.shows(4000, 0)
    )
    told = shop.at("spins")
    shop.at("spins", "--json")
    shop.run("strike", "--last", "--yes")
    shop.run("strike", "--last", "--yes")
    told = shop.at("spins")
    assert "agree" in shop.prove(told)


def drilled(shop):
    shop.at("holes")
    shop.at("holes", "--json")
    shop.at("holes", "--done", "1=9in")
    shop.at("holes", "--done", "1=0.001in")
    shop.at("holes", "--did", "1b, 200 deg, 1/2 in drill, 0.4 in deep", "--dry-run")
    shop.at("holes", "--did", "1b, 200 deg, 1/2 in drill, 40 in deep")
    shop.drilled()
    shop.at("holes", "--done")
    shop.at("holes", "--done", "1=1.1in")
    shop.at("spins")
    shop.at("sign", "--by", "AB")
    shop.at("spin", *shop.shows())


def edited(shop, was, now):
    text = shop.station.read_text(encoding="utf-8")
    assert was in text
    shop.station.write_text(text.replace(was, now), encoding="utf-8")
    for command in ("spins", "holes", "profile", "spins --json"):
        name, *more = command.split()
        shop.at(name, *more)
    shop.at("sign", "--by", "AB")
    shop.station.write_text(text, encoding="utf-8")


def turned(shop):
    """A counterweight that the job has otherwise since the last spin, for as long as it is looked at."""
    text = shop.job.read_text(encoding="utf-8")
    radius = re.search(r"outer_radius = (\S+)", text)
    shop.job.write_text(text.replace(radius[0], "outer_radius = 3.2", 1), encoding="utf-8")
    assert f"outer_radius of 1a {radius[1]} → 3.2 in" in shop.at("spins")
    for asked in (("turn", "--to", "3.1in"), ("what-if", "--oil", "0.2")):
        assert "Nothing here goes on from the last spin: the [crank] in the job is not" in shop.at(*asked)
    shop.at("sign", "--by", "AB")
    shop.job.write_text(text, encoding="utf-8")


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """All of it, once."""
    made = inch_shop.Shop(tmp_path_factory.mktemp("inches"))
    at_the_bench(made)
    before_anything_is_cut(made)
    at_the_station(made)
    edited(made, 'floor = "0.03 oz in"', 'floor = "0.04 oz in"')
    drilled(made)
    edited(made, 'unit = "oz in"', 'unit = "oz"\nradius = "4 in"')
    made.at("sign", "--by", "AB")
    made.at("spins")
    turned(made)
    made.run("history")
    made.run("next")
    return made


def test_no_figure_is_metric_where_all_is_in_inches(shop):
    assert not metric(shop)


def test_it_gets_to_the_signature(shop):
    assert any("Signed by AB" in told for _, told in shop.said)


def test_an_order_tells_what_was_typed_as_it_was_typed(tmp_path):
    limits = {"crank_mass": "38 lb", "grade": 6.3}
    made = inch_shop.Shop(tmp_path, invented.text(inch_shop.document(station=limits)))
    assert "; oil 0.14 oz a throw; a crank of 38 lb." in made.at("order")
    assert "oil 0.14 oz a throw; a crank of 17.24 kg." in made.at("order", "--show", "metric")
    assert [line for line in metric(made) if "--show metric" not in line] == []


def test_a_refusal_says_that_its_figure_is_the_spin_alone(shop):
    """Beside what turns in the engine it would be another figure of the same plane."""
    said = [
        told for command, told in shop.said if command.startswith("sign ") and " of the crank, outside" in told
    ]
    assert said
    assert all("plane as spun: " in one for one in said)


def test_what_is_metric_would_be_seen():
    seen = ("12.4 g", "tolerance 144 g·mm", "15 mm deep", "--radius 90mm", "front [g]", "DEPTH mm deep", "2 N")
    assert all(METRIC.search(one) for one in seen)
    unseen = ("1.2 oz·in", "3.5 in", "spin 2", "0.5 oz", "rig 12 gauge", "NOT")
    assert not any(METRIC.search(one) for one in unseen)


def test_what_is_wrong_is_told_in_the_unit_that_was_typed_or_else_in_the_shops(tmp_path):
    """A shop in inches slips in every table and every option that has a limit: no fault is metric."""
    made = inch_shop.Shop(tmp_path)
    made.at("spin", *made.shows())
    for wrong in ("0in", "2000in"):
        made.at("holes", "--did", f"1b, 200 deg crank, 1/2 in drill, {wrong} deep")
    for said in (
        "1b, 200 deg crank, 0.01 drill, 0.4 deep",
        "1b, 200 deg crank, 1/2 in drill, 3.2 in deep",
        "1b, 200 deg crank, 1/2 in drill, 2 in deep, along the crank, 3 in radius, from the front",
        "1b, 200 deg crank, 1/2 in drill, 0.4 in deep, along the crank, 9 in radius, from the front",
        "1b, 200 deg crank, ground 20 deg wide, 30 in deep",
        "1b, 200 deg crank, 1/2 in drill, 0.4 in deep, 4 in off",
        "1b, 200 deg crank, took 9000 oz, 3 in radius",
    ):
        made.at("holes", "--did", said)
    made.at("target", "--target", "1e6oz")
    made.at("order", "--target", "1e6oz")
    made.at("order", "--target", "0")
    made.at("target", "1e6")
    made.at("turn", "--to", "9000in")
    made.at("stack", "1=0", "--built")
    made.at("stack", "1=9", "--built")
    made.at("stack", "1=64", "--built")
    made.at("test-mass", "--mass", "1e6oz", "--plane", "front", "--at", "30", "--radius", "900in", *made.shows())
    made.run("weigh", "--nothing-such")
    slips = [
        ("stroke = 3.622", "stroke = 9000"),
        ("piston = 0.03", "piston = 0"),
        ("piston = 0.03", "piston = 90000"),
        ("outer_radius = 3.543", "outer_radius = 0.1"),
        ("thickness = 0.945", "thickness = -1"),
        ("capacity = 100", "capacity = 0"),
        ("oil = 0.14", "oil = -3"),
    ]
    for was, now in slips:
        wrong_in(made, made.job, was, now)
    for was, now in (
        ('floor = "0.03 oz in"', 'floor = "-1 oz in"'),
        ('diameter = "1/2 in"\nstep = "0.02 in"', 'diameter = "1/2 in"\nstep = "0.001 in"'),
        ('deepest = "1.2 in"', 'deepest = "9000 in"'),
        ('mass = "8 oz"', 'mass = "0.00001 oz"'),
        ('unit = "oz in"', 'unit = "oz"\nradius = "0.1 in"'),
        ('clamp_half = "12 oz"', 'clamp_half = "-12 oz"'),
    ):
        wrong_in(made, made.station, was, now)
    assert sum("; allowed: " in told for _, told in made.said) >= 20
    # A drill that is no drill in inches is asked back as one in millimeters: that alone.
    assert [line for line in metric(made) if "with its unit: 0.01 mm drill" not in line] == []


def wrong_in(shop, path, was, now):
    """A file with a slip in it, for as long as one command reads it: that is told."""
    text = path.read_text(encoding="utf-8")
    assert was in text, was
    path.write_text(text.replace(was, now, 1), encoding="utf-8")
    told = shop.at("spins")
    path.write_text(text, encoding="utf-8")
    assert "allowed: " in told, (now, told)


def test_a_hole_is_told_by_the_history_and_canceled_in_inches_and_typed_again_from_it(tmp_path):
    made = inch_shop.Shop(tmp_path)
    made.at("spin", *made.shows())
    made.prove(made.at("spins"))
    assert "done" in made.at("holes", "--did", "1b, 200 deg crank, 1/2 in drill, 0.4 in deep")
    told = made.run("history")
    assert "at crank 200° radius" in " ".join(told.split())
    assert "diameter 0.5 in depth 0.4 in" in " ".join(told.split())
    assert "0.4 in" in made.run("strike", "--last", "--yes")
    assert metric(made) == []
