"""The bench card: what to weigh, in the bench's own order, and what was weighed."""

from __future__ import annotations

from card_texts import DATE, flat, launch, lines, shown, table

from truethrow.balance.base.beside import log_path
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Weighed
from truethrow.balance.result import plans
from truethrow.worksheets.cards import make
from truethrow.worksheets.cards.card import Blank, Lines, Marked
from truethrow.worksheets.cards.known import load
from truethrow.worksheets.words import card_words


def in_order(card):
    """What is weighed, turn after turn."""
    said = next(b for b in flat(card.blocks) if isinstance(b, Lines) and b.heading == card_words.IN_ORDER)
    return said.lines[0].split(" · ")


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
        log.append(Weighed(cylinder, "piston", grams, str(grams)))
    known = load(path)
    card = make.cards(known, known.display(), DATE)[0][0]
    grid = table(card, "readings")
    pistons = [row[grid.heads.index("piston")] for row in grid.rows]
    assert [shown(cell) for cell in pistons[:3]] == ["538.1", "538.9 ×2", "537.5"]
    assert [cell.mark for cell in pistons if isinstance(cell, Marked)] == ["▲", "▼"]
    assert all(isinstance(cell, Blank) for cell in pistons[3:])
    assert "weigh again" not in lines(card, "framed").lower()
    assert "rings" not in grid.heads
    assert table(card, "for all").heads == ("locks", "rings", "bearings")


def test_the_order_is_the_benchs_own(blank):
    path = blank(bench={"rods": "by-rod", "reference": 500.0})
    known = load(path)
    card = make.cards(known, known.display(), DATE)[0][0]
    ends = ("zero at the {}", "reference mass at the {}")
    assert in_order(card) == [
        *(end.format("start") for end in ends),
        *(f"{kind} 1 → 8" for kind in ("piston", "pin", "locks", "rings", "bearings", "rod")),
        *(end.format("end") for end in ends),
    ]
    assert [row[0] for row in table(card, "scale").rows] == ["zero", "reference mass"]


def test_a_part_that_was_cut_is_to_be_weighed_again(told, tmp_path):
    shop = launch(tmp_path)
    plans.record(shop.job, [("piston", 1)])
    known = shop.known()
    assert [(step.cylinder, step.kind) for step in known.open] == [(1, "piston")]
    assert known.why["station"] == "1 part is still to be weighed"
    assert lines(shop.cards()["bench"], "framed").endswith("no reading of it counts: piston P28 (sits in 1).")
    assert in_order(shop.cards()["bench"]) == ["piston 1"]
    grid = table(shop.cards()["bench"], "readings")
    assert isinstance(grid.rows[0][grid.heads.index("piston")], Blank)
    assert grid.rows[0][grid.heads.index("piston label")] == "P28"


def test_of_several_that_weigh_the_same_each_is_marked(blank):
    path = blank()
    log = ReadingLog(log_path(path))
    for cylinder, grams in ((1, 538.8), (2, 538.1), (3, 538.5), (4, 538.8), (5, 538.1)):
        log.append(Weighed(cylinder, "piston", grams, str(grams)))
        log.append(Weighed(cylinder, "pin", 112.0, "112.0"))
    grid = table(make.cards(known := load(path), known.display(), DATE)[0][0], "readings")
    marks = {
        head: [row[at].mark if isinstance(row[at], Marked) else "" for row in grid.rows[:5]]
        for at, head in enumerate(grid.heads)
    }
    assert marks["piston"] == ["▲", "▼", "", "▲", "▼"]
    assert marks["pin"] == [""] * 5
