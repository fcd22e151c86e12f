"""A part changes its number: after a match is accepted, the piston that was weighed, and perhaps stamped, as 5
goes in cylinder 1. Who reads "piston 1: take 3.0 g" then grinds the wrong piston. So each screen and card says
what is marked on it, where it was weighed and where it goes, and takes no number that can mean two parts."""

import json

import invented
import pytest
from typer.testing import CliRunner
from within import app

# On a V4 of few parts, each part is known by its grams. The piston weighed in 2 is the one to be ground.
PISTONS = {1: 538.0, 2: 541.0, 3: 538.9, 4: 538.6}
TRADE = {"piston": {1: 3, 2: 1, 3: 2}}


def run(*arguments, stdin=None):
    return CliRunner().invoke(app, [*map(str, arguments)], input=stdin)


def said(*arguments, stdin=None):
    done = run(*arguments, stdin=stdin)
    assert done.exit_code in (0, 1) and not isinstance(done.exception, Exception), done.output
    return [" ".join(line.split()) for line in done.stdout.splitlines()]


def refused(*arguments, stdin=None):
    """What the main program prints of a fault."""
    done = run(*arguments, stdin=stdin)
    assert isinstance(done.exception, Exception), done.output
    return str(done.exception)


def cut_lines(path):
    return [line for line in said("trim", path) if line.startswith("- ") and ": take " in line]


@pytest.fixture
def job(tmp_path):
    """A maker of jobs of four cylinders; labels: of the pistons, by cylinder."""

    def made(labels=None, rods=None, **tables):
        # Each was weighed twice, so that none is taken for a slip.
        twice = {number: [grams] * 2 for number, grams in PISTONS.items()}
        ends = {number: [grams] * 2 for number, grams in (rods or {}).items()}
        parts = invented.cylinders(4, piston=twice, big_end=ends)
        for part in parts:
            if text := (labels or {}).get(part["number"]):
                part["labels"] = {"piston": text}
        engine = dict(invented.V8, layout="inline-4")
        limits = {"limits": {"piston": 1.5}, "trim": {"piston": 6.0}}
        path = tmp_path / "four.toml"
        path.write_text(
            invented.text(invented.document(parts, engine=engine, **limits, **tables)), encoding="utf-8"
        )
        return path

    return made


def test_unmarked_a_hand_would_have_ground_the_piston_that_was_weighed_as_1(job):
    path = job()
    assert cut_lines(path)[0].startswith("- piston 2: take")
    invented.propose(path, TRADE)
    told = said("accept", path)
    # In the order in which hands move: who puts one down picks up the one that lies there.
    assert told[1:6] == [
        "Mark these before you move any",
        "take mark it it goes in",
        "piston weighed in 1 1>3 3",
        "piston weighed in 3 3>2 2",
        "piston weighed in 2 2>1 1",
    ]
    (cut,) = cut_lines(path)
    assert cut.startswith("- piston weighed in 2 (goes in 1): take")
    # A bare number can mean two pistons: nothing is recorded, and both are named with what to type.
    for number in (1, 2):
        err = refused("ground", path, "piston", number)
        assert "can mean piston weighed in" in err
        assert "allowed: piston weighed in" in err
    assert not any("asked for at" in line for line in said("history", path))
    assert "piston 4: not in the plan" in refused("ground", path, "piston", 4)
    told = said("ground", path, "piston", "weighed", "in", "2")
    assert told[0].startswith("recorded: piston weighed in 2 (goes in 1), ")


def test_after_the_cut_the_bench_and_every_fault_ask_for_the_same_piston(job):
    path = job()
    invented.propose(path, TRADE)
    said("accept", path)
    said("ground", path)
    assert "piston weighed in 2 (goes in 1): cut since; weigh it again" in refused("trim", path)
    assert "Piston weighed in 2 (goes in 1)" in refused("weigh", path, stdin="nonsense\n")
    err = refused("weigh", path, stdin="go 1 piston\n538.4\n")
    assert "at hand is: Piston weighed in 2 (goes in 1)" in err
    told = said("weigh", path, stdin="go piston weighed in 2\n538.4\n")
    assert "taken: piston weighed in 2 (goes in 1): 538.4" in told
    assert any("piston weighed in 2 (goes in 1): 538.4" in line for line in said("history", path))


def test_marked_parts_go_by_their_mark_and_both_cylinders_are_shown(job):
    path = job({n: f"P{n + 10}" for n in PISTONS})
    assert cut_lines(path)[0].startswith("- piston P12 (sits in 2): take")
    invented.propose(path, TRADE)
    assert "piston P12 (weighed in 2) 2>1 1" in said("accept", path)
    assert cut_lines(path)[0].startswith("- piston P12 (weighed in 2, goes in 1): take")
    assert "can mean piston P1" in refused("ground", path, "piston 1")
    assert said("ground", path, "piston", "p12")[0].startswith("recorded: piston P12 (weighed in 2, goes in 1), ")


