"""The ± of a spread, worked by hand: each line out of its text alone, and the last as the tool has it."""

import invented
import pytest
from added_by_hand import adds_up, is_sum

from truethrow.balance.base.parts import label
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import unsure_words
from truethrow.worksheets.words.worked_lines import InUnits
from truethrow.worksheets.words.working_words import working

LIMITS = {"piston": 1.0, "big_end": 1.0, "bobweight": 2.0, "reciprocating": 2.0}
TWICE = invented.cylinders(piston={3: [541.7, 541.8, 541.8], 6: 537.2}, big_end={2: 455.0, 5: [452.4, 452.5]})
BARE = {"resolution": "0.1 g", "repeatability": None, "rod_end_repeatability": None}
RESULTS = {
    "by repeats": invented.worked(TWICE, limits=LIMITS, scale=BARE),
    "assumed": invented.worked(limits=LIMITS, scale=BARE),
    "declared": invented.worked(
        limits=LIMITS,
        scale={"resolution": "0.1 g", "repeatability": "0.05 g", "calibration": "0.2 g"},
    ),
}
EACH = [(name, one) for name, result in RESULTS.items() for one in result.spreads if one.limit_g is not None]


@pytest.mark.parametrize("show", [None, "inch"])
@pytest.mark.parametrize(("name", "spread"), EACH, ids=[f"{n}-{s.quantity}" for n, s in EACH])
def test_it_adds_up_to_what_the_tool_says(name, spread, show):
    result = RESULTS[name]
    made = working(result, f"verdict {label(spread.quantity)}", Display.of(result.job, show))
    assert [str(line) for line in made.lines if is_sum(line) and not adds_up(line)] == []
    told = {line.what: line for line in made.lines}
    assert float(told["±"].figure.value) == pytest.approx(spread.expanded_g, abs=1e-6)
    assert spread.verdict in made.lines[-1].comes_from


def test_a_scatter_says_how_it_is_known():
    said = {
        name: " ".join(
            line.comes_from for line in working(result, "verdict piston", Display("g", "mm", 0.1)).lines
        )
        for name, result in RESULTS.items()
    }
    for known, name in (("repeats", "by repeats"), ("assumed", "assumed"), ("declared", "declared")):
        assert unsure_words.SCATTER_SOURCE[known] in said[name]


def test_a_calibration_that_all_readings_share_is_a_line_of_its_own():
    result = RESULTS["declared"]
    mass = result.bobweights.throws[0].bobweight
    lines = list(unsure_words.unsure(InUnits(Display("g", "mm", 0.1)), result.certainty, mass))
    shared = next(line for line in lines if line.what == "± of what all share")
    # 0.2 g, a standard uncertainty, are in each reading of two cylinders, and half of each that goes up and down.
    counted = sum(mass.sensitivity.values())
    assert float(shared.figure.value) == pytest.approx(2 * 0.2 * counted, abs=1e-6)
    assert float(lines[-1].figure.value) == pytest.approx(result.certainty.expanded_g(mass), abs=1e-6)
