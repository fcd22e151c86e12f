"""The words of a matching fit its values."""

from scattered_jobs import matched

from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import matching_words as worded


def test_a_value_is_told_with_the_words_that_fit_it():
    found = matched(limits={"bobweight": 2.0})
    show = Display("g", "mm", 0.1)
    told = {aim.name: (worded.value(aim.value, aim, show), worded.verdict(aim, show)) for aim in found.reached}
    assert told["limits"] == ("yes", "proved best")
    assert told["bobweight"][0].endswith(" g")
    assert told["residual"][0].endswith(" g·mm")
    open_aim = found.reached[2]._replace(value=0.95, bound=0.6)
    assert worded.verdict(open_aim, show) == "within 0.35 g of the bound"
    assert worded.verdict(found.reached[0]._replace(value=1.0, bound=0.0), show) == "not found; it may be"


def test_the_trade_tells_how_many_parts_move_and_what_that_brings_once_trimmed():
    trim = {"piston": 9.0, "big_end_pad": {"at": -48, "most": 9.0}, "small_end_pad": {"at": 182, "most": 9.0}}
    found = matched(limits={"reciprocating": 0.5}, trim=trim, match={"aims": ["grams"], "move": ["piston"]})
    said = worded.trade(found, Display("g", "mm", 0.1))
    assert said.startswith(f"{sum(map(len, found.moves.values()))} parts trade places for: metal to trim in all ")
    assert found.now.trim.grams > found.matched.trim.grams
    assert f"{found.now.trim.grams:.1f} to {found.matched.trim.grams:.1f} g" in said
    assert worded.trade(found._replace(moves={}), Display("g", "mm", 0.1)) == ""
