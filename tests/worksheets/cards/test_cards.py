"""The cards: what each says, that it says no number which its data has not, and when it is old."""

from __future__ import annotations

import bisect
import cmath
import dataclasses
import itertools
import json
import math
import re
import shutil

import cranks
import invented
import pytest

from truethrow.balance import demo
from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput
from truethrow.balance.correction import changed_by
from truethrow.balance.demo.story import look_again
from truethrow.balance.engine.layout import generic_layout
from truethrow.balance.job import enter
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.matching import proposing
from truethrow.balance.result import plans
from truethrow.balance.station import balancing, may_go, stationwork
from truethrow.balance.station.next_steps import next_mass
from truethrow.balance.station.stationlog import KnownMass
from truethrow.worksheets.cards import code, make
from truethrow.worksheets.cards.card import (
    KINDS,
    Bigs,
    Blank,
    CardTable,
    Figure,
    Lines,
    Marked,
    Picture,
    Side,
    Tick,
    Tiles,
    Word,
)
from truethrow.worksheets.cards.known import load
from truethrow.worksheets.words import physics_words, result_words
from truethrow.worksheets.words import station_words as words

DATE = "2026-11-25"
HIDDEN = (cmath.rect(900.0, 1.0), cmath.rect(1400.0, 4.0))


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

    def spin(self):
        state = self.state()
        read = [state.instrument.shows(vector) for vector in self.hidden]
        stationwork.spin(self.job, state, [f"{amount:.2f}@{degrees:.0f}" for amount, degrees in read], by="AB")
        if not self.state().is_proved:
            self.hang()

    def hang(self):
        """A test mass that agrees, where there is none yet."""
        state = self.state()
        mass = next_mass(state)
        on = cmath.rect(mass.mass_g * mass.radius_mm, math.radians(mass.angle_deg))
        front, rear = self.state().last.raw
        read = [state.instrument.shows(vector) for vector in (front + on, rear)]
        texts = [f"{amount:.4f}@{degrees:.4f}" for amount, degrees in read]
        stationwork.known_mass(self.job, state, mass, texts, "AB")

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


def spun(folder):
    shop = launch(folder)
    shop.spin()
    return shop


def half_drilled(folder):
    shop = spun(folder)
    shop.drill({1: None})
    return shop


def signed(folder):
    """Each throw hangs its own: with their mean, what hanging leaves is too much to be signed."""
    shop = launch(folder)
    shop.edit(("[bobweight]\n", '[bobweight]\nhang = "own"\n'))
    shop.spin()
    shop.sign()
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
    taken = log.append("read", cylinder=1, kind="pin", grams=140.0, typed="140")
    log.append("strike", of=taken.id, why="the wrong pin")
    proposal = proposing.propose(shop.job, shop.known().job, {"piston": {1: 2, 2: 1}}, "for the test")
    proposing.accept(shop.job, proposal.id)
    plans.record(shop.job, [("piston", 1), ("piston", 3)])
    for cylinder in (1, 3):
        shop.log().append("read", cylinder=cylinder, kind="piston", grams=535.2, typed="535.2")
    return shop


STORIES = {made.__name__: made for made in (launch, spun, half_drilled, signed, pump, v16, ground)}


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """A story by its name, worked once."""
    shops = {}

    def tell(name):
        if name not in shops:
            shops[name] = STORIES[name](tmp_path_factory.mktemp(name))
        return shops[name]

    return tell


# What stands on a card


def flat(blocks):
    """All blocks, those beside each other too."""
    for block in blocks:
        if isinstance(block, Side):
            yield from flat(itertools.chain.from_iterable(block.columns))
        else:
            yield block


def cells(card):
    for block in flat(card.blocks):
        if isinstance(block, Bigs):
            yield from (big.cell for big in block.bigs)
        elif isinstance(block, CardTable):
            yield from itertools.chain.from_iterable(block.rows)
        elif isinstance(block, Tiles):
            for tile in block.tiles:
                yield from itertools.chain.from_iterable(row for _, row in tile.rows)


def figures(card):
    for cell in cells(card):
        if isinstance(cell, Figure | Marked):
            yield cell.figure if isinstance(cell, Marked) else cell


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
        if isinstance(cell, str | Word | Figure | Marked):
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


# Numbers: each is in the data, as it was or in the unit that the card is shown in

METRIC = (1.0,)
OZ, IN = 28.349523125, 25.4
INCH = (1.0, OZ, IN, OZ * IN, OZ * IN**2, IN**3 / 1000, 0.3048 / 60, 0.3048)
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


def units_of(show):
    return INCH if show == "inch" else METRIC


@pytest.mark.parametrize("show", [None, "inch"])
@pytest.mark.parametrize("story", STORIES)
def test_every_number_on_a_card_is_in_its_data(told, story, show):
    for card in told(story).cards(show).values():
        found = Found(card, units_of(show))
        missing = {text: tokens for text in texts(card) if (tokens := found.missing(text))}
        assert not missing, card.kind


