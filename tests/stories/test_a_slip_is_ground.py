"""A slip is ground: one piston typed 631.5 for 613.5, and what the grinder would have been told to take off.

Each story is told through the command line, and says in a line what a hand would have done wrong.
"""

from __future__ import annotations

import json
import re
import shlex

import books
import commands
import invented
import pytest
from typer.testing import CliRunner
from within import BadInput, NotSaved, app

PISTONS = {1: 613.4, 2: 613.0, 3: 613.5, 4: 612.8, 5: 613.1, 6: 613.3, 7: 612.9, 8: 613.2}
TYPED = PISTONS | {3: 631.5}
TABLES = {
    "limits": {"piston": 1.0},
    "trim": {
        "piston": 20.0,
        "pin": 0.0,
        "big_end_pad": {"at": -48.0, "most": 15.0},
        "small_end_pad": {"at": 182.0, "most": 15.0},
    },
}


class Shop:
    """One job, and the commands that its people give. refusals are told like the program tells them."""

    def __init__(self, name):
        self.name = name

    def __call__(self, command, *more, stdin=""):
        done = CliRunner().invoke(app, [*shlex.split(command), *map(str, more)], input=stdin)
        if isinstance(done.exception, BadInput | NotSaved):
            return 2, "\n".join(done.exception.lines())
        assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
        return done.exit_code, done.output

    def on(self, command, *more, stdin=""):
        """A command about the job: its name goes behind the command's own."""
        verb, _, rest = command.partition(" ")
        return self(f"{verb} {shlex.quote(self.name)} {rest}", *more, stdin=stdin)

    def plan(self):
        """The cuts that the trim asks for by part; None where it tells none."""
        data = json.loads(self.on("trim --json")[1])
        parts = (data["trim"] or {}).get("parts", [])
        return {(p["part"], p["cylinder"]): sum(c["grams"] for c in p["cuts"]) for p in parts} or None

    def look_again(self):
        return json.loads(self.on("trim --json")[1])["look_again"]

    def slips(self):
        return [(s["check"], s["cylinder"]) for s in json.loads(self.on("check --json")[1])["slips"]]

    def weigh(self, *lines):
        status, said = self.on("weigh", stdin="".join(f"{line}\n" for line in lines))
        assert status == 0, said
        return said

    def cut(self):
        """The cuts that stand in the log."""
        return [r for r in self.records() if r["action"] == "cut" and not r["struck_by"]]

    def records(self):
        return json.loads(self.on("history --json")[1])["records"]

    def refuses_to_grind(self):
        """No plan, no trim card, no record; and each says which part."""
        assert self.plan() is None
        status, said = self.on("ground")
        assert (status, self.cut()) == (2, [])
        assert "take" not in re.sub("takes two", "", said)
        return said


def flags(said):
    """What the bench finds odd about the readings; that nobody saw the empty scale is about the scale."""
    return [line for line in said.splitlines() if line.startswith("! ") and "empty scale" not in line]


@pytest.fixture
def shop(tmp_path, monkeypatch):
    """A V8, or any other engine, as a file in a folder of its own."""
    monkeypatch.chdir(tmp_path)

    def make(parts=None, **tables):
        data = invented.document(parts or invented.cylinders(piston=TYPED), **(TABLES | tables))
        (tmp_path / "job.toml").write_text(invented.text(data), encoding="utf-8")
        return Shop("job.toml")

    return make


def test_a_typed_slip_is_told_and_nothing_is_ordered(shop):
    """The hand would have taken 17 g off a good piston."""
    job = shop()
    assert job.slips() == [("outlier", 3)]
    said = job.refuses_to_grind()
    assert "piston 3: 631.5 g looks like a slip" in said
    assert "truethrow weigh job.toml, then type go piston 3" in said
    assert 'truethrow confirm job.toml piston 3 --why "..." --by INITIALS' in said
    status, told = job.on("trim")
    assert status == 1
    assert "Nothing is to be ground yet" in told and "take " not in told
    status, told = job.on("work")
    assert (status, "take " in told) == (1, False)
    status, told = job.on("cards --only trim --into alone")
    assert (status, "no trim card: look at these readings again first: piston 3" in told) == (2, True)
    status, told = job.on("cards --into all")
    assert status == 0
    assert "No trim card: look at these readings again first: piston 3 (truethrow trim job.toml says how)." in told
    assert "bobweight card: " in told


