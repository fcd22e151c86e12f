"""The lathe and what must clear, as the screen has them."""

import math

from truethrow.balance.correction.planes import TwoPlanes
from truethrow.balance.running.clearance import Gap
from truethrow.cli.planning import planning_tables as tables
from truethrow.cli.show import Screen
from truethrow.worksheets.shown.display import Display

METRIC = Display("g", "mm", 0.1)


def test_an_angle_is_whole_degrees_and_never_360():
    assert tables._at(complex(100.0, -1e-9), METRIC) == "100 at 0°"
    assert tables._degrees(complex(math.cos(math.radians(359.7)), math.sin(math.radians(359.7)))) == 0


def test_of_a_kind_the_nearest_and_all_that_have_too_little(capsys):
    gaps = [
        Gap("skirt", "skirt", "1 front", 1, 0.4, 225.0),
        Gap("skirt", "skirt", "1 rear", 1, 0.6, 225.0),
        Gap("skirt", "skirt", "2 front", 3, 2.4, 135.0),
        Gap("rod", "bolt head", "cam lobes", 1, 3.0, 10.0),
        Gap("rod", "bolt head", "cam lobes", 2, 3.1, 10.0),
    ]
    tables.clearance(Screen(), gaps, 1.0, ("the pan",), METRIC)
    said = capsys.readouterr().out
    assert said.count("OUTSIDE") == 2
    assert "2 front" not in said
    assert "rod 2" not in said
    assert "5 pairs were looked at" in said
    assert "Not looked at: the pan" in said
    many = [Gap("skirt", "skirt", f"w{n}", n, -0.1, 0.0) for n in range(20)]
    tables.clearance(Screen(), many, None, (), METRIC)
    said = capsys.readouterr().out
    assert said.count("TOUCHES") == tables.MOST_ROWS
    assert "… and 8 more that have too little." in said


def test_a_vector_has_its_own_planes():
    assert TwoPlanes(1j, 0j).plus(TwoPlanes(-1j, 1j)) == TwoPlanes(0j, 1j)
