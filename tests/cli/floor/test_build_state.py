"""The builder's page says what the command line says, and shows no cut that it would not."""

from __future__ import annotations

import re

import pytest
from build_shop import desk_of, does, weighed
from commands import run
from floor_shop import blank_job

from truethrow.balance.base.beside import log_path
from truethrow.balance.job.job import own_readings
from truethrow.balance.log.place import Snapshot
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Traded, Weighed
from truethrow.balance.matching.proposing import propose
from truethrow.cli.floor.build_state import made
from truethrow.worksheets.words import build_words as words

MOVES = {"piston": {1: 3, 3: 1}, "rod": {4: 5, 5: 4}}


@pytest.fixture
def job(tmp_path):
    return weighed(tmp_path)


def shown(path):
    return made(Snapshot(path), "launch", None, ()).state


def flat(text):
    return " ".join(text.split())


def test_the_trim_is_the_one_that_trim_tells(job):
    state, said = shown(job), flat(run("trim", job).out)
    assert state.stage == "grind"
    assert state.trim.plan in said
    for part in state.trim.parts:
        assert flat(part.said) in said
        assert all(cut.grams in part.said for cut in part.cuts)
    assert all(flat(caution) in said for caution in state.trim.cautions)
    assert all(flat(note) in said for note in state.trim.notes)


def test_each_part_has_the_drawing_of_the_cards(job, tmp_path):
    assert run("cards", job, "--only", "trim", "--into", tmp_path / "cards").status in (0, 1)
    files = (tmp_path / "cards" / "drawings").glob("trim-*.svg")
    # The file brings its type along; the page has it already.
    drawn = {re.sub(r"(?s)<style>.*?</style>", "", one.read_text(encoding="utf-8")) for one in files}
    now = made(Snapshot(job), "launch", None, ())
    assert {*now.drawings.values()} == drawn
    assert {key for _, key in now.drawings} == {part.key for part in now.state.trim.parts}
    assert {plan for plan, _ in now.drawings} == {now.state.trim.plan}


def test_nothing_is_to_be_ground_while_a_reading_looks_like_a_slip(tmp_path):
    path = weighed(tmp_path, looked_at=False)
    state, said = shown(path), flat(run("trim", path).out)
    assert (state.stage, state.trim) == ("look", None)
    assert [one.again[0].typed for one in state.doubts] == ["piston P33", "big end R35"]
    assert all(flat(one.said) in said for one in state.doubts)
    assert not state.may_match


def test_parts_that_wait_for_the_scale_come_first(tmp_path):
    state = shown(blank_job(tmp_path))
    assert (state.stage, state.trim, state.may_match) == ("weigh", None, False)
    assert "to be weighed" in state.lines[0]


def test_a_job_that_cannot_be_read_says_why_in_the_words_of_the_command_line(job):
    job.write_text(job.read_text(encoding="utf-8").replace('layout = "', 'layout = "x'), encoding="utf-8")
    state = shown(job)
    assert (state.stage, state.trim, state.proposal) == ("fault", None, None)
    said = flat(run("trim", job).err)
    assert state.lines
    assert all(flat(line).split(": ", 1)[1] in said for line in state.lines)


def test_a_match_that_waits_says_what_moves_where_why_and_what_it_brings(job):
    propose(job, own_readings(job), MOVES, "bobweight spread 1.20 g (proved best)", "AB")
    state = shown(job)
    assert (state.stage, state.trim) == ("accept", None)  # nobody grinds the set as it sits meanwhile
    match = state.proposal
    assert [(one.start, one.goes, one.mark) for one in match.moves] == [
        ("1", "3", "1>3"),
        ("3", "1", "3>1"),
        ("4", "5", "4>5"),
        ("5", "4", "5>4"),
    ]
    assert match.moves[0].take == "piston P28 (weighed in 1)"
    assert "proved best" in match.why[0]
    assert any(row[0].startswith("bobweight spread") and row[1] != row[2] for row in match.compared)
    assert match.against == ()
    now = {row[0]: row[1] for row in match.compared}
    spread = next(line for line in run("check", job).out.splitlines() if line.split()[:1] == ["bobweight"])
    assert now["bobweight spread [g]"] in spread


def test_a_match_that_cannot_be_accepted_says_why_as_accept_does(job):
    propose(job, own_readings(job), MOVES, "", "AB")
    ReadingLog(log_path(job)).append(Weighed(1, "piston", 538.2, "538.2"))
    state = shown(job)
    assert state.stage != "accept"
    (why,) = state.proposal.against
    assert flat(why.partition(" (on its Build page)")[0]) in flat(run("accept", job).err)
    page = desk_of(job).shown().hands
    assert words.CANNOT_ACCEPT in page
    assert words.MARK_IT not in page  # nobody marks a part by it


