"""Turning counterweights and what must clear, by their commands."""

import cmath
import json
import math

import pytest
from demo_shop import FIRST, DemoShop
from planned import CLEAR
from within import demo


@pytest.fixture
def job(tmp_path):
    """The launch, none of it weighed, with what must clear."""
    demo.copy_into(tmp_path)
    file = tmp_path / "launch.toml"
    text = file.read_text(encoding="utf-8")
    before, marker, after = text.partition("# The readings are in")
    file.write_text(f"{before}{CLEAR}\n{marker}{after}", encoding="utf-8")
    (tmp_path / "floor").mkdir()
    (tmp_path / "station.toml").rename(tmp_path / "floor" / "station.toml")
    return file


def test_a_slip_of_a_length_that_must_clear_is_told_before_any_distance(job, shop):
    """16.2 typed as 1.62: the skirt seems to clear everything. Nothing is blocked by the doubt."""
    text = job.read_text(encoding="utf-8")
    assert "looks wrong" not in shop.run("clearance", job)[1]
    job.write_text(text.replace("skirt_below_pin = 16.2", "skirt_below_pin = 1.62"), encoding="utf-8")
    status, said = shop.run("clearance", job)
    assert status in (0, 1)
    assert said.splitlines()[0] == (
        "! skirt_below_pin: 1.62 mm looks wrong beside a bore of 105 mm; usual: 8.4 to 126 mm (common practice, "
        "no source). Is the point in its place, and the unit right? Until then no distance told here may be "
        'relied on. If it is right: checked = ["skirt_below_pin"] in [clearance].'
    )
    assert "beside a bore of 4.134 in; usual: 0.331 to 4.961 in" in shop.run("clearance", job, "--show", "inch")[1]
    (doubt,) = json.loads(shop.run("clearance", job, "--json")[1])["clearance"]["doubts"]
    assert (doubt["name"], doubt["length_mm"]) == ("skirt_below_pin", 1.62)
    is_right = '[clearance]\nchecked = ["skirt_below_pin"]'
    job.write_text(job.read_text(encoding="utf-8").replace("[clearance]", is_right), encoding="utf-8")
    assert "looks wrong" not in shop.run("clearance", job)[1]


def test_before_anything_is_weighed_it_tells_what_the_lathe_takes(job, shop):
    """By hand: (2/3)·ρ·t·(90³ − 86³)·sin 60° = 10,110 g·mm, 138.9 g, at the middle of the arc, half a turn on."""
    status, said = shop.run("turn", job, "--to", "86mm", "--json")
    found = json.loads(said)["lathe"]
    assert status == 0
    first = found["counterweights"][0]
    assert first["change"]["unbalance_gmm"] == pytest.approx(
        2 / 3 * 7.85e-3 * 24 * (90**3 - 86**3) * 3**0.5 / 2, abs=1e-3
    )
    assert first["change"]["crank_angle_deg"] == 0.0
    assert first["mass_g"] == pytest.approx(138.9, abs=0.05)
    assert found["plan"] is None
    said = shop.run("turn", job, "--to", "3.386in")[1]
    assert "1 front" in said
    assert "A crank that is in balance now should then read 21" in said
    assert "! A turned counterweight is weaker round its holes" in said
    assert "360°" not in said


def test_with_the_stations_profile_it_tells_what_that_costs(job, shop):
    station = job.parent / "floor" / "station.toml"
    status, said = shop.run(
        "turn", job, "--to", "89.5", "--station", station, "--counterweight", "1 front", "--json"
    )
    found = json.loads(said)["lathe"]
    assert status == 0
    assert found["heavy_metal"]
    assert {one["member"] for one in found["plan"]["operations"]} == {"1 front"}
    assert "Heavy metal is needed." in shop.run("turn", job, "--to", "89.5", "--station", station)[1]
    status, said = shop.run("turn", job, "--to", "80", "--station", station)
    assert status == 1
    assert "what would help" in said
    assert said.splitlines()[-1] == "Status 1: these tools do not bring both planes inside again."


def test_the_profile_beside_the_job_is_taken_and_told(job, shop):
    """As next and spin take it."""
    floor = job.parent / "floor" / "station.toml"
    named = shop.run("turn", job, "--to", "89.5", "--station", floor)
    floor.rename(job.parent / "station.toml")
    status, said = shop.run("turn", job, "--to", "89.5")
    told = f"Station: {job.parent / 'station.toml'}, beside the job.\n"
    assert (status, told in said) == (named[0], True)
    assert said.replace(told, "") == named[1]


