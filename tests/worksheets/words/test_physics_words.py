"""How sure the physics is, in words and digits."""

from types import SimpleNamespace

import invented
import pytest
from invented import worked

from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import physics_words as words

SHOW = Display("g", "mm", 0.1)


@pytest.mark.parametrize(
    ("expanded", "places"),
    [(321.0, 0), (3.21, 1), (0.0321, 3), (0.000321, 3)],
)
def test_a_peak_has_no_more_digits_than_its_uncertainty_leaves(expanded, places):
    assert words.peak_places(expanded) == places


@pytest.mark.parametrize(
    ("scale", "parts", "said"),
    [
        ({"repeatability": 0.2}, {}, "on the pan: repeatability 0.200 g, declared: the ± has 2.00 times that"),
        (
            {"repeatability": 0.2, "repeatability_from": 8},
            {},
            "on the pan: repeatability 0.200 g, declared, ν = 8: the ± has 2.37 times that",
        ),
        (
            {"repeatability": None},
            {"piston": {3: [538.4, 538.6]}},
            "on the pan: repeatability 0.141 g, from the repeats, ν = 1: the ± has 13.97 times that",
        ),
        (
            {"rod_end_repeatability": None},
            {"piston": {3: [538.4, 538.6]}},
            "rod ends: repeatability 0.100 g, only assumed, a step of the scale (common practice, no source): "
            "nothing is called inside by it",
        ),
    ],
)
def test_where_the_repeatability_comes_from_is_told(scale, parts, said):
    result = worked(invented.cylinders(**parts), scale={"resolution": 0.1} | scale)
    assert said in words.repeatability(result, SHOW)


@pytest.mark.parametrize(
    ("share", "aim", "said"),
    [
        (0.5, "force", "Best share: 0.500000 (largest force)"),
        (0.0, "couple", "Best share: 0.000000 (largest couple, at the end of the range)"),
        (None, None, "The share makes no difference to anything here."),
    ],
)
def test_the_best_share_is_told_for_the_aim_that_counts(share, aim, said):
    assert words.best_share(SimpleNamespace(share=share, aim=aim)) == said
