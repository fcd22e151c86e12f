"""Each reason that holds a plan or a signature back says what is the matter, and of which spin."""

from types import SimpleNamespace
from typing import get_args

import pytest

from truethrow.balance.base.amounts import METRIC, ToldIn
from truethrow.balance.correction.breaches import Breach
from truethrow.balance.station.reasons import Reason, Why
from truethrow.balance.station.spin import Instrument

ONE, TWO, THREE = (SimpleNamespace(number=n) for n in (1, 2, 3))
HOLE = SimpleNamespace(id="0123456789ab-2", hole=SimpleNamespace(member="1a", angle_deg=90.0))


def vector(said, gmm=0.0):
    return SimpleNamespace(gmm=gmm, said=lambda told_in: f"{said} {told_in.unbalance_unit}")


PLANE = SimpleNamespace(
    plane="front",
    spin=vector("9 ± 1"),
    hanging=vector("1"),
    members=vector("0"),
    whole=vector("10"),
    limit_gmm=144.0,
    has_parts=True,
    is_by_what_is_assumed=False,
)
SIGNED = SimpleNamespace(by="AB", id="0123456789ab-1", at="2026-11-30T09:12:00Z")
GRAMS = Instrument("g", 101.6, True)
INCH = ToldIn("oz", "oz", "in")


def told(why):
    """A reason with all that any could tell."""
    return Reason(why, (ONE, TWO), ("sense",), 3, PLANE, "outside", SIGNED, named="spin 3")


@pytest.mark.parametrize("why", get_args(Why))
def test_every_reason_is_a_sentence_of_its_own(why):
    said = [told(other).said(METRIC) for other in get_args(Why)]
    own = told(why).said(METRIC)
    assert said.count(own) == 1
    assert own[0].islower() or own[0].isdigit()
    assert "None" not in own
    assert "{" not in own
    assert "SimpleNamespace" not in own
    assert not own.endswith(".")


def test_spins_apart_are_named_the_last_one_first():
    assert Reason("apart", (ONE, TWO, THREE)).said(METRIC).startswith("spin 3 reads otherwise than spin 1, 2, ")


def test_a_known_mass_that_disagrees_says_in_what():
    assert Reason("disagrees", kinds=("sense", "zero")).said(METRIC).endswith(": sense, zero")


def test_the_sum_is_of_the_engine_or_of_the_crank_as_it_was_given():
    assert "it is 10 g·mm in the engine, outside" in told("not inside in engine").said(METRIC)
    given = SimpleNamespace(**vars(PLANE) | {"has_parts": False})
    said = told("not inside in engine")._replace(plane=given).said(METRIC)
    assert "it is 10 g·mm with the given bobweights, outside" in said
    assert "engine" not in said


@pytest.mark.parametrize(
    ("reason", "said"),
    [
        (told("not inside"), "front plane as spun: 9 ± 1 oz·in of the crank, outside; tolerance 0.1999 oz·in"),
        (Reason("looser", (TWO,), limits=(("rear", 72.0, 144.0),)), "(rear plane 0.0999 → 0.1999 oz·in)"),
        (Reason("blind", named="rear", amount_gmm=180.0, beside_gmm=144.0), "0.1999 oz·in: it is sure to ± 0.250"),
        (
            Reason("noise", amount_gmm=72.0, beside_gmm=144.0),
            "0.100 oz·in, is less than the station can tell, ± 0.200",
        ),
        (
            Reason("little", number=3, amount_gmm=720.0, beside_gmm=648.0),
            "3 holes would leave 0.900 of 1.000 oz·in",
        ),
        (Reason("edited", (TWO,), edit=(GRAMS, GRAMS._replace(radius_mm=127.0))), "(radius 4 in → 5 in)"),
        (
            Reason("broken", breaks=((HOLE, (Breach("wall", 1.27, 2.54), Breach("outside", 30.0, 0.0))),)),
            "leaves 0.050 in of metal beside it, 0.100 in at least; at the crank's 30.0° the [crank] has no metal",
        ),
    ],
    ids=lambda one: one.why if isinstance(one, Reason) else "",
)
def test_a_reason_is_told_in_the_shops_units(reason, said):
    """By hand: 720.08 g·mm are an ounce-inch, 25.4 mm an inch; a tolerance is never more than it is."""
    assert said in reason.said(INCH)