@pytest.mark.parametrize("show", [None, "inch"])
@pytest.mark.parametrize("story", STORIES)
def test_a_figure_is_the_one_that_its_path_leads_to(told, story, show):
    """And its text is that value, rounded, in one of the units."""
    for card in told(story).cards(show).values():
        for figure in figures(card):
            value = card.data
            for step in figure.path:
                value = value[step]
            assert value == figure.value
            assert not isinstance(value, bool)
            first = TOKEN.search(figure.text)[0]
            only = Found(dataclasses.replace(card, data={"value": value}), units_of(show))
            assert not only.missing(first), (card.kind, figure)


@pytest.mark.parametrize(("layout", "hang"), [("inline-1", "none"), ("radial-9", "mean"), ("v6-60-even", "own")])
def test_any_engine_has_its_cards(tmp_path, layout, hang):
    """One cylinder, nine on one pin, split pins; no limits, no top speed, nothing hung, and no [station]."""
    engine = dict(invented.V8, layout=layout, without=["locks"])
    del engine["top_speed"], engine["bore"]
    if layout != "v6-60-even":
        del engine["cylinder_spacing"]
    parts = invented.cylinders(len(generic_layout(layout).cylinders))
    for part in parts:
        del part["locks"]
    tables = {"engine": engine, "limits": None, "bobweight": {"share": 0.5, "hang": hang}}
    shop = Shop(tmp_path, invented.text(invented.document(parts, **tables)))
    for show in (None, "inch"):
        cards = shop.cards(show)
        assert set(cards) == set(KINDS)
        for card in cards.values():
            found = Found(card, units_of(show))
            assert not [text for text in texts(card) if found.missing(text)]
            assert all(block.rows for block in flat(card.blocks) if isinstance(block, CardTable))
    assert shown(bigs(shop.cards()["trim"])[0].cell) == "NOTHING"
    assert (shown(bigs(shop.cards()["bobweight"])[0].cell) == "NOTHING") == (hang == "none")


def test_a_number_from_nowhere_is_noticed(told):
    """The checks above can fail."""
    card = told("spun").cards()["station"]
    found = Found(card, METRIC)
    assert found.missing("hang 1864.9 g on throw 1, drill 26.3 mm at 52.7°") == ["1864.9", "26.3", "52.7"]
    assert found.missing("hang 1864.8 g on throw 1, drill 26 mm at 52.0°") == []


@pytest.mark.parametrize("story", STORIES)
def test_a_cards_data_are_plain_json(told, story):
    for card in told(story).cards().values():
        assert json.loads(json.dumps(card.data, allow_nan=False)) == card.data
        assert code.digest(json.loads(json.dumps(card.data))) == card.digest
        assert code.parse(card.code)[:4] == (card.job_id, card.kind, card.job_digest, card.digest)


# What each says at one look


def table(card, name):
    return next(block for block in flat(card.blocks) if isinstance(block, CardTable) and block.name == name)


def bigs(card):
    return [big for block in flat(card.blocks) if isinstance(block, Bigs) for big in block.bigs]


def lines(card, weight):
    said = [block for block in flat(card.blocks) if isinstance(block, Lines) and block.weight == weight]
    return "\n".join(text for block in said for text in (block.heading, *block.lines))


def test_a_job_without_readings_has_a_bench_card_to_fill_in(blank):
    made, why = make.cards(known := load(blank()), known.display(), DATE)
    assert [card.kind for card in made] == ["bench"]
    assert set(why) == {"trim", "bobweight", "station", "report"}
    assert why["trim"] == "56 parts are still to be weighed"
    grid = table(made[0], "readings")
    assert grid.heads == ("cylinder", "piston", "pin", "locks", "rings", "bearings", "big end", "small end")
    assert all(isinstance(cell, Blank) for row in grid.rows for cell in row[1:])
    assert made[0].job_digest == make.OPEN


def test_a_part_still_to_be_weighed_has_a_blank_beside_those_that_are(blank):
    """Two readings of one part are told as two, and the outermost are marked."""
    path = blank(every_cylinder={"rings": 41.0, "locks": 3.2, "bearings": 46.0})
    log = ReadingLog(log_path(path))
    for cylinder, grams in ((1, 538.1), (2, 538.8), (2, 539.0), (3, 537.5)):
        log.append("read", cylinder=cylinder, kind="piston", grams=grams, typed=str(grams))
    known = load(path)
    card = make.cards(known, known.display(), DATE)[0][0]
    grid = table(card, "readings")
    pistons = [row[grid.heads.index("piston")] for row in grid.rows]
    assert [shown(cell) for cell in pistons[:3]] == ["538.1", "538.9 ×2", "537.5"]
    assert [cell.mark for cell in pistons if isinstance(cell, Marked)] == ["▲", "▼"]
    assert all(isinstance(cell, Blank) for cell in pistons[3:])
    assert "weigh again" not in lines(card, "framed").lower()
    assert "rings" not in grid.heads
    assert [row[0] for row in table(card, "for all").rows] == ["locks", "rings", "bearings"]


