"""Who sits where: the replay of seats against a simple model, and matchings proposed, accepted and put back."""

from __future__ import annotations

import invented
import pytest
from commands import run
from hypothesis import given, settings
from hypothesis import strategies as st

from truethrow.balance.base import parts, trades
from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput
from truethrow.balance.job.enter import enter
from truethrow.balance.job.history import strike
from truethrow.balance.job.job import load
from truethrow.balance.log import readinglog
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Record
from truethrow.balance.log.replaying import counting, replay
from truethrow.balance.matching import proposing
from truethrow.balance.weighing import benchjob
from truethrow.balance.weighing.session import Session

ROD_2_TO_1 = {"rod": {1: 2, 2: 1}}


@pytest.fixture
def path(tmp_path):
    """A V8 whose every reading tells its kind and its cylinder, with a label on each rod."""
    parts = [
        {"number": n, **{kind: round(grams + n / 10, 1) for kind, grams in invented.PARTS.items()}}
        | {"labels": {"rod": f"R{n}"}}
        for n in range(1, 9)
    ]
    made = tmp_path / "job.toml"
    made.write_text(invented.text(invented.document(parts)), encoding="utf-8")
    return made


def refused(call, *arguments):
    with pytest.raises(BadInput) as caught:
        call(*arguments)
    return str(caught.value)


def accepted(path, moves):
    proposing.propose(path, load(path), moves, "less unbalance")
    return proposing.accept(path)


def values(job, kind):
    return [job.parts[n][kind].mean_g for n in range(1, 9)]


# Moves as text


@st.composite
def moves(draw, most=8):
    """Moves of one to three units."""
    made = {}
    for unit in draw(st.sets(st.sampled_from(list(parts.UNITS)), min_size=1, max_size=3)):
        places = draw(st.lists(st.integers(1, most), min_size=2, max_size=most, unique=True))
        turned = draw(st.integers(1, len(places) - 1))
        made[unit] = dict(zip(places, places[turned:] + places[:turned], strict=True))
    return made


@given(moves(99))
def test_moves_come_back_from_their_text_and_undo_each_other(made):
    assert trades.parse(trades.text(made)) == made
    assert trades.inverse(trades.inverse(made)) == made
    assert trades.after(trades.after({}, made), trades.inverse(made)) == {}


def test_the_text_is_always_the_same():
    assert trades.text({"rod": {2: 1, 1: 2}, "piston": {5: 3, 3: 5}}) == "piston 3>5 5>3; rod 1>2 2>1"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "'' is no move"),
        ("rod", "'rod' is no move"),
        ("rod 1>2", "left empty or taken twice"),
        ("rod 1>2 2>2", "left empty or taken twice"),
        ("rod 1>2 1>3 2>1", "left empty or taken twice"),
        ("rod 3>3", "would stay where it is"),
        ("rod 1>2 2>1; rod 3>4 4>3", "rod stands twice"),
        ("bearings 1>2 2>1", "'bearings' is nothing that changes places"),
        ("rod 0>1 1>0", "is no move"),
        ("rod 1->2 2->1", "is no move"),
    ],
)
def test_what_is_no_moves_is_refused(text, told):
    with pytest.raises(ValueError, match=told):
        trades.parse(text)


# Replay


class Model:
    """The parts of a shop as things: each has its readings on it, and sits somewhere."""

    def __init__(self):
        self.at = {(n, unit): f"{unit} of {n}" for n in range(1, 9) for unit in parts.UNITS}
        self.readings = {}

    def part(self, cylinder, kind):
        return self.at.get((cylinder, parts.UNIT_OF.get(kind)), f"{kind} {cylinder}")

    def seat(self, made):
        moved = {(to, unit): self.at[start, unit] for unit, own in made.items() for start, to in own.items()}
        self.at |= moved

    def current(self):
        found = {}
        for part, cylinder, kind, key in self.readings.values():
            place = next((n for (n, _), sitting in self.at.items() if sitting == part), cylinder)
            found.setdefault((place, kind), []).append(key)
        return {place: tuple(keys) for place, keys in found.items()}


