"""Layouts: numbering, split pins and the library."""

import pytest

from truethrow.balance.engine.layout import GENERIC, firing_intervals_deg, generic_layout, numbered, throws

FOUR = throws((0, 90, 270, 180), (0, 112, 224, 336))


def on_throws(places):
    found = {}
    for place in places:
        found.setdefault(place.throw, []).append((place.cylinder, place.bank))
    return found


def test_alternating_numbering_puts_neighbours_on_one_throw():
    assert on_throws(numbered(FOUR, ["left", "right"], False, "alternating")) == {
        "1": [(1, "left"), (2, "right")],
        "2": [(3, "left"), (4, "right")],
        "3": [(5, "left"), (6, "right")],
        "4": [(7, "left"), (8, "right")],
    }


def test_numbering_by_bank_puts_opposite_numbers_on_one_throw():
    assert on_throws(numbered(FOUR, ["left", "right"], False, "by-bank")) == {
        "1": [(1, "left"), (5, "right")],
        "2": [(2, "left"), (6, "right")],
        "3": [(3, "left"), (7, "right")],
        "4": [(4, "left"), (8, "right")],
    }


def test_the_pins_of_a_split_throw_have_letters_and_one_place():
    made = throws(((0, 30), (120, 150)), (0, 100))
    assert [(t.name, t.angle_deg, t.z_mm) for t in made] == [
        ("1a", 0, 0),
        ("1b", 30, 0),
        ("2a", 120, 100),
        ("2b", 150, 100),
    ]
    assert on_throws(numbered(made, ["left", "right"], True, "alternating")) == {
        "1a": [(1, "left")],
        "1b": [(2, "right")],
        "2a": [(3, "left")],
        "2b": [(4, "right")],
    }


@pytest.mark.parametrize("name", GENERIC)
def test_every_generic_layout_is_numbered_without_a_gap(name):
    generic = GENERIC[name]
    made = throws(generic.throw_angles_deg, range(len(generic.throw_angles_deg)))
    for numbering in ("alternating", "by-bank"):
        places = numbered(made, list(generic.banks), generic.pin_a_cylinder, numbering)
        assert [place.cylinder for place in places] == list(range(1, len(places) + 1))
        assert {place.throw for place in places} == {throw.name for throw in made}


@pytest.mark.parametrize("name", ["v8-90-crossplane", "v8-90-flatplane", "inline-4", "inline-6", "v12-60"])
def test_even_firing_layouts_reach_top_dead_centre_at_even_angles(name):
    """Top dead centres of a four-stroke engine come every 720/n degrees, two cylinders at each of the angles
    of a turn."""
    generic = GENERIC[name]
    made = throws(generic.throw_angles_deg, range(len(generic.throw_angles_deg)))
    places = numbered(made, list(generic.banks), False, "alternating")
    angle = {throw.name: throw.angle_deg for throw in made}
    tops = sorted((generic.banks[p.bank] - angle[p.throw]) % 360 for p in places)
    step = 720 / len(places)
    assert [top - tops[0] for top in tops] == [step * (i // 2) for i in range(len(places))]


@pytest.mark.parametrize(
    ("name", "order", "interval"),
    [
        ("inline-4", (1, 3, 4, 2), 180),
        ("inline-6", (1, 4, 2, 6, 3, 5), 120),
        ("v8-90-crossplane", (1, 8, 4, 3, 6, 5, 7, 2), 90),
        ("v6-60-even", (1, 4, 3, 6, 5, 2), 120),
        ("inline-3", (1, 2, 3), 240),
        ("inline-1", (1,), 720),
    ],
)
def test_even_firing_orders(name, order, interval):
    assert firing_intervals_deg(generic_layout(name), order) == (interval,) * len(order)


def test_uneven_firing_is_told_as_it_is():
    """A 45-degree twin on one pin: 315 degrees and 405."""
    assert firing_intervals_deg(generic_layout("vtwin-45"), (1, 2)) == (315, 405)


@pytest.mark.parametrize(
    ("order", "said"),
    [((1, 2, 3), "every cylinder once"), ((1, 2, 3, 3), "every cylinder once"), ((1, 4, 2, 3), "not the 720")],
)
def test_impossible_firing_orders_are_refused(order, said):
    with pytest.raises(ValueError, match=said):
        firing_intervals_deg(generic_layout("inline-4"), order)


@pytest.mark.parametrize("name", ["v6-60-even", "v6-90-even"])
def test_split_pins_are_split_the_right_way_round(name):
    """Six top dead centres in three equal pairs, 120 degrees apart."""
    layout = generic_layout(name)
    angle = {t.name: t.angle_deg for t in layout.throws}
    tops = sorted(round((layout.banks[p.bank] - angle[p.throw]) % 360) for p in layout.places)
    assert tops[0::2] == tops[1::2]
    assert [tops[2] - tops[0], tops[4] - tops[2]] == [120, 120]