def test_a_drilled_crank_is_turned_with_its_holes_and_from_its_last_spin(tmp_path):
    """The hole's part of the shell is not taken again, and the spin after it is where the planes start from."""
    shop = DemoShop(tmp_path)
    shop.must("spin", "--station", shop.station, *FIRST)
    plain = json.loads(shop.run("turn", shop.file, "--to", "86", "--json")[1])["lathe"]
    read = json.loads(shop.run("spins", shop.file, "--station", shop.station, "--json")[1])["residual"]
    bare = plain["change"]["front"], read[0] if isinstance(read, list) else read["front"], plain["then"]["front"]
    vectors = [complex(0, 0)] * 3
    for at, one in enumerate(bare):
        amount = one["unbalance_gmm"]
        vectors[at] = cmath.rect(amount, math.radians(one["crank_angle_deg"]))
    assert vectors[0] + vectors[1] == pytest.approx(vectors[2], abs=0.5)
    assert "From the last spin on, the crank should then read" in shop.run("turn", shop.file, "--to", "86")[1]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--to", "40"), "40 mm; allowed: between its inner radius, 52 mm, and its rim, 90 mm"),
        (("--to", "91"), "91 mm takes nothing off any counterweight"),
        (("--to", "3.4"), "between its inner radius"),
        (("--to", "x"), "--to: 'x' is not a number"),
        (("--to", "-3"), "--to: -3 is out of reach"),
        (("--to", "86", "--counterweight", "9"), "9 is none of the job's; allowed: 1 front, 1 rear"),
    ],
)
def test_what_cannot_be_turned_is_one_line_with_status_2(job, shop, words, said):
    status, told = shop.run("turn", job, *words)
    assert status == 2
    assert said in told


def test_what_comes_nearest_is_told_with_its_drawing(job, shop, tmp_path):
    status, said = shop.run("clearance", job, "--drawing", tmp_path / "nearest.svg")
    assert status == 0
    rows = [line.split("  ")[0] for line in said.splitlines()]
    assert rows[3:6] == ["piston 1, skirt", "counterweight 1 front", "counterweight 1 front"]
    assert "2.80  225.0°  inside" in said
    assert "Wanted at every place: 1.5 mm." in said
    assert "! Cold and at rest" in said
    drawn = (tmp_path / "nearest.svg").read_text(encoding="utf-8")
    assert "2.80 mm with throw 1 turned 225.0" in drawn
    found = json.loads(shop.run("clearance", job, "--json")[1])["clearance"]
    assert len(found["gaps"]) == 48
    assert found["not_looked_at"] == []


def test_what_has_too_little_is_status_1_and_turning_makes_room(job, shop):
    text = job.read_text(encoding="utf-8")
    job.write_text(text.replace("skirt_below_pin = 16.2", "skirt_below_pin = 20.0"), encoding="utf-8")
    status, said = shop.run("clearance", job, "--show", "inch")
    assert status == 1
    assert "-0.039" in said
    assert "TOUCHES" in said
    assert said.splitlines()[-1] == "Status 1: something touches, or has less than the least wanted."
    status, said = shop.run("clearance", job, "--turned-to", "86")
    assert status == 0
    assert "3.00" in said


def test_only_what_is_declared_is_looked_at_and_the_rest_is_named(job, shop):
    text = job.read_text(encoding="utf-8")
    job.write_text(
        text[: text.index("[[clearance.rod]]")] + text[text.index("# The readings") :], encoding="utf-8"
    )
    said = shop.run("clearance", job)[1]
    assert "Not looked at: rods: [[clearance.rod]]" in said
    assert "Not looked at: the camshaft: [[clearance.circle]]" in said
    job.write_text(text[: text.index("[clearance]")] + text[text.index("# The readings") :], encoding="utf-8")
    status, said = shop.run("clearance", job)
    assert status == 2
    assert "clearance: missing; allowed: a table [clearance], such as" in said
    job.write_text(text.replace("skirt_below_pin", "skirt_bellow_pin"), encoding="utf-8")
    assert "skirt_below_pin" in shop.run("clearance", job)[1]
