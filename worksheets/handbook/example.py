"""The demo engine as the handbook's example: its figures, its workings and its drawings, worked out as the
handbook is printed, so that none of them is of another program than the one that prints it."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

from truethrow.balance import demo
from truethrow.balance.base.parts import label
from truethrow.balance.demo import story
from truethrow.balance.job.job import load
from truethrow.balance.result.work import Result, work
from truethrow.worksheets.cards import known, make
from truethrow.worksheets.cards.card import Block, Picture, Tiles, flat
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import working_words
from truethrow.worksheets.words.worked_lines import Working

# What the drawings and the cards are dated: no figure of theirs depends on it.
DAY = "2027-01-15"


class Example(NamedTuple):
    """result: of the weights as they first came; figures: by the names that the chapters call them; pictures: of
    the cards of its story, by stage/card/name; hole: the working of one that is planned."""

    result: Result
    figures: dict[str, str]
    pictures: dict[str, Picture]
    hole: Working

    def working(self, figure: str) -> Working:
        return working_words.working(self.result, figure, Display.of(self.result.job))


def example() -> Example:
    with tempfile.TemporaryDirectory() as folder:
        first, told = Path(folder) / "first", Path(folder) / "told"
        first.mkdir()
        told.mkdir()
        result = work(load(*demo.copy_into(first)))
        pictures, hole = _story(told)
    return Example(result, _figures(result), pictures, hole)


def _story(folder: Path) -> tuple[dict[str, Picture], Working]:
    pictures: dict[str, Picture] = {}
    hole = None
    for stage, job, station in story.told(folder):
        found = known.load(job, None, station)
        show = found.display()
        made, _ = make.cards(found, show, DAY)
        for card in made:
            for picture in _pictures(card.blocks):
                pictures[f"{stage[2:]}/{card.kind}/{picture.name}"] = picture
        if stage == story.SPUN:
            from truethrow.balance.station import balancing  # noqa: PLC0415
            from truethrow.worksheets.words import station_working_words  # noqa: PLC0415

            worked = station_working_words.working(balancing.load(job, station), "hole 1", show)
            # The folder was made for this alone.
            lines = (one._replace(comes_from=one.comes_from.replace(f"{folder}/", "")) for one in worked.lines)
            hole = worked._replace(lines=tuple(lines))
    assert hole is not None
    return pictures, hole


def _pictures(blocks: Iterable[Block]) -> list[Picture]:
    found: list[Picture] = []
    for block in flat(blocks):
        if isinstance(block, Picture):
            found.append(block)
        elif isinstance(block, Tiles):
            found += [tile.picture for tile in block.tiles]
    return found


def _figures(result: Result) -> dict[str, str]:
    """Each with the digits and the unit that a screen has."""
    show, job = Display.of(result.job), result.job
    one = result.bobweights.throws[0]
    first = result.bobweights.cylinders[0]
    figures = {
        "job": job.id,
        "layout": job.engine.layout_name,
        "share": f"{job.share:g}",
        "step": show.masses(job.scale.resolution_g),
        "hang": show.masses(result.bobweights.hung_g or 0.0),
        "bobweight_1": show.masses(one.bobweight.value_g, 1),
        "off_1": show.masses(one.deviation.value_g, 1).replace("-", "−"),
        "rotating_1": show.masses(first.rotating.value_g),
        "reciprocating_1": show.masses(first.reciprocating.value_g),
        "oil": show.masses(one.oil_g),
        "speed": f"{job.engine.top_speed_rpm:g} r/min",
    }
    for spread in result.spreads:
        name = spread.quantity
        figures[f"spread_{name}"] = show.masses(spread.spread_g)
        figures[f"verdict_{name}"] = spread.verdict or "no limit"
        if spread.limit_g is not None:
            figures[f"limit_{name}"] = str(show.allowed(spread.limit_g))
        figures[f"called_{name}"] = label(name)
    return figures
