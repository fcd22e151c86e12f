"""What the tests of the cards share: jobs carried on to where a card is told, and what stands on it, read back."""

from __future__ import annotations

import bisect
import cmath
import itertools
import math
import re

import cranks
import invented
import pytest
from engine_shop import DAMPER, FLEXPLATE, in_planes, member
from meter_shop import Meter

from truethrow.balance import demo
from truethrow.balance.base.beside import log_path
from truethrow.balance.correction import changed_by
from truethrow.balance.demo.story import look_again
from truethrow.balance.job import enter
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Struck, Weighed
from truethrow.balance.matching import proposing
from truethrow.balance.result import plans
from truethrow.balance.station import balancing, may_go, stationwork
from truethrow.balance.station.next_steps import next_pair
from truethrow.worksheets.cards import make
from truethrow.worksheets.cards.card import (
    KINDS,
    Bigs,
    CardTable,
    Figure,
    Halves,
    Lines,
    Marked,
    Picture,
    Side,
    Tiles,
    Word,
)
from truethrow.worksheets.cards.known import load

DATE = "2026-11-25"


HIDDEN = (cmath.rect(900.0, 1.0), cmath.rect(1400.0, 4.0))
# What drills alone do, without heavy metal.
LIGHT = (cmath.rect(1100.0, 3.5), cmath.rect(700.0, 4.0))


# Jobs to make cards of


class Shop:
    """A folder with a job and its station's profile, and a crank on that station with a hidden unbalance."""

    def __init__(self, folder, text="", name="my.toml"):
        demo.copy_into(folder)
        self.job, self.station, self.hidden = folder / name, folder / "station.toml", list(HIDDEN)
        if text:
            self.job.write_text(text, encoding="utf-8")

    def known(self, sheet=None):
        return load(self.job, sheet, self.station)

    def cards(self, show=None, sheet=None, date=DATE):
        known = self.known(sheet)
        made, why = make.cards(known, known.display(show), date)
        assert [card.kind for card in made] == [kind for kind in KINDS if kind not in why]
        return {card.kind: card for card in made}

    def digests(self, **how):
        return {kind: card.digest for kind, card in self.cards(**how).items()}

    def log(self):
        return ReadingLog(log_path(self.job))

    def state(self):
        return balancing.load(self.job, self.station)

    def spin(self, on=None):
        state = self.state()
        read = [state.instrument.shows(vector) for vector in self.hidden]
        stationwork.spin(
            self.job, state, [f"{amount:.2f}@{degrees:.0f}" for amount, degrees in read], by="AB", on=on
        )
        if not self.state().is_proved:
            self.hang()

    def hang(self):
        """Two known masses that agree, where there is none yet."""
        state = self.state()
        masses = next_pair(state)
        vectors = [was + mass.vector_gmm for was, mass in zip(state.last.raw, masses, strict=True)]
        read = [state.instrument.shows(vector) for vector in vectors]
        texts = [f"{amount:.4f}@{degrees:.4f}" for amount, degrees in read]
        stationwork.known_mass(self.job, state, masses, texts, "AB")

    def drill(self, numbers=None):
        state = self.state()
        wanted = numbers or dict.fromkeys(range(1, len(state.plan.operations) + 1))
        for one in stationwork.drilled(self.job, state, wanted, "AB"):
            change = changed_by([one.hole], state.planes_mm)
            self.hidden = [was + by for was, by in zip(self.hidden, change, strict=True)]

    def sign(self):
        while not may_go.is_inside(self.state()):
            self.drill()
            self.spin()
        stationwork.sign(self.job, self.state(), "AB")

    def edit(self, *changes, of=None):
        path = of or self.job
        text = path.read_text(encoding="utf-8")
        for was, becomes in changes:
            assert was in text
            text = text.replace(was, becomes)
        path.write_text(text, encoding="utf-8")


def launch(folder):
    """The demo, its sheet entered."""
    shop = Shop(folder, name="launch.toml")
    enter.enter(shop.job, folder / "launch-weigh.csv")
    look_again(shop.job)
    return shop


def spun(folder, hidden=HIDDEN):
    shop = launch(folder)
    shop.hidden = list(hidden)
    shop.spin()
    return shop


