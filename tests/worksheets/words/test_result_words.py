"""The words of a result: cuts, slips, verdicts."""

import invented
from trims import NAMES, worked

from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import result_words


def test_the_sentence():
    plan = worked({"big_end": 0.5, "small_end": 0.5}, big_end={3: 453.3}, small_end={3: 173.9}).trim
    said = result_words.cut(plan.parts[0], Display("g", "mm", 0.1), NAMES)
    assert said == "rod 3: take 2.3 g at the small-end pad, then 0.9 g at the big-end pad; expect 452.5 / 171.5 g"


def test_the_parts_label_stands_in_the_sentence():
    plan = worked({"piston": 1.0}, piston={3: 541.0}).trim
    marked = NAMES._replace(labels={3: {"piston": "P9"}})
    said = result_words.cut(plan.parts[0], Display("g", "mm", 0.1), marked)
    assert said.startswith("piston P9 (sits in 3): take 1.8 g")


def test_a_suspicion_that_asks_has_one_mark_at_its_end():
    asked = worked({"piston": 1.0}, piston={3: 19.0})
    told = asked.slips[0]._replace(suspicion="")
    show = Display("g", "mm", 0.1)
    assert result_words.slip_alone(asked.slips[0], show, NAMES, "my.toml").endswith("; ounces read as grams?")
    assert result_words.slip_alone(told, show, NAMES, "my.toml").endswith(" g).")
    assert "?." not in " ".join(result_words.look_again(asked, show))


def test_what_rods_side_by_side_make_is_told_in_both_planes_and_not_where_it_is_within_its_doubt():
    """8 g between the rods of throw 1, 12 mm off its middle: by hand 8 · 46 · 12 / 336 = 13.1 g·mm, toward
    the heavier one, which is in front."""
    show, engine = Display("g", "mm", 0.1), invented.V8 | {"rods_apart": 24.0, "rod_in_front": "left"}
    told = invented.worked(invented.cylinders(big_end={1: 460.3}), engine=engine)
    assert result_words.rods(told, show) == "Rods side by side, 24 mm apart; in front: the rods of bank left."
    said = result_words.rods_leave(told, show)
    assert said.startswith("Of that the rods side by side make 13.1")
    assert "at 0° in front and half a turn on at the rear" in said
    alike = invented.worked(engine=engine)
    assert result_words.rods_leave(alike, show).startswith(
        "Of that the rods side by side make less than can be told"
    )
    plain = invented.worked()
    assert (result_words.rods(plain, show), result_words.rods_leave(plain, show)) == (None, None)