def test_the_order_is_the_benchs_own(blank):
    path = blank(bench={"rods": "by-rod", "reference": 500.0})
    known = load(path)
    card = make.cards(known, known.display(), DATE)[0][0]
    assert [row[1] for row in table(card, "order").rows] == [
        *("zero", "reference mass", "piston", "pin", "locks", "rings", "bearings", "rod", "zero", "reference mass")
    ]
    assert [row[0] for row in table(card, "scale").rows] == ["zero", "reference mass"]


def test_a_part_that_was_cut_is_to_be_weighed_again(told, tmp_path):
    shop = launch(tmp_path)
    plans.record(shop.job, [("piston", 1)])
    known = shop.known()
    assert [(step.cylinder, step.kind) for step in known.open] == [(1, "piston")]
    assert known.why["station"] == "1 part is still to be weighed"
    assert lines(shop.cards()["bench"], "framed").endswith("no reading of it counts: piston P28 (sits in 1).")
    assert [row[1:] for row in table(shop.cards()["bench"], "order").rows] == [("piston", "1")]
    grid = table(shop.cards()["bench"], "readings")
    assert isinstance(grid.rows[0][grid.heads.index("piston")], Blank)
    assert grid.rows[0][grid.heads.index("piston label")] == "P28"


def test_of_several_that_weigh_the_same_each_is_marked(blank):
    path = blank()
    log = ReadingLog(log_path(path))
    for cylinder, grams in ((1, 538.8), (2, 538.1), (3, 538.5), (4, 538.8), (5, 538.1)):
        log.append("read", cylinder=cylinder, kind="piston", grams=grams, typed=str(grams))
        log.append("read", cylinder=cylinder, kind="pin", grams=112.0, typed="112.0")
    grid = table(make.cards(known := load(path), known.display(), DATE)[0][0], "readings")
    marks = {
        head: [row[at].mark if isinstance(row[at], Marked) else "" for row in grid.rows[:5]]
        for at, head in enumerate(grid.heads)
    }
    assert marks["piston"] == ["▲", "▼", "", "▲", "▼"]
    assert marks["pin"] == [""] * 5


def test_the_spreads_name_each_of_several_that_weigh_the_same(told):
    card = told("launch").cards()["report"]
    heaviest = {row[0]: (shown(row[3]), row[4]) for row in table(card, "spreads").rows}
    assert heaviest["small end"] == ("171.2", "2, 4, 5")
    assert heaviest["piston"] == ("538.9", "3")


def test_the_scales_own_figures_are_in_its_own_unit(tmp_path):
    shop = launch(tmp_path)
    shop.edit(("[scale]", "[bench]\nreference = 500.0\n\n[scale]"))
    cards = shop.cards("inch")
    assert shown(bigs(cards["bench"])[-1].cell) == "0.1 g"
    scale = table(cards["bench"], "scale")
    assert ["500 g" in map(shown, row[:2]) for row in scale.rows][-1]
    assert scale.caption.endswith("0.2 g")
    assert ("scale step", "0.1 g") in [tuple(map(shown, row)) for row in table(cards["bobweight"], "setting").rows]
    assert "scale step 0.1 g." in lines(cards["report"], "plain")


def test_partly_weighed_is_what_the_whole_job_has(tmp_path):
    """The readings that count while one is missing are those of the job once it is there: seats, cuts, labels."""
    shop = ground(tmp_path)
    shop.log().append("cut", cylinder=4, kind="piston", grams=1.0)
    part = shop.known()
    assert part.job is None
    shop.log().append("read", cylinder=4, kind="piston", grams=537.6, typed="537.6")
    whole = shop.known()
    assert whole.job is not None
    for cylinder, parts in whole.parts.items():
        rest = {kind: reading for kind, reading in parts.items() if (cylinder, kind) != (4, "piston")}
        assert {kind: r.repeats_g for kind, r in part.parts[cylinder].items()} == {
            kind: r.repeats_g for kind, r in rest.items()
        }
    assert part.labels == whole.labels
    assert part.labels[1]["piston"] == "P22"


def test_a_fault_is_no_reading_that_is_missing(blank):
    with pytest.raises(BadInput) as caught:
        load(blank(crank={"counterweight": [cranks.weight("one", 0.0, 180.0, inner_radius=99.0)]}))
    assert any("inner_radius" in str(fault) for fault in caught.value.faults)