def test_what_hangs_from_it_says_so_beside_the_figure(shop, tmp_path):
    """The operator would have hung the same typed figure."""
    job = shop()
    plates = "".join(f'[[piece]]\nname = "{g} g"\nmass = {g}\ncount = 900\n' for g in (100.0, 1.0, 0.1))
    profile = f"[stack]\nclamp_half = 352.4\nstep = 0.1\n{plates}"
    (tmp_path / "station.toml").write_text(profile, encoding="utf-8")
    for command in ("hang", "send", "stack --station station.toml"):
        status, said = job.on(command)
        assert status == 1, (command, said)
        assert "Do not hang it yet" in said and "piston 3" in said, command
    sheet = (tmp_path / "job-station.csv").read_text(encoding="utf-8")
    assert sheet.count(',"piston 3",') == 4
    job.on("cards --only bobweight --into wall")
    assert "LOOK AGAIN FIRST" in (tmp_path / "wall" / "bobweight.html").read_text(encoding="utf-8")
    job.on("confirm piston 3 --why 'another maker' --by AB")
    for command in ("hang", "stack --station station.toml"):
        assert "Do not hang" not in job.on(command)[1]


def test_where_nothing_hangs_nobody_is_told_not_to_hang_it(shop, tmp_path):
    job = shop(bobweight={"hang": "none"})
    status, said = job.on("hang")
    assert (status, "Hang nothing: this crank is balanced bare." in said) == (1, True)
    assert "! What the parts leave rests on what looks like a slip (piston 3); look again: truethrow check" in said
    assert "Do not hang" not in said


def test_weighed_again_it_is_planned_by_what_it_weighs(shop):
    """The way out works: one more look at the scale."""
    job = shop(invented.cylinders(piston=TYPED | {6: 615.6}))
    job.refuses_to_grind()
    job.weigh("go 3 piston", "613.5", "go 6 piston", "615.6")
    assert job.slips() == []
    assert job.plan() == {("piston", 6): pytest.approx(2.0)}
    assert job.on("ground")[0] == 0
    assert [(cut["cylinder"], cut["pad"]) for cut in job.cut()] == [(6, "piston")]


def test_a_confirmed_part_is_quiet_for_that_value_and_ground(shop):
    """An honest heavy piston of another maker must not stop the shop for ever."""
    job = shop()
    assert job.on("confirm piston 3 --by AB")[0] == 2, "not without a word of why"
    assert job.on("confirm piston 3 --why ' ' --by AB")[0] == 2
    for nobody, wrong in (("", "blank"), (" --by ' '", "blank"), (" --by INITIALS", "'INITIALS' is nobody")):
        for dry in ("", " --dry-run"):
            told = job.on(f"confirm piston 3 --why 'another maker'{nobody}{dry}")
            assert told[0] == 2 and told[1].startswith(f"--by: {wrong}; allowed: the initials of who"), told
    assert job.records() == []
    status, said = job.on("confirm piston 3 --why 'another maker' --by AB")
    assert (status, "confirmed: piston 3, 631.5 g" in said) == (0, True)
    assert "confirmed already" in job.on("confirm piston 3 --why again --by AB")[1]
    assert job.slips() == []
    assert "No reading stands out" in job.on("check")[1]
    assert job.plan() == {("piston", 3): pytest.approx(17.9)}
    assert "another maker" in job.on("history")[1]
    assert "trim card: " in job.on("cards --only trim --into wall")[1]
    assert flags(job.weigh("go 3 piston", "631.5")) == [], "the bench is quiet, too"


def test_a_canceled_confirmation_holds_the_plan_again(shop):
    job = shop()
    job.on("confirm piston 3 --why 'another maker' --by AB")
    (made,) = job.records()
    assert job.on(f"strike {made['id']} --why 'was the wrong piston'")[0] == 0
    assert job.slips() == [("outlier", 3)]
    job.refuses_to_grind()


def test_a_plan_that_was_begun_ends_with_its_confirmation(shop):
    """The grinder would have gone on with the rest of a plan that nobody vouches for any more."""
    job = shop(invented.cylinders(piston=TYPED | {6: 615.6}))
    job.on("confirm piston 3 --why 'another maker' --by AB")
    job.on("confirm piston 6 --why 'looked at it' --by AB")
    assert job.on("ground piston 6")[0] == 0
    made = next(r for r in job.records() if r["action"] == "confirm")
    job.on(f"strike {made['id']} --why 'was the wrong piston'")
    status, said = job.on("ground piston 3")
    assert (status, len(job.cut())) == (2, 1)
    assert "not confirmed any more" in said
    job.weigh("613.7", "go 3 piston", "613.5")
    assert job.slips() == []


