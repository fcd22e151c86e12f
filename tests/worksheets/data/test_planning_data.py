"""The lathe and what must clear, as plain data."""

import json
import math

from truethrow.balance.correction.lathe import on_the_lathe
from truethrow.balance.crank.crank import Arc, Crank, Member
from truethrow.balance.crank.holes import Hole
from truethrow.balance.running.clearance import Gap
from truethrow.worksheets.data import planning_data


def test_it_is_plain_and_carries_what_is_opened():
    hole = Hole("1 front", "axial", 200.0, 82.0, -22.0, 12.0, 24.0, 1500.0, 18.0)
    member = Member(
        "1 front",
        -22.0,
        24.0,
        90.0,
        52.0,
        (Arc(120.0, 120.0),),
        7.85e-3,
        "front",
        math.inf,
        math.inf,
        None,
        (hole,),
    )
    found = planning_data.lathe(on_the_lathe(Crank((member,)), 86.0, (), (0.0, 336.0)), None)
    assert json.loads(json.dumps(found)) == found
    assert found["counterweights"][0]["opened"][0]["crank_angle_deg"] == 200.0
    assert found["plan"] is None is found["heavy_metal"]


def test_a_gap_has_its_verdict():
    found = planning_data.clearance([Gap("skirt", "skirt", "1 front", 1, 0.8, 359.9999)], 1.0, ("rods",))
    assert found["gaps"] == [
        {
            "mover": "skirt",
            "what": "skirt",
            "cylinder": 1,
            "against": "1 front",
            "least_mm": 0.8,
            "crank_angle_deg": 0.0,
            "verdict": "OUTSIDE",
        }
    ]
    assert (found["least_wanted_mm"], found["not_looked_at"]) == (1.0, ["rods"])