def test_the_trim_card_tells_each_cut_and_leaves_room_for_what_was_left(told):
    shop = told("launch")
    card, plan = shop.cards()["trim"], shop.known().result.trim
    tiles = next(block for block in card.blocks if isinstance(block, Tiles)).tiles
    assert [tile.title for tile in tiles][:3] == [
        "piston P28 (sits in 1)",
        "piston P22 (sits in 2)",
        "piston P6 (sits in 3)",
    ]
    part_by_part = sorted(plan.parts, key=lambda part: part.part)
    for tile, part in zip(tiles, part_by_part, strict=True):
        own = [cell for _, row in tile.rows for cell in row]
        assert sum(isinstance(cell, Tick) for cell in own) == len(part.cuts)
        assert sum(isinstance(cell, Blank) for cell in own) == len(part.expected_g)
        taken = [cell.value for cell in own if isinstance(cell, Figure)]
        assert taken == [*(cut.grams for cut in part.cuts), *part.expected_g.values()]
    assert [shown(big.cell) for big in bigs(card)] == [card.data["trim"]["plan"], "32.4 g", "12"]
    assert "piston P33 (sits in 5) holds the set back" in lines(card, "framed")


def test_a_plan_that_was_begun_stands_with_its_done_cuts_ticked(tmp_path):
    """The card printed before the first cut and the one after it are the same, but for the ticks."""
    shop = launch(tmp_path)
    before = shop.cards()["trim"]
    plans.record(shop.job, [("rod", 6), ("piston", 2)])
    known, card = shop.known(), shop.cards()["trim"]
    assert known.result is None
    assert card.code == before.code
    assert card.data == before.data
    found = {tile.title: tile for block in card.blocks if isinstance(block, Tiles) for tile in block.tiles}
    ticks = {
        name: [c.done for _, row in tile.rows for c in row if isinstance(c, Tick)] for name, tile in found.items()
    }
    assert {name for name, own in ticks.items() if all(own)} == {"rod R35 (sits in 6)", "piston P22 (sits in 2)"}
    assert not any(
        done
        for name, own in ticks.items()
        if name not in ("rod R35 (sits in 6)", "piston P22 (sits in 2)")
        for done in own
    )
    assert "To be weighed again: piston P22 (sits in 2), rod R35 (sits in 6)." in lines(card, "framed")
    assert "holds the set back" not in lines(card, "framed")  # too late to swap it
    assert not [text for text in texts(card) if Found(card, METRIC).missing(text)]
    shop.log().append("read", cylinder=2, kind="piston", grams=534.9, typed="534.9")
    assert shop.cards()["trim"].digest == before.digest  # the rod still waits
    for kind, grams in (("big_end", 451.0), ("small_end", 171.1)):
        shop.log().append("read", cylinder=6, kind=kind, grams=grams, typed=str(grams))
    assert shop.known().standing is None
    assert shop.cards()["trim"].data["trim"]["plan"] != before.data["trim"]["plan"]


def test_a_plan_all_of_which_is_recorded_says_so(tmp_path):
    shop = launch(tmp_path)
    plans.record(shop.job)
    assert "Every cut of it is recorded" in lines(shop.cards()["trim"], "framed")


def test_that_the_pads_limits_are_assumed_stands_before_the_cuts(tmp_path):
    shop = launch(tmp_path)
    text = shop.job.read_text(encoding="utf-8")
    shop.job.write_text(re.sub(r"(?s)\[trim\].*?\n(?=\[)", "", text), encoding="utf-8")
    first, second = shop.cards()["trim"].blocks[:2]
    assert isinstance(first, Bigs)
    assert (second.heading, second.weight) == ("Ask the maker first", "framed")


def test_nothing_to_cut_is_said_in_big_letters(told):
    assert shown(bigs(told("pump").cards()["trim"])[0].cell) == "NOTHING"


def test_the_bobweight_card_tells_the_stack(told):
    card = told("launch").cards()["bobweight"]
    assert [(big.label, shown(big.cell)) for big in bigs(card)] == [("on every throw", "1864.8 g")]
    assert ("all bobweights", "7459.2 g") in [tuple(map(shown, row)) for row in table(card, "setting").rows]
    stack = table(card, "stack")
    assert [tuple(map(shown, row[:4])) for row in stack.rows if row[0] == "plate 200"] == [
        ("plate 200", "200 g", "2", "4")
    ]
    on_clamp = sum(row[1].value * row[3].value for row in stack.rows if row[0].startswith(("plate", "shim")))
    assert on_clamp + 2 * 352.4 == pytest.approx(card.data["stacks"]["stacks"][0]["mass_g"])


def test_a_throw_of_its_own_has_a_figure_of_its_own(told):
    card = told("v16").cards()["bobweight"]
    each = bigs(card)[1:]  # the first says that the plates are too few
    assert [big.label for big in each] == [f"throw {n}" for n in range(1, 9)]
    stacks = table(card, "stacks")
    assert stacks.heads == ("piece", "weighs", *(f"throw {n}" for n in range(1, 9)))
    assert [shown(cell) for cell in stacks.rows[-2]][2:4] == ["0.2", "0"]
    assert len({shown(big.cell) for big in each}) > 1


