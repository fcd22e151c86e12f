"""The builder's desk: what hands do there is what the commands do, and is refused in the same words."""

from __future__ import annotations

import uuid

import pytest
from build_shop import BUILDER, GRINDER, SECOND, desk_of, does, weighed
from commands import run
from floor_bench import VIEWER, until

from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput
from truethrow.balance.job.job import own_readings
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Confirmed, Cut, Proposed, Struck, Traded, Weighed
from truethrow.balance.matching.proposing import propose
from truethrow.cli.floor.desk import Desk
from truethrow.cli.floor.posts import Post
from truethrow.worksheets.words import build_words as words
from truethrow.worksheets.words import matching_words

ONE_AIM = '\n[match]\naims = ["bobweight"]\nmove = ["piston", "pin", "rod"]\n'
MOVES = {"piston": {1: 2, 2: 1}}


@pytest.fixture
def job(tmp_path):
    return weighed(tmp_path)


def records(job, kind):
    return [one for one in ReadingLog(log_path(job)).records if isinstance(one, kind)]


def proposed(job):
    return propose(job, own_readings(job), MOVES, "by hand", "AB")


def test_a_tick_is_the_record_that_ground_makes_under_the_id_of_its_step(job, tmp_path):
    build = desk_of(job)
    part = build.made.state.trim.parts[0]
    (cut,) = part.cuts
    done = does(build, "tick", cut.id)
    assert (done.ok, part.name in done.said) == (True, True)
    twin = weighed(tmp_path / "twin")
    assert run("ground", twin, "piston", part.key.rpartition("-")[2], "--by", "AB").status in (0, 1)
    (own,), (typed,) = records(job, Cut), records(twin, Cut)
    assert own.id == typed.id == cut.id
    assert (own.cylinder, own.pad, own.grams, own.plan, own.step, own.by) == (
        typed.cylinder,
        typed.pad,
        typed.grams,
        typed.plan,
        typed.step,
        typed.by,
    )
    assert build.made.state.trim.done == 1


def test_of_two_tablets_that_tick_one_cut_the_second_is_refused_by_name(job):
    build = desk_of(job)
    desk = Desk("launch", lambda look: build)
    cut = build.made.state.trim.cuts[0]
    posts = [Post(str(uuid.uuid4()), "tick", step=cut.id) for _ in range(2)]
    first, second = desk.ask(posts[0], BUILDER), desk.ask(posts[1], SECOND)
    desk.close()
    assert first.ok
    assert not second.ok
    assert cut.part in second.said
    assert "recorded already by AB" in second.said
    assert len(records(job, Cut)) == 1


def test_one_cut_of_a_rod_leaves_the_other_to_be_done(job):
    build = desk_of(job)
    rod = next(part for part in build.made.state.trim.parts if len(part.cuts) == 2)
    assert does(build, "tick", rod.cuts[1].id).ok
    (record,) = records(job, Cut)
    assert record.pad == "small_end"
    now = next(part for part in build.made.state.trim.parts if part.key == rod.key)
    assert [bool(cut.done) for cut in now.cuts] == [False, True]
    assert "recorded by AB" in now.cuts[1].done


def test_a_tick_of_another_plan_is_refused(job):
    build = desk_of(job)
    step = build.made.state.trim.cuts[0].id
    old = step.replace(build.made.state.trim.plan, "p00000000000")
    with pytest.raises(BadInput, match="is not the plan to record now"):
        does(build, "tick", old)
    for strange in ("", "x", f"{build.made.state.trim.plan}-9-piston", f"{build.made.state.trim.plan}-1-crown"):
        with pytest.raises(BadInput):
            does(build, "tick", strange)
    assert records(job, Cut) == []


def test_a_cut_that_was_ticked_wrongly_is_canceled_with_a_reason_and_may_be_ticked_again(job):
    build = desk_of(job)
    cut = build.made.state.trim.cuts[0]
    does(build, "tick", cut.id)
    record = build.made.state.trim.cuts[0].record
    asked = does(build, "cancel", record)
    assert [answer.why for answer in asked.question.answers] == [*words.WHY_NOT]
    assert records(job, Struck) == []
    done = does(build, "cancel", record, why=words.WRONG_PART)
    assert (done.ok, done.is_warning) == (True, True)
    assert "Was another part ground in its place?" in done.said
    (struck,) = records(job, Struck)
    assert (struck.of, struck.why, struck.by) == (record, words.WHY_NOT[0], "AB")
    assert build.made.state.trim.done == 0
    assert does(build, "tick", cut.id, who=SECOND).ok
    assert [one.by for one in records(job, Cut)] == ["AB", "CD"]
    assert not does(build, "cancel", "no such record").ok


