"""The same figure has the same digits wherever it is told: terminal, --json, cards, their drawings, xlsx, CSV."""

from __future__ import annotations

import csv
import io
import json
import re
from fractions import Fraction

import card_texts
import commands
import openpyxl
import pytest
import ten_engines

from truethrow.balance.base.parts import label
from truethrow.worksheets.cards.card import CardTable, Figure, Marked
from truethrow.worksheets.prints import layout, spreadsheet

SCALE_PLACES = 1  # of 0.1 g: the scale shows grams, whatever unit the shop asks for


# An engine of each number of throws, and of each station; none of them the demo's.
@pytest.fixture(scope="module", params=["V8", "in-line six", "V-twin", "V10"])
def shop(tmp_path_factory, request):
    """Pistons and rod ends weighed twice, so that their means lie between two steps of the scale."""
    return ten_engines.shop(tmp_path_factory.mktemp("engine"), request.param)


@pytest.fixture(params=[None, "inch"])
def show(request):
    return request.param


def by_hand(grams: float, places: int) -> str:
    """Rounded as a hand does it, from the digits of --json."""
    exact = Fraction(str(grams)) * 10**places
    whole = int(abs(exact) + Fraction(1, 2))
    digits = f"{whole:0{places + 1}d}"
    return f"{'-' if exact < 0 and whole else ''}{digits[:-places]}.{digits[-places:]}"


def expected(spread):
    """Of each figure of a spread what is to be read everywhere: its kind has a digit more where a member lies
    between two steps of the scale."""
    members = spread.get("cylinders_g") or spread["throws_g"]
    is_between = any(round(grams * 10, 6) % 1 for grams in members.values())
    places = SCALE_PLACES + (is_between or spread["quantity"] == "bobweight")
    ends = [by_hand(members[spread[end]], places) for end in ("lightest", "heaviest")]
    limit = [] if spread["limit_g"] is None else [by_hand(spread["limit_g"], places)]
    return [*ends, by_hand(spread["spread_g"], places)], limit


def test_a_spread_has_the_same_digits_on_the_screen_on_the_cards_and_in_the_spreadsheet(shop, show):
    asked = ["--show", show] if show else []
    found = json.loads(commands.run("check", str(shop.job), "--json", folder=shop.job.parent)[1])["spreads"]
    screen = commands.run("check", str(shop.job), *asked, folder=shop.job.parent)[1].splitlines()
    cards = shop.cards(show)
    report = card_texts.table(cards["report"], "before and after")
    grid = card_texts.table(cards["bench"], "readings")
    assert any(round(grams * 10, 6) % 1 for one in found for grams in one.get("cylinders_g", {}).values())
    for spread in found:
        told, limit = expected(spread)
        assert Fraction(told[1]) - Fraction(told[0]) == Fraction(told[2])
        name = label(spread["quantity"])
        (line,) = [line for line in screen if re.match(rf"{name}  ", line)]
        assert [one for one in told + limit if one not in line.split()] == [], (name, line)
        (row,) = [row for row in report.rows if row[0] == f"{name} spread"] if limit else [()]
        digits = [cell.shown.digits for cell in row if isinstance(cell, Figure)]
        assert not limit or {told[2], *limit} <= {*digits}, name
        if name in grid.heads:
            at = grid.heads.index(name)
            column = [
                cell.figure if isinstance(cell, Marked) else cell
                for *_, cell in (row[: at + 1] for row in grid.rows)
            ]
            shown = [cell.shown.digits for cell in column if isinstance(cell, Figure)]
            assert set(told) <= {*shown}, name


def test_every_figure_of_a_table_has_the_digits_in_the_spreadsheet_that_it_has_on_its_card(shop, show):
    cards = tuple(shop.cards(show).values())
    book = openpyxl.load_workbook(io.BytesIO(spreadsheet.as_xlsx(cards, layout.PAPERS["a4"])))
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row if cell.value is not None]
    numbers = {as_told(cell) for cell in cells if isinstance(cell.value, int | float)}
    for card in cards:
        for table in (block for block in card_texts.flat(card.blocks) if isinstance(block, CardTable)):
            for cell in (cell for row in table.rows for cell in row):
                figure = cell.figure if isinstance(cell, Marked) else cell
                if isinstance(figure, Figure):
                    assert figure.shown.digits in numbers, (card.kind, table.name, figure)


def as_told(cell) -> str:
    """What a spreadsheet shows of a number by its format: a half goes away from zero."""
    places = len(re.search(r"0(?:\.(0+))?", cell.number_format)[1] or "") if "0" in cell.number_format else 0
    exact = Fraction(str(round(cell.value, 9))) * 10**places
    whole = int(abs(exact) + Fraction(1, 2))
    digits = f"{whole:0{places + 1}d}"
    sign = "-" if exact < 0 and whole else ""
    return f"{sign}{digits[:-places]}.{digits[-places:]}" if places else f"{sign}{digits}"


def test_what_hangs_is_the_same_on_the_cards_in_the_stations_sheet_and_on_the_screen(shop, show):
    sheet = shop.job.parent / "sheet.csv"
    commands.run("send", str(shop.job), "--out", str(sheet), folder=shop.job.parent)
    rows = list(csv.DictReader(sheet.read_text(encoding="utf-8").splitlines()))
    card = card_texts.table(shop.cards(show)["bobweight"], "throws")
    asked = ["--show", show] if show else []
    screen = commands.run("hang", str(shop.job), *asked, folder=shop.job.parent)[1]
    hang = card.heads.index("hang")
    assert rows
    for row, told in zip(rows, card.rows, strict=False):
        assert by_hand(float(row["hang_g"]), 1) == told[hang].shown.digits
        assert told[hang].shown.digits in screen
        assert row["hang"] == f"{told[hang].shown.digits} g"


def test_what_a_stack_makes_is_the_same_on_the_card_and_on_the_screen(shop, show):
    card = shop.cards(show)["bobweight"]
    asked = ["--show", show] if show else []
    screen = commands.run("stack", str(shop.job), "--station", str(shop.station), *asked, folder=shop.job.parent)[
        1
    ]
    found = re.findall(r"makes (\S+) g, (\S+) g off", screen)
    assert found
    (table,) = [
        block for block in card_texts.flat(card.blocks) if isinstance(block, CardTable) and block.name in BY_STACK
    ]
    told = {row[0].split(" [")[0].removeprefix("a stack "): row[1:] for row in table.rows}
    for said, at in (("makes", 0), ("off by", 1)):
        assert [cell.shown.digits for cell in told[said] if isinstance(cell, Figure)] == [two[at] for two in found]


BY_STACK = ("stacks", "setting")  # a column a stack, or one stack beside its recipe


def test_an_angle_to_drill_at_is_the_same_on_the_card_in_the_data_and_on_the_screen(shop, show):
    card = shop.cards(show)["station"]
    at = [str(shop.job), "--station", str(shop.station)]
    screen = commands.run("holes", *at, *(["--show", show] if show else []), folder=shop.job.parent)[1]
    plan = json.loads(commands.run("holes", *at, "--json", folder=shop.job.parent)[1])
    told = list(card_texts.texts(card))
    assert plan["plan"]["operations"]
    for one in plan["plan"]["operations"]:
        for whose in ("station_angle_deg", "crank_angle_deg"):
            digits = f"{by_hand(one[whose] % 360, 1)}°"
            assert any(digits in text for text in told), (whose, digits)
            assert digits in screen, (whose, digits)
