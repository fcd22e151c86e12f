"""What is a command elsewhere, on the station's page: where it is done, and what is canceled or said there."""

from __future__ import annotations

import pytest
from station_page import AB, Screen, actions, of_spin
from station_shop import added

from truethrow.balance.base.errors import BadInput
from truethrow.balance.log.place import Snapshot, open_log
from truethrow.balance.log.records import Struck, Weighed
from truethrow.cli.floor.station_state import look
from truethrow.cli.floor.station_ways import here, ways
from truethrow.worksheets.pages.floor.station_state import Way

FRONT, REAR = "6.1@203", "5.0@169"
DID = 'truethrow holes my.toml --station st.toml --did "2a, ANGLE deg station, DIAMETER mm drill" --before 2'


@pytest.fixture
def screen(job):
    made = Screen(job)
    made.builds()
    made.spins(FRONT, REAR)
    made.proves(added(FRONT, 150, 30), added(REAR, 100, 120))
    return made


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ("spin again: truethrow spin my.toml FRONT REAR", "spin again (under Spin)"),
        ("look (truethrow holes my.toml) and go on", "look (under Holes) and go on"),
        ("run: truethrow test-mass my.toml --front 60g@30", "(under Masses)"),
        ("close it: truethrow close my.toml --by INITIALS", "close it (the owner, at the shop's computer)"),
        ("weigh it: truethrow weigh my.toml", "weigh it (at the job's bench)"),
        ("grind: truethrow ground my.toml", "grind (on the Build page)"),
        (
            "if 8 mm was a slip, take it back: truethrow strike my.toml 5f-1; then: truethrow holes my.toml",
            "if 8 mm was a slip, take it back (cancel it under Spins); then (under Holes)",
        ),
        ("nothing of a command", "nothing of a command"),
    ],
)
def test_a_command_in_a_sentence_is_the_place_on_the_page(told, said):
    assert here(told) == said


@pytest.mark.parametrize(
    ("told", "made"),
    [
        ("truethrow spin my.toml FRONT REAR", Way("Spin again", "spin")),
        ("if it hangs: truethrow spin my.toml FRONT REAR", Way("if it hangs", "spin")),
        (f"if a hole was drilled: {DID}", Way("if a hole was drilled", "hole", "did")),
        ("so: truethrow strike my.toml 5f-1", Way("so", "spins", "cancel", "5f-1")),
        ("so: truethrow strike my.toml RECORD", Way("so", "spins")),
        ("so: truethrow strike my.toml 5f-1; truethrow strike my.toml 5f-2", Way("so", "spins")),
        (
            "let them aim: truethrow holes my.toml --aim sum",
            Way("let them aim (the owner, at the shop's computer)"),
        ),
        ("another limit", Way("another limit")),
    ],
)
def test_a_next_step_opens_what_it_asks_for(told, made):
    assert ways([told], frozenset(("5f-1",))) == (made,)


def test_planned_holes_that_are_not_recorded_are_offered_and_recorded_as_deep_as_they_are(job, screen):
    state = look(Snapshot(job)).state
    planned = state.plan.operations
    shown = ("{:.2f}@{:.1f}".format(*state.instrument.shows(one)) for one in state.expected)
    screen.spins(*shown)
    assert [one.form for one in screen.state.ways if one.form] == ["offered-0"]
    [offered] = screen.state.in_crank
    assert [one.deep for one in offered] == [f"{one.depth_mm:g}" for one in planned]
    rows = [{"said": one.said, "deep": one.deep} for one in offered]
    done = screen.sends("did", holes=rows, before=screen.state.in_crank_at)
    assert "It was there at spin 2 already." in done.question.ask
    assert "hole" not in actions(job)
    screen.yes(done)
    assert screen.look().stage == "sign"
    kept = [one for one in open_log(job).records if one.action == "hole"]
    assert [(one.member, one.depth_mm, one.by) for one in kept] == [
        (one.member, pytest.approx(one.depth_mm), AB.initials) for one in planned
    ]