KINDS = ("piston", "rings", "bearings", "big_end", "small_end", "rod_total")
EVENTS = st.lists(
    st.tuples(st.just("read"), st.integers(0, 8), st.sampled_from(KINDS))
    | st.tuples(st.just("seat"), moves())
    | st.tuples(st.just("strike"), st.integers(0, 30)),
    max_size=30,
)


@settings(max_examples=300, deadline=None)
@given(EVENTS)
def test_replay_is_what_happens_to_the_parts_themselves(events):
    model, records, made = Model(), [], {}
    for number, (action, *said) in enumerate(events):
        key = f"a-{number}"
        if action == "read":
            cylinder, kind = said
            records.append(Record(key, "", "", "", "read", cylinder, kind, 1.0, "", "", ""))
            model.readings[key] = (model.part(cylinder, kind), cylinder, kind, key)
        elif action == "seat":
            records.append(Record(key, "", "", "", "seat", None, "", None, trades.text(said[0]), "p", ""))
            model.seat(said[0])
            made[key] = said[0]
        else:
            struck = f"a-{said[0]}"
            records.append(Record(key, "", "", "", "strike", None, "", None, "", struck, ""))
            model.readings.pop(struck, None)
            if struck in made:
                model.seat(trades.inverse(made.pop(struck)))
    found = counting(replay(records).placed)
    assert {place: tuple(r.id for r in own) for place, own in found.items()} == model.current()
    now = replay(records).seats
    for (cylinder, unit), part in model.at.items():
        assert part == f"{unit} of {now.get(unit, {}).get(cylinder, cylinder)}"
    assert all(cylinder != first for own in now.values() for cylinder, first in own.items())


def test_a_seat_that_makes_no_sense_is_a_fault_that_names_it_until_it_is_struck(path):
    log = ReadingLog(log_path(path))
    wrong = Record("x-1", "", "", "", "seat", None, "", None, "rod 1>2", "p", "")
    with log.path.open("wb") as file:
        from truethrow.balance.log.lines import line

        file.write(line(wrong))
    told = "seat, record x-1: rod: a place would be left empty or taken twice"
    assert refused(load, path) == f"{log.path}: {told}"
    assert refused(Session, benchjob.load(path), ReadingLog(log.path)) == f"{log.path}: {told}"
    ReadingLog(log.path).append("strike", of="x-1", why="by hand")
    assert load(path).seats == {}


def test_a_seat_outside_the_layout_is_a_fault_that_names_it(path):
    made = ReadingLog(log_path(path)).append("seat", typed="rod 1>9 9>1", of="p")
    told = refused(load, path)
    assert f"seat, record {made.id}, moves, cylinder 9: not in this layout; allowed: 1, 2, 3" in told


# A job


def test_readings_of_file_and_log_and_labels_go_with_their_parts(path):
    log = ReadingLog(log_path(path))
    log.append("read", cylinder=1, kind="big_end", grams=460.0, typed="460.0")
    log.append("read", cylinder=0, kind="rings", grams=41.0, typed="41.0")
    before = load(path)
    accepted(path, {"rod": {1: 3, 3: 2, 2: 1}, "piston": {7: 8, 8: 7}})
    job = load(path)
    assert values(job, "big_end")[:3] == [values(before, "big_end")[i] for i in (1, 2, 0)]
    assert job.parts[3]["big_end"].repeats_g == (460.0,)
    assert values(job, "small_end")[:3] == [values(before, "small_end")[i] for i in (1, 2, 0)]
    assert values(job, "piston")[6:] == values(before, "piston")[:5:-1]
    for kind in ("pin", "bearings"):
        assert values(job, kind) == values(before, kind)
    assert [job.labels[n]["rod"] for n in (1, 2, 3)] == ["R2", "R3", "R1"]
    assert all(reading.cylinder == n for n, own in job.parts.items() for k, reading in own.items() if k != "rings")
    assert job.seats == {"piston": {7: 8, 8: 7}, "rod": {1: 2, 2: 3, 3: 1}}
    assert (before.seats, before.digest == job.digest) == ({}, False)
    ReadingLog(log.path).append("read", cylinder=3, kind="big_end", grams=460.2, typed="460.2")
    assert load(path).parts[3]["big_end"].repeats_g == (460.0, 460.2)


