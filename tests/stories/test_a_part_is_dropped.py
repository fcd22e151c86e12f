"""A part is dropped: a piston of a balanced set is on the floor, and another one has to take its place.

What a hand would have done wrong: buy one "about the same", grind the other seven down to it, take one out of
another engine, or weigh the new one in with the old one's readings, so that the mean of two parts counts.
"""

from __future__ import annotations

import json
import shlex
import tomllib

import commands
import invented
import pytest
from typer.testing import CliRunner
from within import BadInput, app

LIMITS = {"piston": 1.0, "reciprocating": 2.0, "bobweight": 2.0}
PISTONS = {1: 538.0, 2: 538.4, 3: 538.2, 4: 538.3, 5: 538.1, 6: 538.4, 7: 538.2, 8: 538.3}


class Shop:
    """A set of eight pistons that match, marked P1 to P8, and a word to each command."""

    def __init__(self, folder, pistons=PISTONS, **tables):
        self.folder, self.job = folder, folder / "pump.toml"
        parts = invented.cylinders(piston=pistons)
        for own in parts:
            own["labels"] = {"piston": f"P{own['number']}", "rod": f"R{own['number']}"}
        made = {"limits": LIMITS, "trim": {"piston": 5.0, "pin": 0.0}} | tables
        self.job.write_text(invented.text(invented.document(parts, **made)), encoding="utf-8")

    def __call__(self, command, *words, stdin=None, status=0):
        done = CliRunner().invoke(app, [command, str(self.job), *map(str, words)], input=stdin)
        if isinstance(done.exception, BadInput):
            assert status == 2, str(done.exception)
            return str(done.exception)
        assert isinstance(done.exception, SystemExit | None), done.exception
        assert status is None or done.exit_code == status, done.output
        return done.stdout

    def asked(self, *words, status=0):
        return json.loads(self("replace", *words, "--json", status=status))

    def window(self, *words):
        (window,) = self.asked(*words)["window"].values()
        return window["low_g"], window["high_g"]

    def shelf(self, name, *rows):
        path = self.folder / name
        path.write_text("\n".join(["label;piston", *rows, ""]), encoding="utf-8")
        return path

    def follow(self, steps, grams):
        """Do what is told next, with the new one on the scale."""
        for step in steps:
            if step.startswith("truethrow strike"):
                _, command, _, *rest = shlex.split(step)
                self(command, *rest)
            elif step.startswith("truethrow weigh"):
                asked = step.partition("then type ")[2].split(", ")
                lines = [line for go, g in zip(asked, grams, strict=True) for line in (go, str(g))]
                self("weigh", stdin="".join(f"{line}\n" for line in lines))


@pytest.fixture
def shop(tmp_path):
    return Shop(tmp_path)


def test_a_part_from_inside_the_window_is_weighed_in_and_check_says_inside_at_both_ends(shop):
    low, high = shop.window("piston P5")
    for grams in (low, high):
        shop.follow(shop.asked("piston P5")["next"], [grams])
        said = json.loads(shop("check", "--json"))
        assert {one["verdict"] for one in said["spreads"]} <= {None, "inside"}
        assert json.loads(shop("check", "--json"))["spreads"][0]["cylinders_g"]["5"] == grams


def test_a_step_beyond_it_is_not_inside(shop):
    _, high = shop.window("piston P5")
    shop.follow(shop.asked("piston P5")["next"], [round(high + 0.1, 1)])
    said = json.loads(shop("check", "--json"))
    assert "too close to call" in {one["verdict"] for one in said["spreads"]}


def test_the_old_ones_readings_do_not_count_beside_the_new_ones(shop):
    shop("weigh", stdin="go piston P5\n538.1\ngo piston P5\n538.2\n")
    steps = shop.asked("piston P5")["next"]
    assert sum(step.startswith("truethrow strike") for step in steps) == 2
    shop.follow(steps, [538.6])
    assert json.loads(shop("check", "--json"))["spreads"][0]["cylinders_g"]["5"] == 538.6


def test_a_part_that_was_cut_and_dropped_need_not_be_weighed_again(tmp_path):
    """P3 was ground and fell: no reading of it counts, and none will ever come. The new one has all of its pad."""
    shop = Shop(tmp_path, PISTONS | {3: [541.0, 541.0]})
    shop("ground", "piston P3")
    assert "cut since" in shop("check", status=2)
    said = shop.asked("piston P3")
    assert (said["window"]["piston"]["low_g"], said["window"]["piston"]["high_g"]) == (537.6, 538.8)
    assert said["heaviest_with_metal_off_it_g"] == {"piston": 543.8}
    shop.follow(said["next"], [539.0])
    assert json.loads(shop("check", "--json"))["spreads"][0]["cylinders_g"]["3"] == 539.0
    assert "gave" not in shop("trim")