def test_plates_that_are_lacking_are_told(told, tmp_path):
    """At the front, and no smaller than a figure."""
    card = told("v16").cards()["bobweight"]
    assert bigs(card)[0].cell == Word("NOT ALL AT ONCE", "inverse")
    assert "That takes 16 more of plate 200." in lines(card, "plain")
    shop = launch(tmp_path)
    short = [(f"mass = {mass}\ncount = 16", f"mass = {mass}\ncount = 4") for mass in ("200.0", "100.0", "50.0")]
    shop.edit(*short, of=shop.station)
    card = shop.cards()["bobweight"]
    assert bigs(card)[0].cell == Word("NO STACK", "inverse")
    assert "throws 1, 2, 3, 4: cannot be met" in lines(card, "plain")


def test_who_hangs_nothing_is_told_nothing_of_bobweights(tmp_path):
    shop = launch(tmp_path)
    shop.edit(("[bobweight]\n", '[bobweight]\nhang = "none"\n'))
    cards = shop.cards()
    assert shown(bigs(cards["bobweight"])[0].cell) == "NOTHING"
    for kind in ("bobweight", "station"):
        assert words.BARE_CAUTION in cards[kind].cautions
        assert words.STACK_CAUTION not in cards[kind].cautions
        assert words.SPIN_CAUTION not in cards[kind].cautions
    assert "true less hung" not in table(cards["bobweight"], "throws").heads
    assert [row[0] for row in table(cards["bobweight"], "setting").rows] == [
        "share of the reciprocating",
        "scale step",
    ]


def test_the_angle_of_a_throw_is_told_as_it_is(tmp_path):
    shop = v16(tmp_path)
    shop.edit(("180, 180", "180, 200.5"))
    cards = shop.cards()
    for kind in ("bobweight", "station", "report"):
        assert [shown(row[1]) for row in table(cards[kind], "throws").rows][3:6] == ["180°", "200.5°", "270°"]


def test_before_any_spin_the_station_card_is_there_to_be_filled_in(told):
    card = told("launch").cards()["station"]
    assert [big.label for big in bigs(card)] == ["on every throw"]
    assert [tuple(map(shown, row)) for row in table(card, "station").rows] == [
        ("front", "1.30", "130.5"),
        ("rear", "1.30", "130.5"),
    ]
    assert sum(isinstance(cell, Blank) for row in table(card, "to write").rows for cell in row) == 12
    assert not any(isinstance(block, Tiles) for block in card.blocks)


def test_the_station_card_tells_every_hole(told):
    shop = told("half_drilled")
    card, state = shop.cards()["station"], shop.state()
    tiles = next(block for block in card.blocks if isinstance(block, Tiles)).tiles
    assert sorted(tile.title for tile in tiles) == sorted({hole.member for hole in state.plan.operations})
    rows = table(card, "operations").rows
    assert [row[-1].done for row in rows] == [True] + [False] * (len(state.plan.operations) - 1)
    assert [(row[1], row[2].value, row[-2].value) for row in rows] == [
        (hole.member, hole.angle_deg, round(hole.depth_mm, 4)) for hole in state.plan.operations
    ]
    boxes = [cell for tile in tiles for _, row in tile.rows for cell in row if isinstance(cell, Blank)]
    assert len(boxes) == sum(hole.kind != "slug" for hole in state.plan.operations[1:])
    read = table(card, "station")
    following = [row[read.heads.index("next, about")].value for row in read.rows]
    assert following == pytest.approx([state.instrument.shows(vector)[0] for vector in state.expected], abs=1e-6)


@pytest.mark.parametrize("story", ["spun", "half_drilled", "v16"])
def test_the_first_page_says_what_to_hang_and_where_to_drill(told, story):
    """Before anything that was read: the weights, the operations in large print, the crank from the front."""
    blocks = told(story).cards()["station"].blocks
    names = [getattr(block, "name", "") for block in blocks]
    before = blocks[: names.index("end-view")]
    assert all(isinstance(block, Bigs) or (block.name == "operations" and block.large) for block in before)
    assert isinstance(blocks[0], Bigs)
    assert ("operations" in names[: len(before)]) == (story != "v16")
    after = [block for block in blocks[len(before) :] if isinstance(block, Bigs) or getattr(block, "large", False)]
    assert not after  # nothing is as large as that


def test_the_stations_readings_have_the_digits_that_were_typed_and_angles_of_their_own(tmp_path):
    """And no angle where there is none to speak of."""
    shop = launch(tmp_path)
    stationwork.spin(shop.job, shop.state(), ["25@23", "0.2@99"], by="AB")
    read = table(shop.cards()["station"], "station")
    assert read.heads[:3] == ("plane", "spin 1", "station's angle")
    assert [tuple(map(shown, row[:3])) for row in read.rows] == [("front", "25.0", "23°"), ("rear", "0.2", "")]
    stationwork.spin(shop.job, shop.state(), ["25@23", "20@99"], by="AB")
    assert [shown(row[1]) for row in table(shop.cards()["station"], "station").rows] == ["25", "20"]
    stationwork.spin(shop.job, shop.state(), ["25@23", "20@99", "26@23", "20@99"], by="AB")
    assert [shown(row[1]) for row in table(shop.cards()["station"], "station").rows] == ["25.5", "20.0"]