def half_drilled(folder):
    shop = spun(folder, LIGHT)
    shop.drill({1: None})
    return shop


def signed(folder):
    """Each throw hangs its own: with their mean, what hanging leaves is too much to be signed."""
    shop = launch(folder)
    shop.edit(("[bobweight]\n", '[bobweight]\nhang = "own"\n'))
    shop.spin()
    shop.sign()
    return shop


def external(folder):
    """A crank whose damper and flexplate carry part of its balance, spun without the flexplate."""
    members = [member(DAMPER, 1400, 135, one_way=True), member(FLEXPLATE, 2200, 300)]
    crank = {"counterweight": cranks.v8_weights(), "external": members}
    shop = Shop(folder, invented.text(invented.document(station={"limit": 130.0}, crank=crank)))
    shop.hidden = [-one for one in in_planes(cmath.rect(2200, math.radians(300)), FLEXPLATE["at"])]
    shop.spin(["damper"])
    return shop


def divisions(folder):
    """A station that reads divisions, spun once: nobody knows yet what it reads."""
    meter = Meter(folder, [[0.02, 0.002], [0.003, 0.03j]])
    meter.crank = [cmath.rect(900, 1), cmath.rect(700, 3)]
    meter.spin(*meter.shows())
    return _of_a_meter(folder)


def divisions_told(folder):
    """The same after its trial masses, and spun once more."""
    divisions(folder)
    meter = Meter(folder, [[0.02, 0.002], [0.003, 0.03j]])
    meter.crank = [cmath.rect(900, 1), cmath.rect(700, 3)]
    meter.as_told()
    meter.spin(*meter.shows())
    return _of_a_meter(folder)


def _of_a_meter(folder):
    shop = Shop.__new__(Shop)
    shop.job, shop.station, shop.hidden = folder / "my.toml", folder / "station.toml", list(HIDDEN)
    return shop


def pump(folder):
    return Shop(folder, name="pump.toml")


def v16(folder):
    """Two banks on eight throws, each with a bobweight of its own, and no limit but one."""
    engine = {"stroke": 70.0, "rod_length": 130.0, "bore": 74.0, "cylinder_spacing": 84.0, "top_speed": 7000}
    engine |= {"throw_angles": [0, 90, 270, 180, 180, 270, 90, 0], "banks": {"left": 22.5, "right": -22.5}}
    parts = invented.cylinders(16, piston={n: 538.4 + n / 10 for n in range(1, 17)})
    tables = {"bobweight": {"share": 0.5, "oil": 4.0, "hang": "own"}, "limits": {"piston": 1.0}}
    return Shop(folder, invented.text(invented.document(parts, engine=engine, **tables)))


def ground(folder):
    """A launch with a history: parts moved, a reading struck, a plan ground, a part of it weighed again."""
    shop = launch(folder)
    log = shop.log()
    taken = log.append(Weighed(1, "pin", 140.0, "140"))
    log.append(Struck(taken.id, why="the wrong pin"))
    proposal = proposing.propose(shop.job, shop.known().job, {"piston": {1: 2, 2: 1}}, "for the test")
    proposing.accept(shop.job, proposal.id)
    plans.record(shop.job, [("piston", 1), ("piston", 3)])
    for cylinder in (1, 3):
        shop.log().append(Weighed(cylinder, "piston", 535.2, "535.2"))
    return shop


STORIES = {
    made.__name__: made
    for made in (launch, spun, half_drilled, signed, pump, v16, ground, external, divisions, divisions_told)
}

# Each in one process of the tests, where it is worked once.
EACH_STORY = [pytest.param(name, marks=pytest.mark.xdist_group(f"story {name}")) for name in STORIES]


# What stands on a card


def flat(blocks):
    """All blocks, those beside each other too."""
    for block in blocks:
        if isinstance(block, Side):
            yield from flat(itertools.chain.from_iterable(block.columns))
        else:
            yield block


def table(card, name):
    """The table of a name."""
    return next(block for block in flat(card.blocks) if isinstance(block, CardTable) and block.name == name)


def bigs(card):
    """The big figures, in order."""
    return [big for block in flat(card.blocks) if isinstance(block, Bigs) for big in block.bigs]