def test_a_match_that_was_proposed_before_parts_traded_places_is_shown_no_more(job):
    propose(job, own_readings(job), {"piston": {2: 6, 6: 2}}, "", "AB")
    propose(job, own_readings(job), MOVES, "", "AB")
    assert run("accept", job, "--by", "AB").status in (0, 1)
    state = shown(job)
    assert state.proposal is None
    page = desk_of(job).shown().hands
    assert "1&gt;3" in page
    assert "2&gt;6" not in page
    [trade] = [one for one in ReadingLog(log_path(job)).records if isinstance(one, Traded)]
    assert run("strike", job, trade.id, "--why", "they stay", "--by", "AB").status in (0, 1)
    assert [one.mark for one in shown(job).proposal.moves] == ["1>3", "3>1", "4>5", "5>4"]


def test_once_the_newest_match_is_left_no_older_one_comes_up_in_its_place(job):
    desk = desk_of(job)
    older = propose(job, own_readings(job), {"piston": {2: 6, 6: 2}}, "", "AB")
    newest = propose(job, own_readings(job), MOVES, "", "AB")
    assert [one.mark for one in shown(job).proposal.moves] == ["1>3", "3>1", "4>5", "5>4"]
    assert does(desk, "reject", newest.id).ok
    assert older.id != newest.id
    assert (shown(job).proposal, shown(job).stage) == (None, "grind")
    page = desk.shown().hands
    assert words.REJECT not in page
    assert "2&gt;6" not in page
    propose(job, own_readings(job), MOVES, "", "AB")
    assert shown(job).proposal is not None


def test_after_accepting_what_is_marked_stays_to_be_seen_and_the_trim_is_of_the_parts_where_they_go(job):
    propose(job, own_readings(job), MOVES, "", "AB")
    assert run("accept", job, "--by", "AB").status in (0, 1)
    state = shown(job)
    assert state.proposal is None
    assert [one.mark for one in state.accepted.moves] == ["1>3", "3>1", "4>5", "5>4"]
    assert "accepted by AB" in state.accepted.who
    assert state.stage == "grind"
    assert any("(weighed in 1, goes in 3)" in part.name for part in state.trim.parts)


def test_a_job_that_asks_for_a_match_is_matched_before_anything_is_ground(job):
    text = '\n[match]\naims = ["bobweight"]\nmove = ["piston"]\n'
    job.write_text(job.read_text(encoding="utf-8") + text, encoding="utf-8")
    state = shown(job)
    assert (state.stage, state.trim) == ("match", None)
    assert state.lines == words.MATCH_FIRST
    assert "match, before anything is ground" in run("next", job).out


def test_once_all_is_ground_it_says_what_to_weigh_again_and_offers_no_match(job):
    build = desk_of(job)
    for cut in build.made.state.trim.cuts:
        assert does(build, "tick", cut.id).ok
    state = build.made.state
    assert (state.stage, state.may_match) == ("again", False)
    assert state.trim.done == len(state.trim.cuts)
    assert all(part.name in state.lines[0] for part in state.trim.parts)
    assert words.DO[state.stage].startswith("All is ground")
    assert run("next", job).out.startswith("Next: weigh once more")


def of_match(path):
    propose(path, own_readings(path), MOVES, "", "AB")


def of_late_match(path):
    of_match(path)
    ReadingLog(log_path(path)).append(Weighed(1, "piston", 538.2, "538.2"))


def of_accepted(path):
    of_match(path)
    run("accept", path, "--by", "AB")


def of_cuts(path):
    run("ground", path, "--by", "AB")


def of_all_done(path):
    text = path.read_text(encoding="utf-8")
    path.write_text(re.sub(r"(?s)\[limits\].*?(?=\n\[)", "", text), encoding="utf-8")


def of_a_fault(path):
    path.write_text(path.read_text(encoding="utf-8").replace('layout = "', 'layout = "x'), encoding="utf-8")


@pytest.mark.parametrize("done", [None, of_match, of_late_match, of_accepted, of_cuts, of_all_done, of_a_fault])
def test_nobody_is_told_a_command_or_the_name_of_a_file_at_the_builders_page(job, done):
    if done is not None:
        done(job)
    page = desk_of(job).shown().hands
    assert "truethrow" not in page
    assert str(job) not in page
    assert "--" not in page