def test_another_value_of_a_confirmed_part_asks_anew(shop):
    """Confirmed at 631.5, and then 635.1 is typed: nobody has confirmed that."""
    job = shop()
    job.on("confirm piston 3 --why 'another maker' --by AB")
    assert "above the median" in job.weigh("go 3 piston", "635.1")
    assert job.slips() == [("outlier", 3)]
    job.refuses_to_grind()


def test_what_the_cut_leaves_of_a_confirmed_part_is_quiet(shop):
    """Ground by less than it takes: still far from the others, as it must be. Another fall is not believed."""
    job = shop(trim=TABLES["trim"] | {"piston": 6.0})
    job.on("confirm piston 3 --why 'another maker' --by AB")
    assert job.plan()["piston", 3] == 6.0
    job.on("ground piston 3")
    assert flags(job.weigh("626.2")) == []
    assert job.slips() == []
    assert job.on("ground")[0] == 2, "the pad has no more to give"
    other = shop(trim=TABLES["trim"] | {"piston": 6.0})
    (made, *_) = [r for r in other.records() if r["action"] == "read"]
    other.on(f"strike {made['id']} --why 'typed wrong'")
    assert flags(other.weigh("613.5"))
    assert "again first" in other.on("trim")[1], "18 g came off where 6 were asked for"


def test_a_confirmation_goes_along_when_parts_trade_places(shop):
    """The heavy piston goes into another cylinder: it is quiet there, and what comes in its place is not."""
    job = shop(match={"aims": ["bobweight"], "bank": {"left": ["piston 4"]}})
    job.on("confirm piston 3 --why 'another maker' --by AB")
    for _ in range(2):
        assert job.on("match --seconds 2")[0] in (0, 1)
    assert job.on("accept")[0] == 0
    moved = next(r for r in job.records() if r["action"] == "trade")
    moves = moved["moves"]["piston"]
    assert "3" in moves, "the piston in question trades places"
    came = next(start for start, to in moves.items() if to == 3)
    assert job.slips() == []
    job.weigh("go piston weighed in 3", "631.5")
    assert job.slips() == [], "the part that was confirmed"
    job.weigh(f"go piston weighed in {came}", "631.5")
    assert ("outlier", 3) in job.slips(), "nobody has confirmed the one that sits in 3 now"


def test_swapped_ends_are_looked_at_before_a_rod_is_ground(shop):
    """Big end and small end in each other's columns: the hand would have ground a rod by 280 g."""
    job = shop(invented.cylinders(big_end={5: 171.4}, small_end={5: 452.1}), limits={"big_end": 1.0})
    assert job.slips() == [("swapped ends", 5)]
    assert "rod 5: 171.4, 452.1 g looks like a slip (swapped ends" in job.refuses_to_grind()
    job.weigh("go 5 big end", "452.1", "go 5 small end", "171.4")
    assert (job.slips(), job.plan()) == ([], None)
    assert "Nothing to trim" in job.on("trim")[1]


def test_a_rod_that_does_not_close_is_weighed_again_or_confirmed_as_a_whole(shop):
    parts = [p | {"rod_total": 623.5} for p in invented.cylinders(big_end={4: 455.3})]
    job = shop(parts, limits={"big_end": 1.0})
    assert ("closure", 4) in job.slips()
    job.refuses_to_grind()
    job.on("confirm big end 4 --why 'weighed on two scales' --by AB")
    assert job.slips() == [("closure", 4)], "which of the three is wrong is not known"
    assert job.on("confirm rod 4 --why 'the total was typed from another rod' --by AB")[0] == 0
    assert job.slips() == []
    assert job.plan().keys() == {("rod", 4)}


def test_a_confirmed_rod_stays_quiet_through_a_cut_that_moves_both_its_ends(shop):
    """A gram at the big-end pad lowers the big end by 1.31 and raises the small end by 0.31."""
    job = shop(invented.cylinders(big_end={4: 460.3}, small_end={4: 173.0}), limits={"big_end": 1.0})
    job.on("confirm rod 4 --why 'heavy cap' --by AB")
    ((part, grams),) = job.plan().items()
    assert part == ("rod", 4) and 4 < grams < 7
    job.on("ground")
    big, small = 460.3 - 1.3097 * grams, 173.0 + 0.3097 * grams
    assert flags(job.weigh(f"{big:.1f}", f"{small:.1f}")) == []
    assert job.slips() == [], f"the small end reads {small:.1f} g now, as the lever has it"


