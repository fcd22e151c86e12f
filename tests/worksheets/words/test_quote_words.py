"""A quote, in sentences."""

from decimal import Decimal

import pytest
from invented import cylinders, document
from planned import quoted

from truethrow.balance.job.job import build
from truethrow.balance.planning.prices import PricesTable
from truethrow.balance.planning.quoting import Count, Line
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import quote_words as words

METRIC = Display("g", "mm", 0.1)


@pytest.mark.parametrize(("currency", "said"), [("$", "$352 to 371"), ("EUR", "EUR 352 to 371"), ("kr", "kr 352")])
def test_the_currency_is_as_the_shop_writes_it(currency, said):
    assert words.total(quoted(PricesTable(currency=currency))).startswith(said)


def test_a_figure_has_its_decimals_and_a_range_none():
    prices = PricesTable()
    assert words.amount(quoted().lines[0], prices) == "12 to 30"
    assert words.amount(quoted().lines[1], prices) == "340.50"
    free = Line("match", Count.of(1), Decimal(0), Decimal(0), Decimal(0))
    assert words.amount(free, prices) == "included"


def test_a_total_that_leaves_something_out_says_so_by_its_name():
    assert words.called_total(quoted()) == "total"
    assert words.called_total(quoted(not_counted=("slug", "hole"))) == (
        "total, without slugs and holes still to come"
    ), "holes that are done are in it"
    assert "nobody knows yet: slugs, holes still to come." in words.basis(quoted(not_counted=("slug", "hole")))
    none_done = quoted(not_counted=("slug", "hole"), lines=quoted().lines[1:])
    assert words.called_total(none_done) == "total, without slugs and holes"
    assert "nobody knows yet: slugs, holes." in words.basis(none_done)


def test_a_total_is_summed_in_full_and_rounded_once():
    """By hand: 12.40 + 5.30 + 20.25 = 37.95 and 30.40 + 7.30 + 20.25 = 57.95, so 37 to 58; of the lines as
    they are told it would be 12 + 5 + 20.25, and 31 + 8 + 20.25, told as 60."""
    amounts = (("12.40", "30.40"), ("5.30", "7.30"), ("20.25", "20.25"))
    lines = tuple(Line("cut", Count.of(1, 2), Decimal(1), *map(Decimal, ends)) for ends in amounts)
    assert words.total(quoted(lines=lines)) == "$37 to 58"
    assert [words.amount(line, PricesTable()) for line in lines] == ["12 to 31", "5 to 8", "20.25"]


def test_what_is_by_the_makers_word_says_so_until_it_is_spun():
    assert "by its maker's word until then" in words.basis(quoted())
    assert "maker" not in words.basis(quoted(target_g=None))
    assert "maker" not in words.basis(quoted(stage="spun", target_g=None))


def test_no_tax_is_made_up():
    assert words.holds(PricesTable()) == ["No tax is counted."]
    told = PricesTable(holds="30 days", note="Sales tax 8 % is added.")
    assert words.holds(told) == ["This quote holds: 30 days.", "Sales tax 8 % is added."]


def test_what_was_assumed_and_what_may_change_it():
    job = build(document(cylinders()))
    assert words.assumed(quoted(), job, METRIC)[0] == (
        "The crank comes balanced for 1850.0 g on every throw, as its maker says."
    )
    assert "with nothing hung on it" in words.assumed(quoted(target_g=0.0), job, METRIC)[0]
    assert words.IN_WHOLE in words.assumed(quoted(), job, METRIC)
    assert "when it is spun" in words.may_change(quoted())[0]
    assert "takes another round" in words.may_change(quoted(stage="spun"))[0]
    assert words.may_change(quoted(stage="done")) == []
    assert "weighed again" in words.may_change(quoted(is_held=True))[0]


@pytest.mark.parametrize(
    ("changes", "has_tools", "said"),
    [
        ({"no_profile": True}, True, "give its --station"),
        ({}, False, "give --station, a profile with its drills"),
        ({"stage": "spun"}, True, "truethrow spins tells why"),
        ({}, True, "the job has no [crank]"),
    ],
)
def test_what_would_count_the_rest_is_told(changes, has_tools, said):
    job = build(document(cylinders()))
    found = quoted(not_counted=("slug", "hole"), **changes)
    assert said in words.to_count(found, job, has_tools=has_tools)
    assert words.to_count(quoted(), job, has_tools=True) == ""


def test_why_the_status_is_1():
    assert "do not bring this crank inside" in words.outside(quoted(stays=True))
    assert words.outside(quoted(is_held=True)) == "look again first"
    assert words.outside(quoted()) == ""
