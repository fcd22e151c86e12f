"""The least metal that brings every spread inside its limit."""

from trims import NAMES, worked

from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import result_words


def test_a_reciprocating_limit_alone_is_met_with_the_least_metal():
    """Grams off the small-end pad count 182/155 times at the small end: fewer grams than off the piston."""
    plan = worked({"reciprocating": 1.0}, piston={3: 542.0}).trim
    (part,) = plan.parts
    assert part.part == "rod"
    assert part.cuts[0].pad.kind == "small_end"


def test_a_spread_held_by_another_limit_is_not_blamed_on_a_pad():
    """Piston 3's own spread is inside its narrow limit and must stay so; only the pistons could mend the
    reciprocating masses, so nothing is cut and the sentence names the other limits."""
    limits = {"piston": 0.4, "reciprocating": 1.0}
    trim = {
        "piston": 5.0,
        "pin": 0.0,
        "big_end_pad": {"at": -48, "most": 0},
        "small_end_pad": {"at": 182, "most": 0},
    }
    plan = worked(limits, trim, pin={3: 117.0}).trim
    assert plan.parts == ()
    (shortfall,) = plan.shortfalls
    assert not shortfall.spent
    assert "is held by the other limits" in result_words.shortfall(shortfall, Display("g", "mm", 0.1), NAMES)
