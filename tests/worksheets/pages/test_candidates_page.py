"""Candidates side by side, as a page."""

import choosing
import paged

from truethrow.balance.planning import candidates, comparing
from truethrow.worksheets.cards.card import CardTable, Lines
from truethrow.worksheets.pages.candidates_page import candidates_page
from truethrow.worksheets.shown.display import Display


def made(text=choosing.SMALL):
    found = candidates.build(text)
    order = comparing.ranked(comparing.candidates(found.pairs, None, found.prices), "bobweight")
    return candidates_page(found, order, "bobweight", Display("g", "mm", 0.1), "2027-01-15")


def test_every_number_on_it_is_in_its_data():
    page = made()
    assert len(paged.figures(page)) > 15
    assert paged.strangers(page) == []


def test_it_begins_with_what_is_only_an_estimate():
    first = made().blocks[0]
    assert isinstance(first, Lines)
    assert first.heading == "ESTIMATE"


def test_one_part_that_stands_for_all_is_told_as_that():
    text = choosing.SMALL.replace("piston = { about = 402, within = 4 }", "piston = { weighed = 402 }")
    page = made(text + "[scale]\nresolution = 0.1\n")
    said = paged.lines(page)
    assert any(line.startswith("B: of the piston one was weighed, and counts for all cylinders") for line in said)
    assert any("piston = { weighed = …, scatter = … }" in line for line in said)
    assert [one["one_weighed_for_all"] for one in page.data["candidates"]] == [[], ["piston"]]


def test_what_shakes_no_more_than_its_uncertainty_is_told_as_nothing():
    """As on the screen: no digit is told that is not known."""
    text = choosing.SMALL.replace("inline-2", "inline-6") + "[scale]\nresolution = 0.1\n"
    text = text.replace("about = 402, within = 4", "weighed = [402, 402.1, 402, 402, 402, 402]")
    page = made(text.replace("about = 390, within = 0", "about = 390, within = 0, scatter = 3"))
    shown = {one.path[-1]: one for one in paged.figures(page) if one.path[1] == 1}
    for name, sure in (("force_n", "force_uncertainty_n"), ("couple_nm", "couple_uncertainty_nm")):
        assert 0 < shown[name].value < shown[sure].value
        assert float(shown[name].text) == 0


def test_a_price_has_a_column_only_where_there_is_one():
    heads = [block.heads for block in made().blocks if isinstance(block, CardTable)]
    assert not any("price" in head for row in heads for head in row)
    priced = [block.heads for block in made(choosing.SMALL + "price = 5\n").blocks if isinstance(block, CardTable)]
    assert any("price" in head for row in priced for head in row)
