"""Rules by name: kept, or refused where they make no sense."""

import pytest
from scattered_jobs import matched, scattered

from truethrow.balance.base.errors import BadInput


@pytest.mark.parametrize(
    "table",
    [
        {"fixed": ["rod R3", "piston P1"]},
        {"together": [["piston", "pin"]]},
        {"together": [["piston P2", "rod R7"]]},
        {"apart": [["piston P2", "rod R7"], ["rod R1", "cylinder 1"]]},
        {"bank": {"left": ["piston P2", "piston P4"], "right": ["rod R1"]}},
        {"offset_pins": True},
        {"move": ["piston"]},
    ],
)
def test_rules_by_name_are_kept(table):
    found = matched(scattered(labelled=True), match={"aims": ["bobweight", "reciprocating"], **table})
    at = {
        (unit, label): cylinder
        for cylinder, labels in found.matched.job.labels.items()
        for unit, label in labels.items()
    }
    banks = {place.cylinder: place.bank for place in found.now.job.layout.places}
    assert found.moves
    if "fixed" in table:
        assert (at["rod", "R3"], at["piston", "P1"]) == (3, 1)
    if table.get("together") == [["piston", "pin"]]:
        assert all(at["piston", f"P{n}"] == at["pin", f"N{n}"] for n in range(1, 9))
    elif "together" in table:
        assert at["piston", "P2"] == at["rod", "R7"]
    if "apart" in table:
        assert at["piston", "P2"] != at["rod", "R7"]
        assert at["rod", "R1"] != 1
    if "bank" in table:
        assert [banks[at[part]] for part in (("piston", "P2"), ("piston", "P4"))] == ["left", "left"]
        assert banks[at["rod", "R1"]] == "right"
    if "offset_pins" in table:
        assert all(banks[at["piston", f"P{n}"]] == banks[n] for n in range(1, 9))
    if "move" in table:
        assert set(found.moves) == {"piston"}


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ({"fixed": ["rod X9"]}, "match, fixed: 'rod X9' names no part"),
        ({"fixed": ["crank 1"]}, "match, fixed: 'crank 1' names nothing that moves"),
        ({"together": [["rod 1", "rod 2"]]}, "two of one kind cannot sit together"),
        ({"apart": [["rod 1", "rod 2"]]}, "two of one kind never sit together"),
        ({"bank": {"upper": ["rod 1"]}}, "match, bank: 'upper' is no bank of this layout; allowed: left, right"),
        (
            {"fixed": ["rod 1"], "apart": [["rod 1", "cylinder 1"]]},
            "no arrangement was found that keeps to all rules",
        ),
        ({"aims": ["bobweigt"]}, "match, aims: 'bobweigt' is not known (did you mean bobweight?)"),
        ({"aims": ["grams", "grams"]}, "match, aims: ['grams', 'grams']; allowed: each at most once"),
        ({"aims": []}, "match, aims: []; allowed: each at most once"),
        ({"together": [["piston", "piston"]]}, "two of one kind cannot sit together"),
        ({"move": ["crank"]}, "match, move, entry 1: 'crank' is not known"),
        ({"fastened": []}, "match: 'fastened' is not known here"),
    ],
)
def test_a_rule_that_makes_no_sense_is_named(table, said):
    with pytest.raises(BadInput) as error:
        matched(match=table)
    assert said in str(error.value)


def test_a_label_that_is_another_parts_number_is_not_guessed():
    parts = scattered()
    parts[4]["labels"] = {"rod": "3"}
    with pytest.raises(BadInput, match=r"can mean rod weighed in 3 .* or rod marked 3"):
        matched(parts, match={"fixed": ["rod 3"]})