def test_a_hole_that_is_not_as_planned_stops_the_rest(tmp_path):
    shop = spun(tmp_path)
    planned = shop.state().plan.operations[1].depth_mm
    shop.drill({2: planned - 1.5})
    state, card = shop.state(), shop.cards()["station"]
    assert not state.halted
    assert bigs(card)[0].cell == Word("SPIN BEFORE THE REST", "inverse")
    did = table(card, "operations")
    first, second = did.rows[:2]
    assert [second[did.heads.index(head)].value for head in ("deep", "planned")] == [planned - 1.5, planned]
    assert (first[-1], second[-1]) == (Word("wait", "framed"), Tick(done=True))
    assert not any(isinstance(cell, Blank) for own in tiles(card) for cell in own)
    assert "next, about" not in table(card, "station").heads
    drawn = next(block for block in card.blocks if getattr(block, "name", "") == "side-view").svg
    assert ">2<" in drawn and ">1<" not in drawn.replace(">1</text>", "", 1)  # throw 1 alone has that number


def test_a_spin_of_other_bobweights_is_no_reason_to_drill(tmp_path):
    shop = spun(tmp_path)
    assert table(shop.cards()["station"], "operations").rows
    text = shop.job.read_text(encoding="utf-8")
    shop.job.write_text(text.replace("[bobweight]", "[bobweight]\nhang = 1900.0", 1), encoding="utf-8")
    card = shop.cards()["station"]
    assert bigs(card)[0].cell == Word("SPIN AGAIN", "inverse")
    assert card.data["operations"] == [] and "next" not in card.data["reads"]
    assert not any(getattr(block, "name", "") == "operations" for block in card.blocks)
    assert not tiles(card)


def test_a_hole_along_the_crank_is_told_with_its_tip_or_that_it_goes_through(tmp_path):
    thin = [
        {"name": name, "at": at, "radius": 120.0, "thickness": 6.0}
        for name, at in (("damper", -60.0), ("flexplate", 400.0))
    ]
    shop = Shop(tmp_path, invented.text(invented.document(station={"limit": 130.0}, crank={"external": thin})))
    shop.spin()
    card = shop.cards()["station"]
    assert {one["kind"] for one in card.data["operations"]} == {"axial"}
    through = [one["through"] for one in card.data["operations"]]
    told = [row[table(card, "operations").heads.index("deep")].text for row in table(card, "operations").rows]
    assert any(through)
    assert [text.endswith("through") for text in told] == through
    assert "radius" in table(card, "operations").heads
    blind = shop.state().plan.operations[0]._replace(depth_mm=3.0, point_deg=118.0, diameter_mm=8.0)
    assert f"3 mm deep, {round(blind.tip_mm, 1):g} mm to the tip;" in words.hole(blind, shop.known().display())


def test_a_signed_crank_says_so_and_asks_for_nothing(told):
    cards = told("signed").cards()
    assert Word("SIGNED") in list(cells(cards["station"]))
    assert not any(block.name == "to write" for block in cards["station"].blocks if isinstance(block, CardTable))
    assert bigs(cards["report"])[0].cell == Word("AB")
    assert words.SIGN_CAUTION in cards["station"].cautions


def test_what_is_not_signed_says_why(told):
    card = told("half_drilled").cards()["report"]
    assert bigs(card)[0].cell == Word("NOT SIGNED", "inverse")
    assert "1 hole done since the last spin: spin again." in lines(card, "plain")
    verdicts = [big.cell for big in bigs(card) if big.label in ("front plane is", "rear plane is")]
    assert verdicts == [Word("OUTSIDE", "inverse")] * 2
    assert "signed" not in card.title


def test_an_angle_has_its_sign_in_what_stands_against_signing(told):
    said = lines(told("spun").cards()["report"], "plain")
    assert re.search(r"at \d+\.\d°, outside", said)


def test_only_the_present_stops_anybody(told):
    """The verdicts of spins before the last are in plain type."""
    card = told("signed").cards()["report"]
    ruled = [row[-1] for row in table(card, "spins").rows]
    assert any(word.text == "OUTSIDE" for word in ruled)
    assert {word.weight for word in ruled} == {"plain"}
    assert table(told("spun").cards()["report"], "spins").rows[-1][-1] == Word("OUTSIDE", "inverse")


def test_what_a_slug_brings_is_not_told_as_taken(told):
    card = told("signed").cards()["report"]
    done = table(card, "holes")
    slugs = [row for row in done.rows if row[2] == "slug"]
    assert slugs
    assert "brings [g·mm]" in done.heads
    for row in slugs:
        assert row[-2] == ""
        assert row[-1].value < 0
        assert row[-1].text == row[-1].text.lstrip("-")