def test_a_part_whose_seat_is_struck_is_back_with_what_was_weighed_since(path):
    before = load(path)
    seat = accepted(path, ROD_2_TO_1)
    log = ReadingLog(log_path(path))
    fresh = log.append("read", cylinder=1, kind="big_end", grams=455.5, typed="455.5")
    log.append("strike", of=seat.id, why="not done after all")
    job = load(path)
    assert job.parts[2]["big_end"].repeats_g == (455.5,)
    assert (job.seats, job.labels, job.notes) == ({}, before.labels, ())
    log.append("strike", of=fresh.id, why="on another scale")
    assert load(path) == before
    assert load(path).digest == before.digest


def test_two_matchings_one_after_the_other_keep_where_each_part_came_from(path):
    accepted(path, ROD_2_TO_1)
    accepted(path, {"rod": {2: 5, 5: 2}})
    assert load(path).seats == {"rod": {1: 2, 2: 5, 5: 1}}
    accepted(path, {"rod": {1: 2, 2: 5, 5: 1}})
    assert load(path).seats == {}
    assert load(path).notes == ()


def test_a_proposal_alone_moves_nothing(path):
    before = load(path)
    made = proposing.propose(path, before, ROD_2_TO_1, "less unbalance", by="AB")
    assert (made.action, made.typed, made.of, made.by) == ("propose", "rod 1>2 2>1", before.digest, "AB")
    assert load(path) == before


def test_what_was_accepted_once_is_not_accepted_twice(path):
    assert "no proposal waits to be accepted" in refused(proposing.accept, path)
    seat = accepted(path, ROD_2_TO_1)
    assert "no proposal waits to be accepted" in refused(proposing.accept, path)
    assert f"proposal {seat.of}: is accepted already" in refused(proposing.accept, path, seat.of)
    assert "proposal x-1: is not in the log" in refused(proposing.accept, path, "x-1")


def test_the_last_proposal_is_taken_unless_another_is_named(path):
    first = proposing.propose(path, load(path), ROD_2_TO_1, "")
    last = proposing.propose(path, load(path), {"pin": {1: 2, 2: 1}}, "")
    assert proposing.accept(path, first.id).of == first.id
    assert "the job is not as it was" in refused(proposing.accept, path, last.id)


def test_of_three_proposals_the_last_is_taken(path):
    moves = (ROD_2_TO_1, {"pin": {1: 2, 2: 1}}, {"pin": {1: 3, 3: 1}})
    made = [proposing.propose(path, load(path), one, "") for one in moves]
    assert proposing.accept(path).of == made[-1].id


def test_a_proposal_from_other_readings_is_refused(path):
    proposing.propose(path, load(path), ROD_2_TO_1, "")
    ReadingLog(log_path(path)).append("read", cylinder=4, kind="pin", grams=112.9, typed="112.9")
    told = refused(proposing.accept, path)
    assert "the job is not as it was: readings changed since" in told
    assert "allowed: match again" in told


def test_moves_of_cylinders_that_are_not_there_are_not_proposed(path):
    told = refused(proposing.propose, path, load(path), {"rod": {1: 12, 12: 1}}, "")
    assert told == f"{path}: moves, cylinder 12: not in this layout; allowed: 1, 2, 3, 4, 5, 6, 7, 8"
    assert "rod: a place would be left empty" in refused(proposing.propose, path, load(path), {"rod": {1: 2}}, "")
    assert not log_path(path).exists()