def test_a_hole_of_ones_own_is_read_back_and_sent_twice_it_is_one(job, screen):
    hole = screen.state.hole
    at = float(hole.own.rstrip("°")) + 5
    row = {"said": f"{hole.member}, {at:g} deg station, {screen.state.did.tools[0]}", "deep": "8"}
    done = screen.sends("did", holes=[row], before=0)
    assert f"at station {at:.1f}°" in done.question.ask
    screen.yes(done)
    assert Screen(job).yes(done).said.startswith("saved before: ")
    assert actions(job).count("hole") == 1
    assert screen.look().stage == "spin"


@pytest.mark.parametrize(
    ("fields", "wrong"),
    [
        ({"holes": []}, "no request"),
        ({"holes": ["2a"]}, "no request"),
        ({"holes": [{"said": "2a, 217 deg station, 12 mm drill", "deep": ""}]}, "missing"),
        ({"holes": [{"said": "9z, 217 deg station, 12 mm drill", "deep": "8"}]}, "9z"),
        ({"holes": [{"said": "2a, 217 deg station, 12 mm drill", "deep": "8"}], "before": 7}, "no such spin"),
        ({"holes": [{"said": "2a, 217 deg station, 12 mm drill", "deep": "8"}], "before": True}, "no request"),
    ],
)
def test_what_cannot_be_in_the_crank_is_refused_as_by_the_command(job, screen, fields, wrong):
    with pytest.raises(BadInput, match=wrong):
        screen.sends("did", **fields)
    assert "hole" not in actions(job)


def test_what_breaks_a_limit_says_so_before_the_yes_and_waits_for_whoever_is_qualified(job, screen):
    member = screen.state.did.members[0]
    row = {"said": f"{member}, 5 deg crank, {screen.state.did.tools[0]}", "deep": "60"}
    done = screen.sends("did", holes=[row], before=0)
    assert "Look before you say yes." in done.question.ask
    assert "has no metal of" in done.question.ask
    screen.yes(done)
    state = screen.look()
    assert (state.stage, len(state.beyond)) == ("look", 1)
    assert [one.form for one in state.ways] == ["looked", "cancel"]
    with pytest.raises(BadInput, match="--why"):
        screen.sends("looked", by="QQ", why="")
    with pytest.raises(BadInput, match="--by"):
        screen.sends("looked", by="", why="thick enough there")
    screen.does("looked", by="QQ", why="thick enough there")
    assert screen.state.beyond == ()
    assert open_log(job).records[-1].by == "QQ"


def test_a_spin_is_canceled_with_its_known_masses_for_a_reason_and_once(job, screen):
    spin = next(one for one in screen.state.cancelings if one.said.startswith("spin "))
    done = screen.sends("cancel", record=spin.id, why="typed for another crank")
    assert done.question.ask.startswith(f"Cancel: {spin.said}\nIt takes with it: test front, 150 g")
    assert "Then: no spin is left: spin the crank (under Spin)" in done.question.ask
    screen.yes(done)
    assert Screen(job).yes(done).ok
    struck = [one for one in open_log(job).records if isinstance(one, Struck)]
    assert [one.why for one in struck] == ["typed for another crank"] * 2
    assert screen.look().stage == "spin"
    assert all("spin " not in one.said for one in screen.state.cancelings)


def test_nothing_is_canceled_without_a_reason_and_nothing_that_is_none_of_the_stations(job, screen):
    spin = next(one for one in screen.state.cancelings if one.said.startswith("spin "))
    with pytest.raises(BadInput, match="--why"):
        screen.sends("cancel", record=spin.id, why=" ")
    with pytest.raises(BadInput, match="is not in the log"):
        screen.sends("cancel", record="5f0c31a2b4d6-7", why="typed twice")
    other = open_log(job).append(Weighed(1, "piston", 538.4, "538.4"))
    with pytest.raises(BadInput, match="no request"):
        screen.sends("cancel", record=other.id, why="typed twice")


def test_a_spin_recorded_meanwhile_is_told_before_one_is_canceled(job, screen):
    spin = next(one for one in screen.state.cancelings if one.said.startswith("spin "))
    done = screen.sends("cancel", record=spin.id, why="typed for another crank")
    other = Screen(job)
    other.does("spin", **of_spin(other.state, "6.2@203", "5.1@169"))
    again = screen.yes(done)
    assert not again.ok
    assert "Look again, since this screen was drawn: spin 6.2@203" in again.question.ask
    assert not any(isinstance(one, Struck) for one in open_log(job).records)
