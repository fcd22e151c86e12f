"""A quote, as a page for the customer."""

from __future__ import annotations

from truethrow.balance.planning.quoting import Line, Quote
from truethrow.balance.result.work import Result
from truethrow.worksheets.cards.card import Big, Bigs, Block, Card, CardTable, Cell, Figure, Lines, Side
from truethrow.worksheets.cards.figures import Figures
from truethrow.worksheets.data import quote_data
from truethrow.worksheets.pages.page import estimate, page
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import about_words
from truethrow.worksheets.words import quote_words as words
from truethrow.worksheets.words.cautions import MAKERS_FIRST, QUOTE_CAUTION


def quote_page(result: Result, found: Quote, show: Display, date: str) -> Card:
    job, figures = result.job, Figures(quote_data.quote(found), show)
    blocks: list[Block] = estimate(words.estimate(job))
    if found.stays:  # before any sum: it is not what a signed crank costs
        blocks.append(Lines((f"OUTSIDE: {words.outside(found)}.",), weight="framed"))
    blocks += [_total(figures, found), _lines(figures, found)]
    rests = Lines((words.basis(found), *words.assumed(found, job, show)), words.RESTS)
    may = words.may_change(found)
    change = (Lines(tuple(may), words.MAY_CHANGE),) if may else ()
    terms = Lines(tuple(words.holds(found.prices)), words.TERMS)
    blocks.append(Side(((rests,), (*change, terms)), (0.54, 0.46)))
    whose = job.id, job.title, about_words.line(job.about)
    cautions = QUOTE_CAUTION, MAKERS_FIRST
    return page("quote", words.TITLE, whose, figures.data, tuple(blocks), cautions, date, job.digest)


def _total(figures: Figures, found: Quote) -> Bigs:
    places = words.places(found.prices, *found.total)
    least, most = (figures.number("total", end, places=places) for end in (0, 1))
    whole = _ends(least, most)._replace(before=words.money(found.prices))
    return Bigs((Big(words.called_total(found), whole),), is_modest=True)


def _lines(figures: Figures, found: Quote) -> CardTable:
    rows = tuple(_row(figures, at, line, found) for at, line in enumerate(found.lines))
    currency = found.prices.currency
    heads = ("", "how many", f"each [{currency}]", f"amount [{currency}]")
    return CardTable("quote", heads, rows, "The work", wide=0, close=True)


def _row(figures: Figures, at: int, line: Line, found: Quote) -> tuple[Cell, ...]:
    path = ("lines", at)
    count = _ends(*(figures.number(*path, "count", end) for end in (0, 1)))
    if not line.each:
        return words.LINES[line.name], count, "", words.INCLUDED
    places = words.places(found.prices, *line.told)
    amount = _ends(*(figures.number(*path, "amount", end, places=places) for end in (0, 1)))
    each = figures.number(*path, "each", places=max(found.prices.decimals, -int(line.each.as_tuple().exponent)))
    return words.LINES[line.name], count, each, amount


def _ends(least: Figure, most: Figure) -> Figure:
    return least if least.shown == most.shown else least._replace(behind=f" to {most.text}")