def test_a_sheet_must_be_entered_before_its_matching_is_accepted(path, tmp_path):
    blanks = [{"number": n, **invented.PARTS, "piston": ""} for n in range(1, 9)]
    path.write_text(invented.text(invented.document(blanks)), encoding="utf-8")
    sheet = tmp_path / "weigh.csv"
    sheet.write_text("cylinder,piston\n" + "".join(f"{n},{538 + n / 10}\n" for n in range(1, 9)))
    proposing.propose(path, load(path, sheet), {"piston": {1: 2, 2: 1}}, "")
    told = refused(proposing.accept, path)
    assert f"first enter the sheet that has them: truethrow enter {path} SHEET" in told
    enter(path, sheet)
    proposing.accept(path)
    assert values(load(path), "piston")[:3] == [538.2, 538.1, 538.3]
    assert enter(path, sheet) == 0


def test_a_sheet_from_before_the_seats_is_refused_and_not_entered(path, tmp_path):
    accepted(path, ROD_2_TO_1)
    sheet = tmp_path / "weigh.csv"
    grams = load(path).parts[3]["big_end"].mean_g
    sheet.write_text(f"cylinder,big end\n1,452.6\n3,{grams}\n")
    assert refused(load, path, sheet).splitlines() == [
        f"{sheet}: cylinder 1, big end: parts have changed seats since the sheet was written; "
        "allowed: weigh it again with truethrow weigh"
    ]
    sheet.write_text("cylinder,big end,rod label\n3,452.6,\n2,,R2\n")
    assert "cylinder 2, rod: parts have changed seats" in refused(load, path, sheet)
    sheet.write_text(f"cylinder,big end\n3,{grams}\n")  # this rod sits where it did
    assert load(path, sheet).digest == load(path).digest
    sheet.write_text("cylinder,rod total,pin\n2,624.0,112.3\n")
    assert "cylinder 2, rod total: parts have changed seats since" in refused(enter, path, sheet)
    sheet.write_text("cylinder,rod total\n3,624.0\n")
    assert enter(path, sheet) == 1
    accepted(path, {"rings": {5: 6, 6: 5}})
    sheet.write_text("cylinder,rod total,rings label\n5,624.0,A\n7,624.0,A\n")
    told = refused(enter, path, sheet).splitlines()
    assert told == [
        f"{sheet}: cylinder 5, rings: parts have changed seats since the sheet was written; "
        "allowed: weigh it again with truethrow weigh"
    ]


def test_the_bench_asks_for_parts_where_they_sit_now(blank):
    path = blank()
    session = Session(benchjob.load(path), ReadingLog(log_path(path)))
    for n in range(1, 9):
        session.take(str(538 + n / 10))
    ReadingLog(log_path(path)).append("seat", typed="piston 1>8 8>1", of="p")
    session.refreshed()
    assert [s.mean_g for s in session.now.sisters("piston")][::7] == [538.8, 538.1]
    assert (session.last.cylinder, session.last.grams) == (1, 538.8)
    session.again()
    assert (session.step.cylinder, session.step.kind) == (1, "piston")


# The commands


def test_accepting_is_told_and_every_command_shows_the_new_places(path, tmp_path):
    proposing.propose(path, load(path), {"rod": {1: 2, 2: 1}, "pin": {3: 5, 5: 3}}, "less unbalance")
    status, out, err = run("accept", path, "--by", "AB")
    assert (status, err) == (0, "")
    told = [" ".join(line.split()) for line in out.splitlines()]
    assert told[1:7] == [
        "Mark these before you move any",
        "take mark it it goes in",
        "pin weighed in 3 3>5 5",
        "pin weighed in 5 5>3 3",
        "rod R1 (weighed in 1) 1>2 2",
        "rod R2 (weighed in 2) 2>1 1",
    ]
    assert str(log_path(path)) in told[-1]
    day = ReadingLog(log_path(path)).records[-1].at[:10]
    for command in ("work", "check", "hang"):
        _, out, err = run(command, path, *(("--out", tmp_path / "s.csv") if command == "work" else ()))
        assert (out.count(f"Parts have traded places, last on {day}: 4 are not"), err) == (1, "")
    status, out, err = run("accept", path)
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert "no proposal waits" in err
    assert run("accept", "-")[0] == 2
    assert "--by: does not do" in run("accept", path, "--by", "x" * 13)[2]