def test_accepting_is_what_accept_does_and_is_refused_in_its_words(job):
    build, proposal = desk_of(job), proposed(job)
    assert does(build, "accept", proposal.id).ok
    (trade,) = records(job, Traded)
    assert (trade.proposal, trade.by, trade.moves) == (proposal.id, "AB", MOVES)
    with pytest.raises(BadInput) as refused:
        does(build, "accept", proposal.id, who=SECOND)
    said = run("accept", job, proposal.id)
    assert said.status == 2
    assert str(refused.value).split(": ", 1)[1] in " ".join(said.err.split())


def test_a_match_that_nobody_wants_is_canceled(job):
    build, proposal = desk_of(job), proposed(job)
    assert does(build, "reject", proposal.id).ok
    (struck,) = records(job, Struck)
    assert (struck.of, struck.by) == (proposal.id, "AB")
    build.shown()
    assert build.made.state.proposal is None
    cut = build.made.state.trim.cuts[0]
    does(build, "tick", cut.id)
    assert not does(build, "reject", records(job, Cut)[0].id).ok  # a cut is no match
    assert len(records(job, Struck)) == 1


@pytest.mark.parametrize("action", ["match", "stop", "accept", "reject"])
def test_who_weighs_and_grinds_may_not_match_or_accept(job, action):
    build, proposal = desk_of(job), proposed(job)
    for who in (GRINDER, VIEWER):
        refused = does(build, action, proposal.id, who=who)
        assert (refused.ok, refused.said) == (False, words.MAY_NOT_BUILD.format(role=who.role))
    assert records(job, Traded) == []
    assert does(build, "reject", proposal.id).ok
    assert does(build, "tick", build.made.state.trim.cuts[0].id, who=GRINDER).ok


def test_a_reading_that_looks_like_a_slip_and_is_right_is_confirmed_by_who_looked_as_confirm_does(tmp_path):
    job, twin = (weighed(tmp_path / name, looked_at=False) for name in ("one", "twin"))
    build, why = desk_of(job), "weighed twice"
    first, second = build.made.state.doubts
    asked = does(build, "confirm", first.right, who=GRINDER)
    assert (asked.ok, asked.question.of, asked.question.who) == (False, first.right, words.WHO_LOOKED)
    assert "534.1" in asked.question.ask
    for typed, said in (("", why), ("  ", why), ("QR", " "), ("QR", "")):
        assert does(build, "confirm", of=first.right, typed=typed, why=said).said == words.WHO_AND_WHY
    assert records(job, Confirmed) == []
    for doubt in (first, second):
        assert does(build, "confirm", of=doubt.right, typed="QR", why=why).ok
    for part in ("piston P33", "big end R35"):
        assert run("confirm", twin, *part.split(), "--by", "QR", "--why", why).status in (0, 1)
    own, typed = ([vars_of(one) for one in records(at, Confirmed)] for at in (job, twin))
    assert own == typed != []
    assert (build.made.state.stage, build.made.state.doubts) == ("grind", ())
    assert does(build, "confirm", first.right).said == words.NO_LONGER_ASKED
    assert does(build, "confirm", of=first.right, typed="QR", why=why).said == words.NO_LONGER_ASKED
    assert len(records(job, Confirmed)) == 2


def vars_of(one):
    return one.cylinder, one.kind, one.grams, one.typed, one.why, one.by, one.bench


def test_a_reading_that_came_in_while_the_one_before_was_asked_about_is_not_confirmed(tmp_path):
    job = weighed(tmp_path, looked_at=False)
    build = desk_of(job)
    asked = does(build, "confirm", build.made.state.doubts[0].right).question
    ReadingLog(log_path(job)).append(Weighed(5, "piston", 531.0, "531.0"))
    assert does(build, "confirm", of=asked.of, typed="QR", why="looked").said == words.NO_LONGER_ASKED
    assert records(job, Confirmed) == []


def test_what_a_builder_does_not_do_is_refused(job):
    assert "is nothing that" in does(desk_of(job), "drill").said


def test_a_search_is_begun_once_and_ends_when_it_is_told_to(job):
    build = desk_of(job)
    assert not does(build, "stop").ok
    assert does(build, "match").ok
    assert build.made.state.stage == "search"
    assert build.is_busy
    assert build.made.state.trim is None  # nobody grinds meanwhile
    assert not does(build, "match").ok
    assert does(build, "stop").ok
    until(lambda: not build.is_busy)
    build.shown()
    assert build.made.state.said[0] == matching_words.BROKEN_OFF
    assert build.made.state.stage != "search"


def test_what_a_search_found_waits_for_a_yes(job):
    job.write_text(job.read_text(encoding="utf-8") + ONE_AIM, encoding="utf-8")
    build = desk_of(job)
    does(build, "match")
    until(lambda: not build.is_busy)
    build.shown()
    (one,) = records(job, Proposed)
    assert (build.made.state.proposal.id, one.by) == (one.id, "AB")
    assert build.made.state.stage == "accept"


def test_a_search_that_is_closed_with_the_floor_proposes_nothing(job):
    build = desk_of(job)
    does(build, "match")
    build.close()
    assert records(job, Proposed) == []