def test_what_may_stay_is_told_everywhere_alike_and_never_upwards(told):
    cards = told("spun").cards()
    assert all(limit > 130.5 for limit in told("spun").state().limits_gmm)
    found = [("station", "last spin"), ("report", "spins"), ("report", "left by hanging")]
    limits = {shown(row[-2]) for kind, name in found for row in table(cards[kind], name).rows}
    assert limits - {""} == {"130.5"}  # of the static unbalance nothing is said
    assert [big.below.split("; ")[1:] for big in bigs(cards["report"])[1:5:2]] == [["130.5 g·mm may stay"]] * 2


def test_a_plan_that_is_withheld_is_not_on_the_card(tmp_path):
    """A test mass that contradicts the profile: no hole, and in white on black that nothing is to be drilled."""
    shop = spun(tmp_path)
    front, rear = (shop.state().instrument.shows(v) for v in (HIDDEN[0] + cmath.rect(5000.0, -1.0), HIDDEN[1]))
    typed = [f"{amount:.2f}@{degrees:.0f}" for amount, degrees in (front, rear)]
    stationwork.known_mass(shop.job, shop.state(), KnownMass("front", 50.0, 100.0, 57.0), typed)
    assert may_go.withheld(shop.state())
    card = shop.cards()["station"]
    assert bigs(card)[0].cell == Word("DRILL NOTHING", "inverse")
    assert not any(isinstance(block, Tiles) for block in card.blocks)
    assert card.data["operations"] == []
    assert "next" not in card.data["reads"]


def test_a_plan_that_is_halted_shows_what_is_done_and_no_more(tmp_path):
    shop = half_drilled(tmp_path)
    shop.edit(("diameter = 12.0\ndeepest = 30.0", "diameter = 11.0\ndeepest = 12.0"), of=shop.station)
    state, card = shop.state(), shop.cards()["station"]
    assert state.halted
    assert bigs(card)[0].cell == Word("SPIN BEFORE GOING ON", "inverse")
    assert all(one["done"] for one in card.data["operations"])
    assert not any(isinstance(cell, Tick) and not cell.done for block in tiles(card) for cell in block)


def tiles(card):
    """The cells of each tile."""
    found = (tile for block in card.blocks if isinstance(block, Tiles) for tile in block.tiles)
    return [[cell for _, row in tile.rows for cell in row] for tile in found]


def test_a_station_without_a_crank_or_a_limit_still_tells_what_to_hang(told, tmp_path):
    card = told("pump").cards()["station"]  # neither [crank] nor [station]
    assert bigs(card)[0].label == "on every throw"
    assert "does not say what may stay" in lines(card, "framed")
    text = invented.text(invented.document(station={"limit": 130.0}))
    shop = Shop(tmp_path, text)
    shop.spin()
    assert "no [crank]" in lines(shop.cards()["station"], "framed")


def test_without_a_profile_there_is_no_station_card(tmp_path):
    shop = spun(tmp_path)
    known = load(shop.job)
    made, why = make.cards(known, known.display(), DATE)
    assert [card.kind for card in made] == ["bench", "trim", "bobweight", "report"]
    assert "--station" in why["station"]
    assert "cannot be told" in lines(made[-1], "framed")
    assert not any(":station" in card.code for card in made)


def test_the_report_has_the_log_in_short(told):
    card = told("ground").cards()["report"]
    said = [(row[2], row[3]) for row in table(card, "history").rows]
    assert any(
        re.fullmatch(r"pin \S+( \(.*\))?: 140; struck out [-0-9: ]+ : the wrong pin", what) for _, what in said
    )
    assert any(action == "seat" for action, _ in said)
    assert getattr(card.blocks[-1], "name", "") != "history"  # which would part the cautions from the rest
    assert sum(action == "cut" for action, _ in said) == 2
    assert len(table(card, "readings").rows[0]) == len(table(card, "readings").heads)


@pytest.mark.parametrize("story", STORIES)
def test_tables_have_a_cell_for_each_head(told, story):
    for card in told(story).cards().values():
        for block in flat(card.blocks):
            if isinstance(block, CardTable):
                assert {len(row) for row in block.rows} <= {len(block.heads)}, (card.kind, block.name)
            elif isinstance(block, Bigs):
                assert len(block.bigs) >= 1


# Cautions


def test_no_caution_is_missing_where_the_work_can_hurt(told):
    for story in STORIES:
        cards = told(story).cards()
        assert cards["bench"].cautions
        assert {*result_words.TRIM_CAUTIONS} <= {*cards["trim"].cautions}
        assert {words.SPIN_CAUTION, result_words.STATION_CAUTIONS[-1]} <= {*cards["bobweight"].cautions}
        assert {words.SPIN_CAUTION, *result_words.STATION_CAUTIONS} <= {*cards["station"].cautions}
        assert {physics_words.SHAKE_CAUTION, *result_words.STATION_CAUTIONS} <= {*cards["report"].cautions}
        assert words.STACK_CAUTION in cards["bobweight"].cautions
    cards = told("half_drilled").cards()
    assert {words.DRILL_CAUTION, words.SLUG_CAUTION} <= {*cards["station"].cautions}
    assert result_words.AS_WEIGHED in lines(cards["bobweight"], "framed")