def test_while_another_part_that_was_cut_waits_for_the_scale_nothing_is_promised(tmp_path):
    """P3 and P5 were ground by one plan, and P3 fell. What P5 weighs now is not known; and once it is, the new P3
    is never told to be ground by the plan of the old one."""
    shop = Shop(tmp_path, PISTONS | {3: [541.0, 541.0], 5: [540.5, 540.5]})
    shop("ground")
    said = shop("replace", "piston P3", status=2)
    assert "piston P5 (sits in 5): cut since" in said
    assert "P3" not in said
    shop("weigh", stdin="go piston P5\n538.4\n")
    shop.follow(shop.asked("piston P3")["next"], [538.3])
    assert "Nothing to trim" in shop("trim")
    assert "nothing to cut" in shop("ground", status=2)


def test_the_eighth_of_a_new_set_that_never_came_is_asked_for(tmp_path):
    shop = Shop(tmp_path, PISTONS | {8: ""})
    assert "missing" in shop("check", status=2)
    assert shop.window("piston P8") == (537.6, 538.8)
    assert "missing" in shop("replace", "piston P5", status=2)


def test_of_a_job_without_readings_what_is_missing_is_told_of_the_job_and_of_nothing_else(tmp_path):
    """It said "None: missing", as if a sheet of that name had been given."""
    ran = commands.in_folder(tmp_path)
    ran("new", "v8-90-crossplane", "my.toml")
    for part in ("rod", "piston"):
        done = ran("replace", "my.toml", part, "3")
        assert done.status == 2
        assert all(line.startswith("my.toml: missing: ") for line in done.err.splitlines()), done.err


def test_a_part_that_traded_places_is_known_by_its_mark_and_its_window_is_where_it_goes(tmp_path):
    """The pistons of 1 and 3, which are alike, traded: P1 sits in 3 and is held by what is on its throw there."""
    shop = Shop(tmp_path, PISTONS | {1: 538.2}, limits={"reciprocating": 2.0, "bobweight": 2.0})
    plain = shop.window("piston P3")
    invented.propose(shop.job, {"piston": {1: 3, 3: 1}})
    shop("accept")
    assert shop.window("piston P1") == plain
    said = shop("replace", "piston P1")
    assert "piston P1 (weighed in 1, goes in 3)" in said
    assert "mark it P1" in said
    assert "cylinder 1, labels, piston" in said
    assert "can mean" in shop("replace", "piston 1", status=2)


def test_an_old_shelf_file_has_what_sits_in_the_job_by_now(shop):
    shelf = shop.shelf("old.csv", "P4;538,3", "p7;538,2", "X1;538,2")
    said = shop("replace", "piston P5", shelf)
    assert "- not P4 (old.csv): in this job already: piston P4 (sits in 4)" in said
    assert "- not p7 (old.csv): in this job already" in said
    assert [one["label"] for one in shop.asked("piston P5", shelf)["loose"]] == ["X1"]


def test_two_files_that_read_one_part_otherwise_promise_nothing_of_it(shop):
    files = shop.shelf("may.csv", "X1;538,2"), shop.shelf("june.csv", "X1;539,9", "X2;538,9")
    said = shop("replace", "piston P5", *files)
    assert "- not X1 (may.csv): 538.2 g in may.csv, 539.9 g in june.csv: weigh it again" in said


def test_a_wrong_kind_is_refused(shop):
    assert "pistons, no pins" in shop("replace", "pin 3", shop.shelf("shelf.csv", "X1;538,2"), status=2)
    assert "'crank 3' is no part" in shop("replace", "crank 3", status=2)
    assert "names no part" in shop("replace", "piston P9", status=2)
    assert "not kept as loose parts" in shop("replace", "locks 3", shop.shelf("shelf.csv", "X1;538,2"), status=2)


def test_nothing_is_promised_while_another_reading_looks_like_a_slip(tmp_path):
    """P2 reads 583.4 for 538.4. The dropped one may read what it likes."""
    shop = Shop(tmp_path, PISTONS | {2: 583.4})
    said = shop("replace", "piston P5", status=1)
    assert "No window is told yet" in said
    assert "piston P2 (sits in 2)" in said
    assert "from" not in said.split("\n", 2)[2]
    assert shop.window("piston P2") == (537.6, 538.8)


