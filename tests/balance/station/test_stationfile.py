"""The station's profile: what it says, and every fault of it in one answer."""

from __future__ import annotations

import pytest

from truethrow.balance import demo
from truethrow.balance.base.errors import BadInput
from truethrow.balance.crank.holes import Drill, Grinder, Slug
from truethrow.balance.station import stationfile
from truethrow.balance.station.stacked import Piece

SPIN = """
[spin]
unit = "g"
radius = 100.0
sense = "against"
zero = 30
amount_uncertainty = 2.0
angle_uncertainty = 2.0
floor = "0.05 oz·in"
"""


@pytest.fixture
def load(tmp_path):
    def made(text, needed=()):
        path = tmp_path / "station.toml"
        path.write_text(text, encoding="utf-8")
        return stationfile.load(path, needed)

    return made


def faults(load, text, needed=()):
    with pytest.raises(BadInput) as caught:
        load(text, needed)
    return [line.partition("station.toml: ")[2] for line in caught.value.lines()]


def test_the_demo_is_a_profile(load):
    profile = load(demo.text("station.toml"), ("spin", "stack", "piece", "drill"))
    assert profile.instrument.gmm == 100.0
    assert profile.tools.drills[0] == Drill(8.0, 118.0, 0.5, 20.0, "8 mm")
    assert profile.tools.slugs == (Slug(16.0, 16.0, 1),)
    assert Piece("plate 200", 200.0, 16) in profile.inventory.pieces


def test_quantities_may_have_a_unit_of_their_own(load):
    text = SPIN.replace("100.0", '"4 in"') + '[grind]\neach_pass = 0.5\ndeepest = "0.25 in"\n'
    profile = load(text)
    assert profile.instrument.radius_mm == pytest.approx(101.6)
    assert profile.instrument.floor_gmm == pytest.approx(0.05 * 720.077887375)
    assert (profile.instrument.with_rotation, profile.instrument.zero_deg) == (False, 30.0)
    assert profile.tools.grinder == Grinder(0.5, 6.35, 20.0)


def test_a_unit_of_unbalance_needs_no_radius(load):
    profile = load(SPIN.replace('unit = "g"\nradius = 100.0', 'unit = "oz-in"'))
    assert profile.instrument.gmm == 720.077887375


@pytest.mark.parametrize("unit", ["g·cm", "gcm", "g-cm"])
def test_gram_centimeters_are_a_unit(load, unit):
    assert load(SPIN.replace('unit = "g"\nradius = 100.0', f'unit = "{unit}"')).instrument.gmm == 10.0


def test_an_unknown_unit_is_told_what_there_is_each_once(load):
    (found,) = faults(load, SPIN.replace('unit = "g"', 'unit = "N·m"'))
    assert found.endswith("allowed: g, kg, mg, oz, lb; g·mm, g·cm, g·in, oz·in; divisions")


def test_a_station_that_is_sure_without_end_is_refused(load):
    """With all its doubts 0 every reading is exact, and a crank too close to call is signed."""
    text = '[spin]\nradius = 100\nsense = "with"\namount_uncertainty = 0\nangle_uncertainty = 0\nfloor = {}\n'
    (found,) = faults(load, text.format(0))
    assert found == (
        "spin, amount_uncertainty, angle_uncertainty and floor: 0, 0 and 0: no station is sure without end; "
        "allowed: what its maker or its calibration says, one of the three above 0 at least"
    )
    assert load(text.format(20)).instrument.floor_gmm == 20.0


def test_the_step_is_the_scale_s_without_one(load):
    profile = load("[stack]\nclamp_half = 350\n[[piece]]\nname = 'plate'\nmass = 100\ncount = 4\n")
    assert profile.inventory_for(0.1).step_g == 0.1
    assert profile.inventory_for(0.1).alike
    assert profile.instrument is None


