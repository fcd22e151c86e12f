"""What of a crank's metal is kept beside a spin, and what of an edit is told."""

import pytest
from cranks import v8_weights, weight

from truethrow.balance.base.amounts import ToldIn
from truethrow.balance.crank.crank import CrankTable, crank_of
from truethrow.balance.log.records import Metal, ReadBy, Run, Spun
from truethrow.balance.station.metal import changed_member, changed_metal, changes, has_metal, metal_of, same_metal

READ_BY = ReadBy("g", 100.0, True, 0.0, 0.02, 2.0, 30.0, 0.0, 336.0, "0", "0")
OFFSET = {"unbalance": 900.0, "angle": 30.0, "uncertainty": 20.0}
DAMPER = {"name": "damper", "at": -80.0, "radius": 70.0, "thickness": 22.0, "keyway": 45.0, "offset": OFFSET}


def made(*weights, external=(), **more):
    table = CrankTable.model_validate({"counterweight": list(weights), "external": list(external)} | more)
    faults = []
    crank = crank_of(table, faults)
    assert crank, faults
    return crank


def spin(crank, *on):
    return Spun("t", (Run("1", "2", "3", "4"),), READ_BY, members=on, metal=metal_of(crank, on))


def test_a_counterweight_is_kept_by_the_keys_of_the_job():
    radial = {"kind": "radial", "angle": 170, "diameter": 12, "depth": 9, "offset": 2}
    axial = {"kind": "axial", "angle": 190, "diameter": 10, "depth": 8, "radius": 75}
    found = metal_of(made(weight("1", -22.0, 180.0, hole=[radial, axial])), ())
    assert {(one.key, one.value) for one in found} == {
        *(("thickness", 24.0), ("outer_radius", 90.0), ("from", 120.0), ("to", 240.0)),
        *(("hole 1 angle", 170.0), ("hole 1 diameter", 12.0), ("hole 1 depth", 9.0), ("hole 1 offset", 2.0)),
        *(("hole 2 angle", 190.0), ("hole 2 diameter", 10.0), ("hole 2 depth", 8.0), ("hole 2 offset", 0.0)),
        ("hole 2 radius", 75.0),
    }
    assert {one.name for one in found} == {"1"}


@pytest.mark.parametrize(
    ("edit", "told"),
    [
        ({"outer_radius": 86.0}, ("outer_radius of 1 90 → 86 mm",)),
        ({"thickness": 22.5}, ("thickness of 1 24 → 22.5 mm",)),
        ({"from": 131.0}, ("from of 1 120 → 131 deg",)),
        ({"name": "nose"}, ("1 came off", "nose is new")),
        ({"outer_radius": 90.00004, "from": 480.0, "to": -120.0}, ()),
        ({"inner_radius": 60.0}, ()),
        ({"bore": "front"}, ()),
        ({"at": 40.0}, ()),
    ],
)
def test_what_a_machine_changes_is_told_and_a_limit_is_not(edit, told):
    before, after = made(weight("1", -22.0, 180.0)), made(weight("1", -22.0, 180.0) | edit)
    assert changed_metal(spin(before), after) == told


def test_a_shop_in_inches_is_told_an_edit_as_it_typed_it():
    inch = ToldIn("oz", "oz", "in")
    before, after = made(weight("1", -22.0, 180.0, outer_radius=83.82)), made(weight("1", -22.0, 180.0))
    assert changed_metal(spin(before), after, inch) == ("outer_radius of 1 3.3 → 3.54331 in",)
    # Source: international pound and inch (1959): an ounce inch is 720.077887375 g·mm, exact.
    loaded = DAMPER | {"offset": OFFSET | {"unbalance": 720.077887375}}
    one, two = (made(weight("1", -22.0, 180.0), external=[member]) for member in (loaded, DAMPER))
    assert changed_metal(spin(one, "damper"), two, inch) == ("offset of damper 1 → 1.24986 oz·in",)


def test_the_material_and_the_walls_are_no_metal_that_is_gone():
    before = spin(made(*v8_weights()))
    assert changed_metal(before, made(*v8_weights(), material="iron", wall=5.0, deepest_radial=20.0)) == ()


def test_a_north_is_crossed():
    """An arc's end at 0.00004 degrees is the one at 360."""
    one, other = (Metal("1", "to", value) for value in (0.0, 359.99996))
    assert changes([one], [other]) == ()
    assert changes([one], [other._replace(value=359.9)]) == ("to of 1 0 → 359.9 deg",)


def test_of_many_the_first_are_told():
    before, after = made(*v8_weights()), made(*v8_weights(outer_radius=86.0))
    *first, last = changed_metal(spin(before), after)
    assert (len(first), last) == (3, "and 5 more")


def test_a_job_that_had_no_crank_then_or_has_none_now():
    crank = made(*v8_weights())
    assert changed_metal(spin(None), None) == ()
    assert changed_metal(spin(None), crank) == ("there was none then",)
    assert changed_metal(spin(crank), None) == ("there is none now",)


def test_a_member_counts_where_it_was_on():
    """Its offset is no edit of what was spun without it."""
    before = made(*v8_weights(), external=[DAMPER])
    other = made(*v8_weights(), external=[DAMPER | {"offset": OFFSET | {"unbalance": 800.0}}])
    assert changed_metal(spin(before), other) == ()
    assert changed_metal(spin(before, "damper"), other) == ("offset of damper 900 → 800 g·mm",)
    again = made(*v8_weights(), external=[DAMPER | {"keyway": 50.0, "offset": OFFSET | {"angle": 25.0}}])
    assert changed_metal(spin(before, "damper"), again) == ("keyway of damper 45 → 50 deg",)
    assert changed_metal(spin(before, "damper"), made(*v8_weights())) == ("damper came off",)


def test_two_spins_are_of_one_metal_whatever_was_on():
    before = made(*v8_weights(), external=[DAMPER])
    other = made(*v8_weights(outer_radius=86.0), external=[DAMPER])
    assert same_metal(spin(before), spin(before, "damper"))
    assert not same_metal(spin(before), spin(other, "damper"))


def test_a_member_is_held_against_the_last_spin_that_tells_of_it():
    before = made(weight("1", -22.0, 180.0), weight("2", 22.0, 0.0), external=[DAMPER])
    edited = DAMPER | {"radius": 71.0}
    after = made(weight("1", -22.0, 180.0) | {"outer_radius": 86.0}, weight("2", 22.0, 0.0), external=[edited])
    spins = [spin(before, "damper"), spin(before), spin(after)]
    assert changed_member(spins[:2], "1", after) == (1, ("outer_radius of 1 90 → 86 mm",))
    assert changed_member(spins, "1", after) == (2, ())
    assert changed_member(spins, "2", after) == (2, ())
    # The damper was off since.
    assert changed_member(spins, "damper", after) == (0, ("radius of damper 70 → 71 mm",))
    assert [has_metal(one, "damper") for one in spins] == [True, False, False]
    assert changed_member(spins[:2], "nose", made(weight("nose", -22.0, 180.0))) == (1, ("nose is new",))
    assert changed_member([spin(before)], "damper", after) == (0, ())
    assert changed_member([spin(None)], "1", after) == (0, ())
    assert changed_member([], "1", after) == (0, ())