def lines(card, weight):
    """The sentences of a weight, a line each."""
    said = [block for block in flat(card.blocks) if isinstance(block, Lines) and block.weight == weight]
    return "\n".join(text for block in said for text in (block.heading, *block.lines))


def cells(card):
    for block in flat(card.blocks):
        if isinstance(block, Bigs):
            yield from (big.cell for big in block.bigs)
        elif isinstance(block, CardTable):
            yield from itertools.chain.from_iterable(block.rows)
        elif isinstance(block, Tiles):
            for tile in block.tiles:
                yield from itertools.chain.from_iterable(row for _, row in tile.rows)


def pictures(card):
    for block in flat(card.blocks):
        if isinstance(block, Picture):
            yield block
        elif isinstance(block, Tiles):
            yield from (tile.picture for tile in block.tiles)


def texts(card):
    """Every text of a card, those in its drawings too; what is a drawing's own scale says so."""
    yield from card.cautions
    for cell in cells(card):
        if isinstance(cell, str | Word | Figure | Halves | Marked):
            yield shown(cell)
    for block in flat(card.blocks):
        yield from around(block)
    for picture in pictures(card):
        yield from (picture.words, picture.caption)
        for attributes, text in re.findall(r"<text([^>]*)>([^<]*)</text>", picture.svg):
            if not re.search(r'class="[^"]*\bscale\b', attributes):
                yield text


def around(block):
    """The texts of a block that are no cells."""
    match block:
        case Bigs():
            yield from (text for big in block.bigs for text in (big.label, big.below))
        case CardTable():
            yield from (block.caption, *block.heads)
        case Lines():
            yield from (block.heading, *block.lines)
        case Tiles():
            for tile in block.tiles:
                yield from (tile.title, *(label for label, _ in tile.rows))


def shown(cell):
    return cell.figure.text if isinstance(cell, Marked) else cell if isinstance(cell, str) else cell.text


OZ, IN = 28.349523125, 25.4


# Sentences are not data of which a number could be: their numbers have to be found like any other.
SENTENCES = ("sentence", "sentences", "withheld", "not_signable", "doubted", "weigh_again", "advice", "halted")


TOKEN = re.compile(r"(?<![\w.])\d+(?:\.\d+)?")


def leaves(data, key=""):
    if key in SENTENCES:
        return
    if isinstance(data, dict):
        for name, value in data.items():
            yield str(name)
            yield from leaves(value, name)
    elif isinstance(data, list):
        for value in data:
            yield from leaves(value, key)
    elif data is not None and not isinstance(data, bool):
        yield data


class Found:
    """The numbers and the names of a card's data."""

    def __init__(self, card, units):
        found = list(leaves(card.data))
        numbers = [abs(one) for one in found if not isinstance(one, str)]
        # An angle may be told within a turn, or as far as it is from nought.
        turned = [math.fmod(one, 360) for one in numbers] + [360 - math.fmod(one, 360) for one in numbers]
        self.numbers = sorted({one / unit for one in numbers for unit in units} | {*turned})
        self.parts = sorted(one * 100 for one in numbers if one <= 1)
        named = sorted({one for one in found if isinstance(one, str) and TOKEN.search(one)}, key=len, reverse=True)
        any_name = "|".join(map(re.escape, named))
        self.names = re.compile(rf"(?<![\w.])(?:{any_name})(?![\w]|\.\d)") if named else None
        # A length is rounded in millimetres before it is told in inches.
        self.slack = 0.005 / IN if len(units) > 1 else 0.0

    def missing(self, text):
        """The numbers of a text that the data has not."""
        bare = self.names.sub(" ", text) if self.names else text
        return [token[0] for token in TOKEN.finditer(bare) if not self._has(token[0], bare[token.end() :])]

    def _has(self, token, after):
        places = len(token.partition(".")[2])
        within = 0.5 * 10**-places + 1e-9 + (self.slack if places > 2 else 0.0)
        among = self.parts if after.startswith("%") else self.numbers
        at = bisect.bisect_left(among, float(token) - within)
        return at < len(among) and among[at] <= float(token) + within