def test_readings_that_disagree_cannot_be_confirmed(shop):
    """Weighed 631.5 and 613.5: their mean is no part's mass, and no word makes it one."""
    job = shop(invented.cylinders(piston=PISTONS))
    job.weigh("go 3 piston", "631.5", "go 3 piston", "613.5")
    assert ("repeats", 3) in job.slips()
    said = job.refuses_to_grind()
    assert "truethrow strike job.toml ID" in said
    status, said = job.on("confirm piston 3 --why 'it is so' --by AB")
    assert (status, "its readings disagree (631.5, 613.5 g)" in said) == (2, True)
    wrong = next(r for r in job.records() if r["grams"] == 631.5)
    assert job.on(f"strike {wrong['id']} --why 'typed wrong'")[0] == 0
    assert job.slips() == []


def in_line_two(shop):
    engine = dict(invented.V8, layout="inline-2")
    return shop(invented.cylinders(2, piston={1: 631.5, 2: 613.5}), engine=engine)


def test_an_in_line_two_cannot_show_a_slip_so_a_big_cut_takes_two_weighings(shop):
    """Two pistons, one typed wrong: neither stands out, and 17.2 g would have been ground off one of them."""
    job = in_line_two(shop)
    assert job.slips() == []
    said = job.refuses_to_grind()
    assert "more than 1% of a part would come off" in said
    assert "truethrow weigh job.toml, then type go piston 1, go piston 2" in said
    assert job.on("cards --only trim --into wall")[0] == 2
    job.weigh("go 1 piston", "613.5")
    assert job.plan() is None and job.look_again() == []
    assert "Nothing to trim" in job.on("trim")[1]


def test_a_big_cut_is_planned_once_both_were_weighed_twice(shop):
    job = in_line_two(shop)
    job.weigh("go 1 piston", "631.5")
    assert len(job.look_again()) == 1 and "piston 2" in job.look_again()[0]
    job.refuses_to_grind()
    job.on("confirm piston 2 --why 'weighed on another scale' --by AB")
    assert job.plan() == {("piston", 1): pytest.approx(17.2)}
    assert job.on("ground")[0] == 0


def test_a_second_column_of_the_sheet_is_a_second_weighing_once_it_is_entered(shop, tmp_path):
    engine = dict(invented.V8, layout="inline-2")
    parts = [{k: v for k, v in p.items() if k != "piston"} for p in invented.cylinders(2)]
    job = shop(parts, engine=engine)
    for name, rows in (("once", "1;631.5\n2;613.5\n"), ("twice", "1;631.5;631.5\n2;613.5;613.4\n")):
        head = "cylinder;piston" + (";piston" if name == "twice" else "")
        (tmp_path / f"{name}.csv").write_text(f"{head}\n{rows}", encoding="utf-8")
    status, said = job.on("trim --sheet once.csv")
    assert status == 1
    assert "truethrow enter job.toml once.csv" in said and "take 17" not in said
    status, said = job.on("confirm piston 1 --why 'it is so' --by AB")
    assert (status, "first enter the sheet" in said) == (2, True)
    assert job.on("enter twice.csv")[0] == 0
    assert list(job.plan()) == [("piston", 1)]


def test_a_big_cut_of_any_set_takes_two_weighings(shop):
    """Eight pistons that scatter widely hide a slip of the pen in their scatter."""
    wide = {1: 605.0, 2: 606.0, 3: 607.5, 4: 609.0, 5: 610.0, 6: 611.0, 7: 612.0, 8: 613.0}
    job = shop(invented.cylinders(piston=wide))
    assert job.slips() == []
    (said,) = job.look_again()
    assert said.startswith("Weighed once, and more than 1% of a part would come off")
    named = said.partition("weigh once more ")[2].partition(":")[0]
    assert "piston 8" in named
    assert "piston 2" not in named, "a small cut needs no second look"
    again = re.findall(r"go piston (\d)", said)
    job.weigh(*(line for n in again for line in (f"go {n} piston", wide[int(n)])))
    assert job.plan()


