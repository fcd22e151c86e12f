"""The shop's small price list."""

import pytest

from truethrow.balance.base import fields
from truethrow.balance.planning.prices import PricesTable


def read(raw):
    faults = []
    return fields.validate(PricesTable, raw, "prices", fields.Units(), faults), [str(fault) for fault in faults]


def test_what_has_no_price_has_none():
    found, faults = read({"slug": 38, "hours": 4})
    assert faults == []
    assert (found.slug, found.hole, found.hour, found.hours, found.currency) == (38, None, None, 4, "$")


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        ({"slug": -1}, "prices, slug: -1 is out of reach; allowed: 0 to 1e+07"),
        ({"slugs": 3}, "prices: 'slugs' is not known here (did you mean slug?)"),
        ({"currency": ""}, "prices, currency: blank"),
    ],
)
def test_a_price_that_is_none_is_one_line(raw, said):
    assert said in read(raw)[1][0]