# When a card is old

READING = (("piston = 538.1", "piston = 538.0"),)
LIMIT = (("piston = 1.0\n", "piston = 1.1\n"),)
PLATE = (('name = "plate 200"\nmass = 200.0', 'name = "plate 200"\nmass = 150.0'),)


def old(before, after):
    return {kind for kind in KINDS if before[kind] != after[kind]}


def test_a_card_is_old_when_what_it_shows_has_changed_and_only_then(tmp_path):
    shop = spun(tmp_path)
    first = shop.digests()
    assert old(first, shop.digests(date="2027-01-01")) == set()
    assert old(first, shop.digests(show="inch")) == set()
    shop.edit(*PLATE, of=shop.station)
    assert old(first, plated := shop.digests()) == {"bobweight"}
    shop.edit(*LIMIT)
    assert old(plated, limited := shop.digests()) == {"bench", "trim", "report"}
    shop.spin()
    assert old(limited, again := shop.digests()) == {"station", "report"}
    shop.drill({1: None})
    assert old(again, drilled := shop.digests()) == {"station", "report"}
    shop.edit(*READING)
    assert old(drilled, shop.digests()) == set(KINDS)


def test_a_card_is_the_same_wherever_its_files_are(tmp_path):
    (tmp_path / "a").mkdir()
    one = launch(tmp_path / "a")
    shutil.copytree(tmp_path / "a", tmp_path / "b")
    other = Shop(tmp_path / "b", name="launch.toml")
    assert one.digests() == other.digests()


def test_a_card_is_the_same_whether_its_sheet_is_entered_or_not(tmp_path):
    shop = Shop(tmp_path, name="launch.toml")
    beside = shop.digests(sheet=tmp_path / "launch-weigh.csv")
    enter.enter(shop.job, tmp_path / "launch-weigh.csv")
    assert shop.digests() == beside


@pytest.mark.parametrize("noise", [1e-13, -1e-13])
def test_the_last_bits_of_a_float_make_no_card_old(noise):
    assert make.steady({"a": [1864.8 + noise, noise], "b": 3}) == {"a": [1864.8, 0.0], "b": 3}
    assert make.steady({"a": 1864.8001}) != make.steady({"a": 1864.8})


# Texts that nobody would write

HOSTILE = [
    "W" * 300,
    "<script>alert(1)</script>",
    '=cmd|"/c calc"!A0',
    "مكبس رقم ٧",
    "🔧🔩 piston 💥",
    "e" + "\u0301" * 200,
    "]]>&amp;<!--",
    "#set page(fill: red)",
]


def test_hostile_texts_are_data_and_no_more(tmp_path):
    """Labels, titles, notes, names of plates and counterweights: nothing raises, and the data have them whole."""
    parts = invented.cylinders(8, piston={3: [541.0, 541.0]})
    for part, text in zip(parts, HOSTILE, strict=True):
        part["labels"] = {"piston": text, "rod": text}
    weights = [one | {"name": text} for one, text in zip(cranks.v8_weights(), HOSTILE, strict=True)]
    data = invented.document(
        parts,
        job={"id": "<b>=1+1</b>", "title": HOSTILE[1] * 5},
        limits={"piston": 1.0, "big_end": 1.0},
        station={"limit": 130.0},
        crank={"counterweight": weights},
    )
    shop = Shop(tmp_path, invented.text(data))
    shop.edit(("plate 200", "<i>=200</i>"), ("plate 100", "🔩" * 40), of=shop.station)
    shop.spin()
    state = shop.state()
    typed = [f"{amount:.2f}@{degrees:.0f}" for amount, degrees in map(state.instrument.shows, HIDDEN)]
    stationwork.spin(shop.job, state, typed, note=HOSTILE[1] * 10)
    for show in (None, "inch"):
        cards = shop.cards(show)
        assert set(cards) == set(KINDS)
        for card in cards.values():
            assert list(texts(card))
            for picture in pictures(card):
                assert "<script" not in picture.svg
    cards = shop.cards()
    told = [cylinder["labels"]["piston"] for cylinder in cards["bench"].data["cylinders"]]
    assert told == HOSTILE
    assert [member["name"] for member in cards["station"].data["crank"]["members"]] == HOSTILE
    assert {spin["note"] for spin in cards["report"].data["balancing"]["spins"]} == {"", HOSTILE[1] * 10}
    assert code.parse(cards["bench"].code).job_id == "<b>=1+1</b>"
    assert any(HOSTILE[0] in text for text in texts(cards["bench"]))
