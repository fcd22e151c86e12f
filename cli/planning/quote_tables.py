"""A quote, on the screen."""

from __future__ import annotations

from truethrow.balance.base.amounts import Amount
from truethrow.balance.planning.quoting import Quote, said
from truethrow.balance.result.work import Result
from truethrow.cli.show import Screen
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import quote_words as words
from truethrow.worksheets.words.cautions import QUOTE_CAUTION


def quote(out: Screen, result: Result, found: Quote, show: Display, *, has_tools: bool) -> None:
    job, prices = result.job, found.prices
    out.line(f"Quote: job {job.id}" + (f", {job.title}" if job.title else ""), strong=True)
    if estimate := words.estimate(job):
        out.line(f"! {estimate}", strong=True)
    if found.stays:  # before any sum: it is not what a signed crank costs
        out.line(f"OUTSIDE: {words.outside(found)}.", strong=True)
    rows = [
        [
            words.LINES[line.name],
            said(line.how_many),
            Amount(float(line.each), max(prices.decimals, -int(line.each.as_tuple().exponent))).digits,
            words.amount(line, prices),
        ]
        for line in found.lines
    ]
    heads = ["", "how many", f"each [{prices.currency}]", f"amount [{prices.currency}]"]
    out.table(heads, rows, ("",))
    out.line(f"{words.called_total(found).capitalize()}: {words.total(found)}.", strong=True)
    out.heading(words.RESTS)
    for rests in (words.basis(found), *words.assumed(found, job, show)):
        out.line(rests)
    if may := words.may_change(found):
        out.heading(words.MAY_CHANGE)
        for one in may:
            out.line(one)
    out.line()
    for term in words.holds(prices):
        out.line(term)
    if told := words.to_count(found, job, has_tools=has_tools):
        out.line(told)
    out.line(f"! {QUOTE_CAUTION}")
