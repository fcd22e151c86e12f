"""What a machinist writes beside a crank: sixty wordings and more, imagined, each read as the plain one beside it,
or refused with the line that mends it. No figure is taken for another: what can mean two things is refused."""

from __future__ import annotations

import cranks
import pytest

from truethrow.balance.base.amounts import ToldIn
from truethrow.balance.base.errors import BadInput
from truethrow.balance.crank import as_said, spoken
from truethrow.balance.crank.as_said import holes_said

HOLE = "1, 137 deg, 16 mm drill, 18 mm deep"
HALF = "1, 137 deg, 12.7 mm drill, 18 mm deep"
WELD = "1, 137 deg, added 12 g, 80 mm radius"
TOOK = "1, 137 deg, took 4.2 g, 80 mm radius"
SLUG = "1, 137 deg, 25 mm slug, 20 mm long, 62 mm radius, 148.2 g"
ARC = "1, 137 deg, ground 20 deg wide, 1.5 mm deep"


def crank():
    return cranks.crank(
        [
            cranks.weight("1", 0.0, 180.0),
            cranks.weight("2 front", 112.0, 90.0),
            cranks.weight("2 rear", 336.0, 180.0),
        ]
    )


READ = [
    ("1 at 137, 16 drill, 18 deep", HOLE),
    ("1 at 137 deg, 16 drill, 18 deep", HOLE),
    ("1 @ 137, 16 mm drill, 18 mm deep", HOLE),
    ("1 @137°, 16mm drill, 18mm deep", HOLE),
    ("1 137 deg, 16 drill, 18 deep", HOLE),
    ("1, 137, 16 drill, 18 deep", HOLE),
    ("1, at 137, 16 drill, 18 deep", HOLE),
    ("CW 1 at 137, drilled 16, 18 deep", HOLE),
    ("cw1, 137 deg, 16 drill, 18 deep", HOLE),
    ("#1, 137 deg, 16 mm drill bit, 18 mm deep", HOLE),
    ("counterweight 1, 137 degrees, drill 16 mm, depth 18 mm", HOLE),
    ("weight 1 at 137 degs, 16 mm dia, 18 mm down", HOLE),
    ("1, 137 deg, 16 mm dia. hole, 18 mm deep", HOLE),
    ("1, 137 deg, Ø16 mm, 18 mm deep", HOLE),
    ("1, 137 deg, 16 x 18", HOLE),
    ("1, 137 deg, 16x18 mm", HOLE),
    ("1, 137 deg, 16 mm x 18 mm deep", HOLE),
    ("1, 137 deg, 16 mm drill x 18 mm deep", HOLE),
    ("1, 137 deg, 16 mm drill 18 mm deep", HOLE),
    ("1, 137 deg, drill 16 mm deep 18 mm", HOLE),
    ("1, 137 deg, 16 mm drill and 18 mm deep", HOLE),
    ("1; 137 deg; a 16 mm drill; 18 mm deep", HOLE),
    ("1, 137 deg, with a 16 mm drill, 18 mm deep, into the rim", HOLE),
    ("1, 137 deg, 16 millimeter drill, 1.8 cm deep", HOLE),
    ("1, 137 deg, 16,0 mm drill, 18,0 mm deep", HOLE),
    ("1, 137 deg, 1/2 in drill, 18 mm deep", HALF),
    ("1, 137 deg, 1/2 drill, 18 mm deep", HALF),
    ('1, 137 deg, 1/2" drill, 18 mm deep', HALF),
    ("1, 137 deg, 1/2 inch drill, 18 mm deep", HALF),
    ("1, 137 deg, .5 in drill, 18 mm deep", HALF),
    ("1, 137 deg, 0.500 inches drill, 18 mm deep", HALF),
    ("1, 137 deg, 500 thou drill, 18 mm deep", HALF),
    ("1, 137 deg, 1/2 in drill, 1-1/2 in deep", "1, 137 deg, 12.7 mm drill, 38.1 mm deep"),
    ("1, 137 deg, 1/2 in drill, 1 1/2 in deep", "1, 137 deg, 12.7 mm drill, 38.1 mm deep"),
    ("1, 137 deg, 16 mm end mill, 18 mm deep", HOLE + ", flat"),
    ("1, 137 deg, 16 mm drill, flat bottom, 18 mm deep", HOLE + ", flat"),
    ("1, 137 deg, welded 12 g, 80 mm radius", WELD),
    ("1, 137 deg, welded on 12 grams at radius 80 mm", WELD),
    ("1, 137 deg, 12 g weld, 80 mm radius", WELD),
    ("1, 137 deg, plugged 12 g, 80 mm radius", WELD),
    ("1, 137 deg, put back 12 g, 80 radius", WELD),
    ("1, 137 deg, welded 12 g at the rim", "1, 137 deg, added 12 g, 90 mm radius"),
    ("1, 137 deg, took off 4.2 g, 80 mm radius", TOOK),
    ("1, 137 deg, removed 4.2 gm, 80 mm radius", TOOK),
    ("1, 137 deg, 4.2 g off, 80 mm radius", TOOK),
    ("1, 137 deg, ground off 4.2 g, 80 mm radius", TOOK),
    ("1, 137 deg, ground 4.2 g, 80 mm radius", TOOK),
    ("1, 137 deg, 4.2 g of chips, 80 mm radius", TOOK),
    ("1, 137 deg, 25 mm slug, 20 mm long, 62 mm radius, weighs 148.2 g", SLUG),
    ("1, 137 deg, 25 mm heavy metal, 20 mm long, 62 mm radius, 148.2 g", SLUG),
    ("1, 137 deg, 25 x 20 slug, 62 mm radius, 148.2 g", SLUG),
    ("1, 137 deg, ground over 20 deg, 1.5 mm deep", ARC),
    ("1, 137 deg, ground, 20 deg wide, 1.5 deep", ARC),
    ("2 front at 90, 16 drill, 18 deep", "2 front, 90 deg, 16 mm drill, 18 mm deep"),
    ("2-front, 90 deg, 16 drill, 18 deep", "2 front, 90 deg, 16 mm drill, 18 mm deep"),
    ("2front @ 90, 16 drill, 18 deep", "2 front, 90 deg, 16 mm drill, 18 mm deep"),
]  # fmt: skip
MENDED = [
    ("1, 137 deg", "nothing is said of what was done", "12.7 mm drill"),
    ("1, 137 deg, ground", "how much came off", "took 4.2 g, 80 mm radius"),
    ("1, 137 deg, plugged", "what went in", "added 6.5 g, 80 mm radius"),
    ("1, 137 deg, welded", "what went in", "added 6.5 g, 80 mm radius"),
    ("1, 137 deg, 16 drill", "no depth", "18 mm deep"),
    ("1, 137 deg, drilled", "with which drill", "12.7 mm drill, 18 mm deep"),
    ("1, 137 deg, drilled deeper", "with which drill", "12.7 mm drill, 18 mm deep"),
    ("1, 137 deg, F drill, 18 mm deep", "no drill is known by that", "letter F drill"),
    ("1, 137 deg, #99 drill, 18 mm deep", "no drill is known by that", "0.368 in drill"),
    ("1, 5 o'clock, 16 mm drill, 18 mm deep", "a clock is no angle", "137 deg"),
    ("1, 40 deg ccw, 16 mm drill, 18 mm deep", "in the direction of rotation", "320 deg"),
    ("1, 137 deg, 16 mm drill, about 18 mm deep", "not certain", "18 mm deep"),
    ("1, 137 deg, .500 drill, 18 mm deep", "would be 0.5 mm", "0.500 in drill"),
    ("1, 137 deg, 16 mm drill, .250 deep", "would be 0.25 mm", "0.250 in deep"),
    ("1, 137 deg, 1/2 mm drill, 18 mm deep", "is not understood", "phrases such as"),
    ("1, 137 deg, deburred", "next to nothing", "leave it out"),
    ("1, 137 deg, took 65 gr, 80 mm radius", "grams or grains", "4.2 g"),
    ("1,137 deg, 16 mm drill, 18 mm deep", "begins with no counterweight", "1, 137 deg"),
    ("2 at 137, 16 mm drill, 18 mm deep", "the [crank] has no", "2 front"),
    ("1, 137 deg, 12 g, 80 mm radius", "came off, or went on", "took 4.2 g, or added 4.2 g"),
    ("1, 137 deg, welded 12, 80 mm radius", "what went in", "added 6.5 g"),
    ("1, 137 deg, 16 mm drill, 18 mm deep, 20 mm deep", "depth comes twice", "each once"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "plainly"), READ)