def test_a_mark_that_is_a_bare_number_is_read_as_a_mark(job):
    """The piston in 2 is stamped 4 from another engine, and the one in 4 is stamped 2."""
    path = job({2: "4", 4: "2"})
    assert cut_lines(path)[0].startswith("- piston marked 4 (sits in 2): take")
    for number in (2, 4):
        err = refused("ground", path, "piston", number)
        assert "can mean piston marked" in err
    assert said("ground", path, "piston marked 4")[0].startswith("recorded: piston marked 4 (sits in 2), ")


def test_two_sets_with_the_same_marks_are_told_apart_by_where_they_were_weighed(job):
    path = job({1: "A", 2: "A", 3: "B", 4: "B"})
    assert cut_lines(path)[0].startswith("- piston A (sits in 2): take")
    err = refused("ground", path, "piston A")
    assert "can mean piston A (sits in 1) or piston A (sits in 2)" in err
    assert "allowed: piston weighed in 1, piston weighed in 2" in err
    assert said("ground", path, "piston A (sits in 2)")[0].startswith("recorded: piston A (sits in 2), ")


def test_a_part_that_moves_twice_says_what_to_cross_out(job):
    path = job()
    invented.propose(path, TRADE)
    said("accept", path)
    invented.propose(path, {"piston": {1: 4, 4: 1}})
    told = said("accept", path)
    assert told[2:5] == [
        "take it sits in mark it it goes in",
        "piston weighed in 2 1 2>4 4",
        "piston weighed in 4 4 4>1 1",
    ]
    assert cut_lines(path)[0].startswith("- piston weighed in 2 (goes in 4): take")


def test_a_trade_that_is_undone_leaves_the_old_numbers(job):
    path = job()
    invented.propose(path, TRADE)
    said("accept", path)
    seat = next(
        one for one in json.loads(run("history", path, "--json").stdout)["records"] if one["action"] == "trade"
    )
    assert "Put these back" in said("strike", path, seat["id"], "--why", "pins do not fit")
    assert cut_lines(path)[0].startswith("- piston 2: take")
    assert said("ground", path, "piston", 2)[0].startswith("recorded: piston 2, ")


def test_spreads_and_the_stations_sheet_tell_the_same_piston(job, tmp_path):
    path = job()
    invented.propose(path, TRADE)
    said("accept", path)
    told = said("check", path)
    assert any(line.startswith("piston 538.0 (1>3) 541.0 (2>1)") for line in told)
    assert any("5>1: weighed in 5, goes in 1" in line for line in told)
    sheet = tmp_path / "sheet.csv"
    said("send", path, "--out", sheet)
    assert "piston weighed in 2 (goes in 1)" in sheet.read_text(encoding="utf-8")


def test_machines_get_mark_and_both_cylinders_as_fields(job):
    path = job({2: "P12"})
    invented.propose(path, TRADE)
    said("accept", path)
    (part,) = json.loads(run("trim", path, "--json").stdout)["trim"]["parts"]
    assert {key: part[key] for key in ("part", "label", "weighed_in", "cylinder")} == {
        "part": "piston",
        "label": "P12",
        "weighed_in": 2,
        "cylinder": 1,
    }
    seat = json.loads(run("history", path, "--json").stdout)["records"][-1]
    assert {(one["weighed_in"], one["goes_in"]) for one in seat["parts"]} == {(1, 3), (2, 1), (3, 2)}


def test_the_trim_card_names_the_part_as_the_screen_does(job, tmp_path):
    path = job()
    invented.propose(path, TRADE)
    said("accept", path)
    done = run("cards", path, "--only", "trim", "--into", tmp_path / "cards")
    assert done.exit_code in (0, 1), done.output
    page = next((tmp_path / "cards").rglob("trim*.html")).read_text(encoding="utf-8")
    assert "piston weighed in 2 (goes in 1)" in page
    assert any("weighed-in-2-goes-in-1" in found.name for found in (tmp_path / "cards").rglob("*.svg"))


def test_a_match_shows_its_proposal_as_accept_does(job):
    path = job(rods={2: 455.0}, match={"aims": ["bobweight"], "move": ["piston", "rod"]})
    told = said("match", path, "--seconds", "2")
    start = told.index("Which part goes where")
    rows = [line for line in told[start:] if line.startswith(("piston weighed in", "rod weighed in"))]
    accepted = [line for line in said("accept", path) if line.startswith(("piston weighed", "rod weighed"))]
    assert len(rows) >= 2
    assert rows == accepted