def test_match_tells_no_metal_that_rests_on_a_slip(shop):
    job = shop(match={"aims": ["limits", "grams"]})
    status, said = job.on("match --seconds 2")
    assert status == 1
    assert "Readings look like slips, so neither limits nor metal are to be trusted" in said
    assert "metal to trim" not in said
    data = json.loads(job.on("match --seconds 2 --json")[1])
    assert "piston 3" in data["look_again"][0]
    assert data["compared"]["matched"]["trim_g"] is None


def test_match_tells_the_doubt_before_what_it_proposes(shop):
    """As beside what is hung; and there is no command to accept it until the reading is looked at again."""
    job = shop(match={"aims": ["residual"], "move": ["piston"]})
    _, said = job.on("match --seconds 2")
    doubt, proposed = said.index("Do not go by it yet"), said.index("Proposed:")
    assert doubt < proposed
    assert "piston 3" in said[doubt:proposed]
    assert "truethrow check job.toml" in said[doubt:proposed]
    assert "To accept" not in said


def test_metal_is_told_in_grams_and_what_no_cut_reaches_in_words(shop):
    """A limit out of reach was once told as thousands of grams of metal."""
    job = shop(match={"aims": ["grams"]}, trim=TABLES["trim"] | {"piston": 6.0})
    job.on("confirm piston 3 --why 'another maker' --by AB")
    said = job.on("match --seconds 2")[1]
    assert re.search(r"metal, at the least +\d\.\d\d g, and still 1\d\.\d\d g over limits", said), said
    (aim,) = json.loads(job.on("match --seconds 2 --json")[1])["aims"]
    assert 5.9 < aim["value"] < 7
    assert 10 < aim["over_limits_g"] < 13


def test_it_is_so_in_the_book_too(tmp_path, monkeypatch, shop):
    """A job of the book, exported, backed up and restored: what was confirmed is still confirmed."""
    shop()
    with books.fresh("sqlite", tmp_path) as address:
        monkeypatch.setenv("TRUETHROW_BOOK", address)
        job = Shop("launch-7")
        assert job("book add job.toml")[0] == 0
        job.refuses_to_grind()
        assert "to be looked at again: " in job("book list")[1]
        assert job.on("confirm piston 3 --why 'another maker' --by AB")[0] == 0
        assert job.slips() == []
        assert job.plan() == {("piston", 3): pytest.approx(17.9)}
        assert "trimming" in job("book list")[1]
        assert job("book export launch-7 --into out")[0] == 0
        travelled = Shop("out/launch-7.toml")
        assert travelled.slips() == []
        assert job("book backup b.json")[0] == 0
        assert job("book verify")[0] == 0
        monkeypatch.setenv("TRUETHROW_BOOK", f"sqlite:///{tmp_path / 'second.db'}")
        assert job("book restore b.json")[0] == 0
        assert job.slips() == []
        assert "another maker" in job.on("history")[1]
        assert job.on("ground")[0] == 0


def test_what_confirm_refuses(shop):
    job = shop(every_cylinder={"locks": 3.2})
    for words, told in (
        ("piston", "a part and its mark or cylinder, such as piston 3"),
        ("cam 3", "'cam 3' is no part"),
        ("piston 9", "names no part"),
        ("piston all", "was weighed cylinder by cylinder"),
        ("rod total 3", "rod 3, rod total: has no reading"),
    ):
        status, said = job.on(f"confirm {words} --why 'it is so' --by AB")
        assert (status, told in said) == (2, True), said
    assert job.on("history")[1].startswith("No log yet")


@pytest.mark.parametrize("turned", [range(1, 9), (2, 3, 5, 8)])
def test_ends_that_are_entered_the_wrong_way_round_are_told_rod_by_rod(tmp_path, turned):
    """All of them, or half: no rod stands out among the others, and the bobweight was short."""
    parts = invented.cylinders()
    for part in parts:
        if part["number"] in turned:
            part["big_end"], part["small_end"] = part["small_end"], part["big_end"]
    path = tmp_path / "job.toml"
    path.write_text(invented.text(invented.document(parts, limits={"piston": 1.0})), encoding="utf-8")
    done = commands.run("check", path)
    assert done.status == 1
    for number in range(1, 9):
        assert (f"rod {number}, big end and small end: 171.2, 452.3 g look swapped" in done.out) == (
            number in turned
        )