# What has changed by the time that a proposal is accepted


def test_a_reading_that_comes_in_while_a_proposal_is_accepted_refuses_it(path, monkeypatch):
    """Another bench writes between the look at the log and the lock."""
    proposing.propose(path, load(path), ROD_2_TO_1, "")
    lock = readinglog._lock

    def late(handle):
        monkeypatch.undo()
        ReadingLog(log_path(path)).append("read", cylinder=4, kind="pin", grams=112.9, typed="112.9")
        lock(handle)

    monkeypatch.setattr(readinglog, "_lock", late)
    assert "the job is not as it was: readings changed since" in refused(proposing.accept, path)
    assert load(path).seats == {}


@pytest.mark.parametrize(
    ("rule", "moved", "said"),
    [
        ({"fixed": ["rod R1"]}, ROD_2_TO_1, "fixed rod R1"),
        ({"together": [["piston", "rod"]]}, ROD_2_TO_1, "together piston, rod"),
        ({"together": [["piston 1", "rod R1"]]}, ROD_2_TO_1, "together piston 1, rod R1"),
        ({"apart": [["piston 1", "rod R2"]]}, ROD_2_TO_1, "apart piston 1, rod R2"),
        ({"offset_pins": True}, {"piston": {1: 2, 2: 1}}, "offset_pins"),
        ({"fixed": ["rod R3"], "together": [["piston 1", "pin 1"]]}, ROD_2_TO_1, ""),
        ({"together": [["piston", "rod"]]}, {**ROD_2_TO_1, "piston": {1: 2, 2: 1}}, ""),
    ],
)
def test_moves_that_break_a_rule_that_came_later_are_not_accepted(path, rule, moved, said):
    proposing.propose(path, load(path), moved, "")
    text = path.read_text(encoding="utf-8")
    path.write_text(invented.text({"match": rule}) + "\n" + text, encoding="utf-8")
    if said:
        told = refused(proposing.accept, path)
        assert f"breaks a rule that the job has by now: {said}; allowed: match again" in told
        assert load(path).seats == {}
    else:
        proposing.accept(path)


def test_a_proposal_whose_seat_was_struck_may_be_accepted_again(path):
    seat = accepted(path, ROD_2_TO_1)
    ReadingLog(log_path(path)).append("strike", of=seat.id, why="not yet")
    again = proposing.accept(path)
    assert (again.of, again.id) == (seat.of, f"{seat.id}-2")
    assert load(path).seats == {"rod": {1: 2, 2: 1}}
    assert "is accepted already" in refused(proposing.accept, path, seat.of)


def test_a_proposal_that_is_struck_out_waits_no_more(path):
    first = proposing.propose(path, load(path), ROD_2_TO_1, "")
    last = proposing.propose(path, load(path), {"pin": {1: 2, 2: 1}}, "")
    strike(path, last.id, "wrong limits")
    assert f"proposal {last.id}: is struck out; allowed: {first.id}" in refused(proposing.accept, path, last.id)
    assert proposing.accept(path).of == first.id
    assert proposing.propose(path, load(path), {"pin": {1: 2, 2: 1}}, "").id != last.id


def test_a_job_that_has_no_log_is_told_so(path):
    assert run("accept", path.with_name("nope.toml"))[2] == f"{path.with_name('nope.toml')}: no such file\n"
    assert "JOB: standard input has no log beside it; allowed: a file" in run("accept", "-")[2]
    for command in ("history", "ground", "weigh"):
        assert "no such file" in run(command, path.with_name("nope.toml"))[2]


def test_the_bench_refuses_a_log_that_the_job_refuses(path):
    ReadingLog(log_path(path)).append("seat", typed="rod 1>9 9>1", of="p")
    ReadingLog(log_path(path)).append("cut", cylinder=9, kind="piston", grams=1.0)
    told = refused(Session, benchjob.load(path), ReadingLog(log_path(path)))
    assert set(told.splitlines()) < set(refused(load, path).splitlines())  # which misses readings, too
    assert told.count("not in this layout") == 2
