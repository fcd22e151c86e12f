"""A quote, in sentences: for the customer, and what the shop alone is told."""

from __future__ import annotations

from truethrow.balance.base.amounts import Amount
from truethrow.balance.job.job import Job
from truethrow.balance.planning.prices import PricesTable
from truethrow.balance.planning.quoting import Line, Quote
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import result_words

TITLE = "Quote: balancing a rotating assembly"
LINES = {
    "weighing": "parts weighed; a rod, with its two ends, is one",
    "match": "the set of parts matched",
    "cut": "cuts: ground, and weighed again",
    "spin": "spins at the station",
    "slug": "slugs of heavy metal, each pressed in",
    "hole": "holes drilled, or arcs ground",
    "hour": "hours besides",
}
CALLED = {"slug": "slugs", "hole": "holes"}
BASIS = {
    "estimate": "Not all parts are weighed, and the crank is not spun yet: what is not known is a range.",
    "weighed": "By the weighed parts; the crank is not spun yet.",
    "spun": "By the last spin of the crank, and what is done so far.",
    "done": "All of it is done, and the crank is signed.",
}
INCLUDED = "included"
RESTS, MAY_CHANGE, TERMS = "What it rests on", "What may change it", "Terms"
NO_TAX = "No tax is counted."
IN_WHOLE = (
    "A range is in whole units of the currency, its ends rounded outward; the total is summed before that, and "
    "rounded once."
)


def money(prices: PricesTable) -> str:
    """What stands before an amount: the currency as the shop writes it, apart from the figure where it is
    letters."""
    return f"{prices.currency} " if prices.currency[-1].isalpha() else prices.currency


def places(prices: PricesTable, least: object, most: object) -> int:
    """Decimals of an amount; a range is in whole units."""
    return prices.decimals if least == most else 0


def ends(least: Amount, most: Amount) -> str:
    return str(least) if least == most else f"{least} to {most}"


def amount(line: Line, prices: PricesTable) -> str:
    if not line.each:
        return INCLUDED
    least, most = line.told
    digits = places(prices, least, most)
    return ends(Amount(float(least), digits), Amount(float(most), digits))


def total(found: Quote) -> str:
    least, most = found.total
    digits, before = places(found.prices, least, most), money(found.prices)
    return f"{before}{ends(Amount(float(least), digits), Amount(float(most), digits))}"


def called_total(found: Quote) -> str:
    """What the total is called: a sum that leaves something out says so wherever it is told."""
    if not found.not_counted:
        return "total"
    return f"total, without {' and '.join(CALLED[name] for name in found.not_counted)}{still(found)}"


def still(found: Quote) -> str:
    """Where some of what is not counted is done, and is in the total: that the rest of it is meant."""
    return " still to come" if any(line.name in found.not_counted for line in found.lines) else ""


def basis(found: Quote) -> str:
    said = BASIS[found.stage]
    if found.target_g is not None and not found.not_counted:
        said += " Holes, slugs and spins are by its maker's word until then."
    if found.not_counted:
        said += f" Not counted, because nobody knows yet: {', '.join(CALLED[name] for name in found.not_counted)}"
        said += f"{still(found)}."
    return said


def assumed(found: Quote, job: Job, show: Display) -> list[str]:
    """What the count rests on."""
    said = []
    if found.target_g is not None:
        comes = (
            f"for {show.masses(found.target_g)} on every throw" if found.target_g else "with nothing hung on it"
        )
        said.append(f"The crank comes balanced {comes}, as its maker says.")
    names = {line.name for line in found.lines}
    if "spin" in names and found.stage != "done":
        said.append(
            "One spin to see how the crank came, those that prove the station with known masses, and one after "
            "each round of holes."
        )
    if "cut" in names and found.stage in ("estimate", "weighed"):
        said.append("Cuts within what the job allows to take off each part, until its limits are met.")
    if job.estimated:
        said.append("Parts weigh in within the range of their catalog weights.")
    if any(line.least != line.most for line in found.lines):
        said.append(IN_WHOLE)
    return said


def may_change(found: Quote) -> list[str]:
    """What is not known yet, and could make it another."""
    if found.stage == "done":
        return []
    said = []
    if found.stage == "estimate":
        said.append("What the parts weigh in at: it decides the cuts.")
    if found.is_held:
        said.append("Readings that look wrong: until they are weighed again nobody knows the cuts.")
    if found.stage in ("estimate", "weighed"):
        said.append("What the crank reads when it is spun: it decides holes, slugs and spins.")
    else:
        said.append("A spin that is still not inside takes another round: its holes, and one more spin.")
    said.append("A part or a crank that is found cracked, bent or worn, and has to be replaced.")
    return said


def holds(prices: PricesTable) -> list[str]:
    """How long it holds and what else is on it, in the shop's words; no tax is made up."""
    said = [f"This quote holds: {prices.holds}."] if prices.holds else []
    return [*said, prices.note or NO_TAX]


def to_count(found: Quote, job: Job, *, has_tools: bool) -> str:
    """What would tell the shop what is not counted; nothing where all is."""
    if not found.not_counted:
        return ""
    what = " and ".join(CALLED[name] for name in found.not_counted)
    if found.no_profile:
        return f"Not told, {what} still to come: the crank was spun; give its --station."
    if not has_tools:
        return f"Not told, {what}: give --station, a profile with its drills."
    if found.stage == "spun":
        return f"Not told, {what} still to come: the last spin has no plan; truethrow spins tells why."
    if job.crank is None:
        return f"Not told, {what}: the job has no [crank] with its counterweights."
    return f"Not told, {what}: give --target, the bobweight that the crank's maker balanced it for, or spin it."


def outside(found: Quote) -> str:
    """Why the status is 1."""
    if found.stays:
        return "the shop's tools do not bring this crank inside: the quote does not end with a signed crank"
    return "look again first" if found.is_held else ""


def estimate(job: Job) -> str:
    return result_words.estimated(job)