def test_what_is_plain_enough_is_read(text, plainly):
    (hole,), (told,) = (holes_said(crank(), [one]) for one in (text, plainly))
    for name, value in told._asdict().items():
        assert getattr(hole, name) == (pytest.approx(value) if isinstance(value, float) else value), name


@pytest.mark.parametrize(("text", "missing", "typed"), MENDED)
def test_what_is_not_is_refused_with_the_line_that_mends_it(text, missing, typed):
    with pytest.raises(BadInput) as caught:
        holes_said(crank(), [text])
    told = str(caught.value.faults[0])
    assert missing in told
    assert typed in told


def test_in_a_shop_of_inches_a_bare_drill_of_millimeters_is_asked_for_its_unit():
    with pytest.raises(BadInput, match=r"would be 16 in; allowed: with its unit: 16 mm drill"):
        holes_said(crank(), ["1, 137 deg, 16 drill, 0.7 deep"], told_in=ToldIn("oz", "oz", "in"))
    (hole,) = holes_said(crank(), ["1, 137 deg, .5 drill, 0.75 deep"], told_in=ToldIn("oz", "oz", "in"))
    assert (hole.diameter_mm, hole.depth_mm) == pytest.approx((12.7, 19.05))


def test_there_are_sixty_of_them():
    assert len(READ) + len(MENDED) >= 60
    assert len({text for text, *_ in READ + MENDED}) == len(READ) + len(MENDED)


def test_every_example_is_in_the_shops_own_units():
    examples = [as_said.EXAMPLE, *as_said._TYPED.values(), *(typed for *_, typed in spoken._UNSAID)]
    asked = [one for one in examples if "millimeter" not in one and "0.040 in" not in one and "grains" not in one]
    assert any(" mm" in one for one in asked)
    for one in asked:
        assert spoken.example(one, "mm") == one
        told = spoken.example(one, "in")
        assert " mm" not in told
        assert " g" not in told.replace(" ground", "")