def test_every_fault_at_once(load):
    found = faults(
        load,
        """
        [spin]
        unit = "N·m"
        sens = "with"
        amount_uncertainty = 200
        floor = -1
        [stack]
        step = 0
        [[piece]]
        name = "a"
        mass = 10
        count = 0
        [[piece]]
        name = "b"
        mass = "10 mm"
        count = 2
        [[drill]]
        point = 60
        [[slug]]
        diameter = 16
        length = 16
        density_class = 5
        [tools]
        """,
        ("grind",),
    )
    wheres = [line.partition(":")[0] for line in found]
    assert wheres == [
        "tools",
        "grind",
        "spin, sense; spin, angle_uncertainty; stack, clamp_half; drill 1, diameter",  # all of them missing
        "spin, unit",
        "spin, amount_uncertainty",
        "spin, floor",
        "spin",
        "stack, step",
        "piece 1, count",
        "piece 2, mass",
        "drill 1, point",
        "slug 1, density_class",
    ]
    assert found[6] == "spin: 'sens' is not known here (did you mean sense?)"


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (
            ("radius = 100.0\n", ""),
            "spin, radius: missing; allowed: the radius at which the station reads g",
        ),
        (
            ('unit = "g"', 'unit = "oz·in"'),
            "spin, radius: can't be combined with the unit oz·in; allowed: a radius for a mass only",
        ),
        (
            ('"against"', '"left"'),
            "spin, sense: 'left' is not known; allowed: with, against",
        ),
    ],
)
def test_what_does_not_go_together(load, change, told):
    assert faults(load, SPIN.replace(*change)) == [told]


def test_a_piece_stands_once(load):
    piece = "[[piece]]\nname = 'plate'\nmass = 100\ncount = 4\n"
    assert faults(load, piece * 2) == ["piece plate: is there twice; allowed: one table a piece, with its count"]


def test_tables_that_are_none(load):
    assert faults(load, "spin = 3\npiece = 4\n") == [
        "spin: 3 is not a table; allowed: a table [spin]",
        "piece: 4 is not a list; allowed: tables [[piece]]",
    ]


def test_what_is_too_light_or_too_fine_is_named(load):
    found = faults(
        load,
        """
        [[piece]]
        name = "dust"
        mass = 0.0004
        count = 9
        [[drill]]
        diameter = 10
        step = 0.0001
        [grind]
        each_pass = 0.01
        deepest = 3
        """,
    )
    assert found == [
        "piece dust, mass: 0.0004 g; allowed: no less than 0.001 g",
        "drill 10 mm, step: 0.0001 mm; allowed: no less than 0.05 mm",
        "grind, each_pass: 0.01 mm; allowed: no less than 0.05 mm",
    ]


def test_one_that_reads_divisions_says_only_how_sure_it_is(tmp_path):
    """Its floor in divisions; unit, sense and zero are told by trial masses, and the display tells no angle."""
    path = tmp_path / "meter.toml"
    text = '[spin]\nunit = "divisions"\namount_uncertainty = 2\nangle_uncertainty = 1\nfloor = 0.1\n'
    path.write_text(text, encoding="utf-8")
    made = stationfile.load(path).instrument
    assert (made.reads_divisions, made.gmm, made.floor_gmm, made.amount_part) == (True, 1.0, 0.1, 0.02)
    path.write_text(text + 'sense = "with"\nradius = 100\nup = 10\n', encoding="utf-8")
    with pytest.raises(BadInput) as caught:
        stationfile.load(path)
    assert [one.where for one in caught.value.faults] == ["spin, radius", "spin, sense", "spin, up"]


@pytest.mark.parametrize(
    ("said", "mm", "name"),
    [
        ("diameter = 12", 12.0, "12 mm"),
        ('diameter = "12.7 mm"', 12.7, "12.7 mm"),
        ('diameter = "1/2 in"', 12.7, "1/2 in"),
        ('diameter = "F"', 6.5278, "letter F"),
        ('diameter = "#7"', 5.1054, "#7"),
        ('diameter = "27/64"', 10.715625, "27/64 in"),
        ('diameter = "0.257 in"\nname = "F"', 6.5278, "F"),
    ],
)
def test_a_drill_is_called_by_its_name_or_by_its_size_as_the_shop_has_it(load, said, mm, name):
    """An F drill is 0.257 in across (ASME B94.11M, from memory)."""
    (drill,) = load(f"[[drill]]\n{said}\n").tools.drills
    assert (drill.diameter_mm, drill.name) == (pytest.approx(mm), name)
