"""Layouts: numbering, split pins and the library."""

import pytest

from truethrow.balance.layout import GENERIC, numbered, throws

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