def test_others_that_are_outside_are_named_and_no_window_is_told(tmp_path):
    shop = Shop(tmp_path, PISTONS | {2: [541.0, 541.0]})
    said = shop("replace", "piston P5", status=1)
    assert "- piston: piston P1 (sits in 1) and piston P2 (sits in 2) are 3.0 g apart" in said
    assert said.splitlines()[-1].startswith("No mass of this part alone brings the set inside")
    assert "What it may weigh" not in said
    assert shop.asked("piston P5", status=1)["least_metal"]["way"] == "metal off others"


def test_the_best_loose_part_comes_first_and_metal_off_the_others_last(shop):
    shelf = shop.shelf("shelf.csv", "light;536,9", "heavy;541,0", "right;538,2", "near;538,8")
    said = shop.asked("piston P5", shelf)["loose"]
    assert [(one["label"], one["way"]) for one in said] == [
        ("right", "as it is"),
        ("near", "as it is"),
        ("heavy", "metal off it"),
        ("light", "metal off others"),
    ]
    assert said[0]["spreads_g"]["piston"] == pytest.approx(0.4)


@pytest.fixture
def booked(shop, tmp_path, monkeypatch):
    """The set as a job of the book, and three loose pistons in its stock; what the book's commands say."""
    monkeypatch.setenv("TRUETHROW_BOOK", f"sqlite:///{tmp_path / 'book.db'}")
    parts = invented.cylinders()
    other = tmp_path / "other.toml"
    other.write_text(invented.text(invented.document(parts, job={"id": "other"})), encoding="utf-8")
    shelf = shop.shelf("shelf.csv", "X1;538,2", "X2;538,3", "X3;536,0")

    def book(*words):
        done = CliRunner().invoke(app, ["book", *map(str, words)])
        assert done.exit_code == 0, done.output or done.exception
        return done.stdout

    book("add", shop.job, other)
    book("stock", "add", shelf)
    shop.job = "launch-7"
    return book


def test_a_part_of_the_stock_that_went_into_another_job_is_not_offered_though_an_old_file_has_it(shop, booked):
    booked("stock", "move", "piston", "X1", "--job", "other", "--cylinder", 2)
    said = shop("replace", "piston P5", shop.folder / "shelf.csv", "--stock")
    assert "- not X1 (shelf.csv): in job other, cylinder 2, as the stock has it" in said
    assert [one["label"] for one in shop.asked("piston P5", "--stock")["loose"]] == ["X2", "X3"]


def test_the_move_that_is_told_can_be_pasted_once_the_job_has_the_mark(shop, booked):
    (move,) = [step for step in shop.asked("piston P5", "--stock")["next"] if "stock move" in step]
    assert move == (
        "truethrow book stock move piston X1 --job launch-7 --cylinder 5 (once the job file has its mark)"
    )
    path = shop.folder / "pump.toml"
    path.write_text(path.read_text(encoding="utf-8").replace('"P5"', '"X1"'), encoding="utf-8")
    booked("put", "launch-7", path, "--revision", 1)
    booked(*shlex.split(move.partition(" (")[0])[2:])
    assert "launch-7, cylinder 5" in booked("stock", "find", "--everywhere")


def test_a_job_that_seems_to_have_it_is_told(shop, booked):
    parts = invented.cylinders()
    parts[1]["labels"] = {"piston": "X1"}
    third = shop.folder / "third.toml"
    third.write_text(invented.text(invented.document(parts, job={"id": "third"})), encoding="utf-8")
    booked("add", third)
    assert "X1: job third has one of that mark in cylinder 2" in shop("replace", "piston P5", "--stock")


def test_what_the_job_file_says_of_the_old_one_does_not_count_again_for_the_new_one(tmp_path):
    """R3 broke after its trim. Its readings and cuts were canceled as told, and then the file's old weights of it
    counted again: next had nothing to weigh, and the set was ground to a rod in the scrap."""
    shop = Shop(tmp_path, trim={"piston": 5.0, "pin": 0.0, "big_end_pad": {"at": -48.0, "most": 9.0}})
    shop("ground", "rod 3", "--took", 1.0, "--at", "big end", "--why", "test")
    shop("weigh", stdin="go big end R3\n448.8\ngo small end R3\n151.4\n", status=None)
    first, *steps = shop.asked("rod R3", status=None)["next"]
    assert first == f"in {shop.job}, cylinder 3: take out small_end and big_end, the old one's weight"
    data = tomllib.loads(shop.job.read_text(encoding="utf-8"))
    for kind in ("small_end", "big_end"):
        del data["cylinder"][2][kind]
    shop.job.write_text(invented.text(data), encoding="utf-8")
    shop.follow([step for step in steps if "strike" in step], [])
    assert "weigh what is missing of cylinder 3" in shop("next", status=None)
    assert "missing" in shop("check", status=2)
