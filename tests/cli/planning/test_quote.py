"""A quote, by its command."""

import json

import pytest
from planned import PRICES


@pytest.fixture
def prices(shop):
    """The only price list of the shop's folder."""
    (shop.file.parent / "choice.toml").unlink()
    file = shop.file.parent / "prices.toml"
    file.write_text(PRICES, encoding="utf-8")
    return file


def found(shop, *more):
    said = shop("quote", "--json", *more)[1]
    return json.JSONDecoder().raw_decode(said[said.index("{") :])[0]["quote"]


def counts(quote):
    return {line["name"]: line["count"] for line in quote["lines"]}


def test_from_the_first_reading_to_the_signature(shop, prices):
    """A range gets tighter stage by stage, and a job that is signed has a figure."""
    weighed = found(shop, "--target", "1850")
    assert (weighed["stage"], weighed["currency"], weighed["holds"]) == ("weighed", "EUR", "30 days")
    shop.spun()
    spun = found(shop)
    assert spun["stage"] == "spun"
    assert spun["total"][0] == spun["total"][1]
    shop.at_station("holes", "--done")
    shop.at_station("spin", "0.4@20", "0.3@230", "0.4@25", "0.3@226")
    shop.at_station("sign", "--by", "AB")
    done = found(shop)
    assert done["stage"] == "done"
    assert counts(done)["hole"] == counts(spun)["hole"]
    assert counts(done)["spin"] == counts(spun)["spin"]
    said = shop("quote")[1]
    assert "All of it is done, and the crank is signed." in said
    assert "What may change it" not in said


def test_a_crank_that_was_turned_since_its_spin_is_counted_by_no_old_plan(shop, prices):
    """What is still to be drilled, nobody knows before it is spun again: it is told, and in no total."""
    shop.spun()
    shop.at_station("holes", "--done")
    shop.at_station("spin", "0.4@20", "0.3@230", "0.4@25", "0.3@226")
    inside = found(shop)
    text = shop.file.read_text(encoding="utf-8")
    shop.file.write_text(text.replace("outer_radius = 90.0", "outer_radius = 86.0"), encoding="utf-8")
    turned = found(shop)
    assert counts(turned)["spin"][1] > counts(inside)["spin"][1]
    assert counts(turned)["hole"][0] > 0
    assert "Total, without slugs and holes still to come: EUR " in shop("quote")[1]


def test_nothing_of_the_job_is_touched_by_a_quote(shop, prices):
    before = {path: path.read_bytes() for path in shop.file.parent.iterdir()}
    shop("quote", "--target", "1850")
    assert {path: path.read_bytes() for path in shop.file.parent.iterdir()} == before


def test_the_list_beside_the_job_is_found_and_told(shop, prices):
    assert "Total, without slugs and holes: EUR " in shop("quote")[1]
    prices.with_name("other.toml").write_text(PRICES, encoding="utf-8")
    status, said = shop("quote")
    assert (status, "which one is it? beside the job lie" in said) == (2, True)
    assert shop("quote", "--prices", prices)[0] in (0, 1)
    prices.unlink()
    prices.with_name("other.toml").unlink()
    status, said = shop("quote")
    assert (status, "begin one: truethrow blank prices prices.toml" in said) == (2, True)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("spin = 35\n", "", "prices.toml: prices, spin: missing, and the quote has 2 to 4"),
        ("weighing = 2.50", "weighing = -2.50", "prices, weighing: -2.50 is out of reach"),
        ("hour = 85", "hour = nan", "prices, hour: NaN is out of reach"),
        ("hours = 4.25\n", "", "prices.toml: prices, hours: missing"),
        ("hour = 85", "hour = 85\ndecimals = -1", "prices, decimals: -1; allowed: a whole number, 0 to 3"),
    ],
)
def test_a_price_that_is_none_is_named(shop, prices, old, new, said):
    assert PRICES.count(old) == 1
    prices.write_text(PRICES.replace(old, new), encoding="utf-8")
    status, told = shop("quote")
    assert (status, said in told) == (2, True), told


@pytest.mark.parametrize(("typed", "said"), [("x", "--target: 'x' is not a number"), ("-1", "0 (balanced bare)")])
def test_a_target_that_is_none_is_one_line(shop, prices, typed, said):
    status, told = shop("quote", "--target", typed)
    assert (status, said in told) == (2, True)


def test_a_bare_crank_takes_heavy_metal(shop, prices):
    assert "slug" in counts(found(shop, "--target", "0"))


def test_a_page_for_the_customer_is_written(shop, prices, tmp_path):
    page = tmp_path / "quote.html"
    assert shop("quote", "--target", "1850", "--out", page)[0] in (0, 1)
    text = page.read_text(encoding="utf-8")
    for said in ("The work", "No tax is counted.", "This quote holds: 30 days."):
        assert said in text
    assert shop("quote", "--out", tmp_path / "quote.doc")[0] == 2


def test_estimates_alone_make_a_range(estimated, shop, tmp_path):
    file = tmp_path / "list.toml"
    file.write_text(PRICES, encoding="utf-8")
    status, said = shop.run("quote", estimated, "--prices", file, "--target", "1850")
    assert status == 0, said
    assert "! ESTIMATE: not weighed yet" in said
    assert "A range is in whole units of the currency" in said


def test_the_quote_has_a_slug_only_where_the_order_says_so(estimated, shop, tmp_path):
    """The order's range is by the plan that the quote counts by: parts that drilling alone takes, anywhere in
    their range, are on no quote with heavy metal; those that it may not take are."""
    file, station = tmp_path / "list.toml", estimated.parent / "station.toml"
    file.write_text(PRICES, encoding="utf-8")
    told = {}
    for target in (1835, 1865):
        with_it = ("--station", station, "--target", target)
        status, _ = shop.run("order", estimated, *with_it)
        said = shop.run("quote", estimated, "--prices", file, *with_it, "--json")[1]
        lines = json.JSONDecoder().raw_decode(said[said.index("{") :])[0]["quote"]["lines"]
        told[target] = status, max((line["count"][1] for line in lines if line["name"] == "slug"), default=0)
    assert {status for status, _ in told.values()} == {0, 1}
    assert all((status == 1) == (slugs > 0) for status, slugs in told.values()), told
