"""The shop's small price list."""

from decimal import Decimal

import pytest
from planned import PRICES

from truethrow.balance.base import fields
from truethrow.balance.base.errors import BadInput
from truethrow.balance.planning import prices
from truethrow.balance.planning.prices import PricesTable


def read(raw):
    faults = []
    return fields.validate(PricesTable, raw, "prices", fields.Units(), faults), [str(fault) for fault in faults]


def loaded(folder, text):
    file = folder / "prices.toml"
    file.write_text(text, encoding="utf-8")
    return prices.load(file)


def test_what_has_no_price_has_none():
    found, faults = read({"slug": 38, "hours": 4})
    assert faults == []
    assert (found.slug, found.hole, found.hour, found.hours, found.currency) == (38, None, None, 4, "$")


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        ({"slug": -1}, "prices, slug: -1 is out of reach; allowed: 0 to 10000000"),
        ({"hole": Decimal("-0.01")}, "prices, hole: -0.01 is out of reach"),
        ({"hour": Decimal("nan")}, "prices, hour: NaN is out of reach"),
        ({"hour": Decimal("inf")}, "prices, hour: Infinity is out of reach"),
        ({"hours": Decimal("1000.5")}, "prices, hours: 1000.5 is out of reach; allowed: 0 to 1000"),
        ({"cut": ""}, "prices, cut: blank"),
        ({"spin": "35 $"}, "prices, spin: '35 $' is not a number"),
        ({"spin": True}, "prices, spin: 'True' is not a number"),
        ({"spin": Decimal("0.1234567890123")}, "prices, spin: 0.1234567890123 has more digits than any price"),
        ({"slugs": 3}, "prices: 'slugs' is not known here (did you mean slug?)"),
        ({"currency": ""}, "prices, currency: blank"),
        ({"decimals": 7}, "prices, decimals: 7; allowed: a whole number, 0 to 3"),
        ({"decimals": -1}, "prices, decimals: -1; allowed: a whole number, 0 to 3"),
        ({"decimals": Decimal("1.5")}, "prices, decimals: 1.5; allowed: a whole number, 0 to 3"),
        ({"decimals": ""}, "prices, decimals: blank; allowed: a whole number, 0 to 3"),
    ],
)
def test_a_price_that_is_none_is_one_line(raw, said):
    found = read(raw)[1]
    assert len(found) == 1
    assert found[0].startswith(said)


def test_prices_are_kept_as_they_are_typed(tmp_path):
    """0.10 three times is 0.30, which no binary fraction says."""
    found = loaded(tmp_path, PRICES.replace("hole = 6", "hole = 0.10"))
    assert found.amount(Decimal(3), found.hole) == Decimal("0.30")


@pytest.mark.parametrize(
    ("each", "decimals", "amount"),
    [("12.345", 2, "12.35"), ("12.345", 0, "12"), ("12.5", 0, "13"), ("0.005", 2, "0.01"), ("0.0049", 2, "0.00")],
)
def test_an_amount_is_rounded_once_a_half_up(each, decimals, amount):
    found, _ = read({"decimals": decimals})
    assert str(found.amount(Decimal(1), Decimal(each))) == amount


def test_a_range_is_in_whole_units_its_ends_outward():
    assert prices.outwards(Decimal("1.01"), Decimal("2.01")) == (1, 3)
    assert prices.outwards(Decimal("1.01"), Decimal("1.01")) == (Decimal("1.01"), Decimal("1.01"))
    assert [prices.to_whole(Decimal(one)) for one in ("0.5", "1.5", "2.49")] == [1, 2, 2]


def test_a_list_is_of_prices_alone_or_in_a_file_of_candidates(tmp_path):
    assert loaded(tmp_path, PRICES).currency == "EUR"
    assert loaded(tmp_path, PRICES + '[candidates]\nid = "a"\n').holds == "30 days"
    for text, said in (
        (PRICES + "[price]\n", "price: 'price' is not known here (did you mean prices?)"),
        ("", "prices: missing; allowed: a table [prices]"),
        (PRICES.replace("spin = 35", "spin = -35"), "prices, spin: -35 is out of reach"),
    ):
        with pytest.raises(BadInput) as refused:
            loaded(tmp_path, text)
        assert said in refused.value.lines()[0]
