"""All cards of a job that can be made by now, and why the others cannot."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import replace
from typing import Any, NamedTuple

from truethrow.worksheets.cards import bench, bobweight, report, spun, station, trim
from truethrow.worksheets.cards.card import KINDS, Block, Card, CardKind
from truethrow.worksheets.cards.code import Code, digest
from truethrow.worksheets.cards.known import Known
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import about_words, card_words

# In the place of the job's digest on a card of a job whose readings are missing: there is none yet.
OPEN = "open"


class Template(NamedTuple):
    """How one card is made: its data, which every rendering and its digest come from; its blocks; its cautions."""

    title: str
    data: Callable[[Known], dict[str, Any]]
    blocks: Callable[[Known, dict[str, Any], Display], tuple[Block, ...]]
    cautions: Callable[[Known], tuple[str, ...]]


TEMPLATES: dict[CardKind, Template] = {
    "bench": Template(card_words.BENCH_TITLE, bench.data, bench.blocks, bench.cautions),
    "trim": Template(card_words.TRIM_TITLE, trim.data, trim.blocks, trim.cautions),
    "bobweight": Template(card_words.BOBWEIGHT_TITLE, bobweight.data, bobweight.blocks, bobweight.cautions),
    "station": Template(card_words.STATION_TITLE, spun.data, station.blocks, station.cautions),
    "report": Template(card_words.REPORT_TITLE, report.data, report.blocks, report.cautions),
}


def cards(
    known: Known, display: Display, date: str, only: Collection[CardKind] = KINDS
) -> tuple[tuple[Card, ...], dict[CardKind, str]]:
    """The cards, in the order of their kinds, and kind → why it is not among them. date: of issue, ISO 8601;
    only: of these kinds."""
    kinds = [kind for kind in KINDS if kind in only]
    not_made = {kind: why for kind in kinds if (why := known.why_not(kind))}
    return tuple(_card(kind, known, display, date) for kind in kinds if kind not in not_made), not_made


def steady(data: Any) -> Any:
    """The same data without the last bits of its floats, in which one machine's sums may differ from another's:
    they would make a card look old. Nine digits, none beyond the sixth decimal, are more than any card shows."""
    if isinstance(data, dict):
        return {key: steady(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [steady(value) for value in data]
    return round(float(f"{data:.9g}"), 6) + 0.0 if isinstance(data, float) else data


def _card(kind: CardKind, known: Known, display: Display, date: str) -> Card:
    template = TEMPLATES[kind]
    found = steady(template.data(known))
    own = digest(found)
    is_by_profile = known.profile is not None and _without_it(template, known) != found
    result = known.planned if kind == "trim" else known.result
    job_digest = result.job.digest if result else OPEN
    return Card(
        kind=kind,
        title=template.title,
        job_id=known.bench.id,
        job_title=known.bench.title,
        about=about_words.line(known.bench.about),
        job_digest=job_digest,
        date=date,
        digest=own,
        code=str(Code(known.bench.id, kind, job_digest, own, station=is_by_profile)),
        blocks=template.blocks(known, found, display),
        cautions=template.cautions(known),
        data=found,
        head=known.head,
    )


def _without_it(template: Template, known: Known) -> dict[str, Any]:
    """A card's data as they were without the station's profile: a code asks for one only where that is another
    card."""
    found: dict[str, Any] = steady(
        template.data(replace(known, profile=None, inventory=None, stacks=None, balancing=None))
    )
    return found
