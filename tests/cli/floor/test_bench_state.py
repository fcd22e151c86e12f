"""What a bench is for a screen: what the terminal says of it."""

from __future__ import annotations

from fed_scale import EMPTY, GOOD, ON, fed, loop_on, shown_by
from floor_shop import blank_job

from truethrow.balance import demo
from truethrow.cli.floor.bench_state import head_of, live_of, nothing_more, scale_of, state_of
from truethrow.worksheets.words import bench_words


def test_it_says_what_the_terminal_says(blank):
    loop = fed(blank(limits={"piston": 1.0}), [*GOOD, *ON(545.0)])
    state, shown = state_of(loop, "job", "id"), " ".join(shown_by(loop).split())
    assert state.step_note in shown
    assert state.counted in shown
    assert state.spread in shown
    assert state.live.said in shown
    assert state.live.text == "545.0"
    for said in (*state.flags, *state.doubts, state.taken):
        assert " ".join(said.split()) in shown
    assert state.rows[0].readings[state.column] == "538.4"
    assert [row.is_now for row in state.rows].index(True) + 1 == loop.session.step.cylinder
    assert [row.cylinder for row in state.rows] == [*range(1, 9)]  # by which a screen goes to a part


def test_what_looks_wrong_is_told_once(blank):
    loop = fed(blank(), [*GOOD, *ON(12.0)])
    loop.accept_typed("12.0")
    state = state_of(loop, "job", "id")
    assert state.flags
    assert not set(state.doubts) & set(state.flags)


def test_a_flag_is_at_the_part_that_it_is_about(blank):
    loop = fed(blank(), [*GOOD, *ON(538.5), *EMPTY, *ON(545.0)])
    rows = state_of(loop, "job", "id").rows
    assert [bool(row.flag) for row in rows] == [number == 5 for number in range(1, 9)]
    assert "above the median" in rows[4].flag


def test_why_nothing_is_taken_is_told_once(blank):
    loop = fed(blank(), ["9.0 g"] * 9)
    state = state_of(loop, "job", "id")
    assert state.hold == loop.hold != ""
    assert loop.hold not in state.messages
    assert state.live.standing == loop.standing
    # What nobody sees comes first: the scale is emptied once somebody looks.
    assert state_of(loop, "job", "id", hold="no screen").hold == "no screen"


def test_a_scale_that_is_out_is_lost(blank):
    loop = fed(blank(), GOOD)
    loop.port.connected = True
    assert scale_of(loop) == "live"
    loop.live = None
    assert scale_of(loop) == "lost"
    assert scale_of(loop, is_watched=False) == "live"
    loop.port.connected = False
    assert scale_of(loop, is_watched=False) == "lost"
    assert live_of(loop).text == ""


def test_what_may_be_done_is_what_can_be(tmp_path):
    path = blank_job(tmp_path)
    loop = loop_on(path)
    assert state_of(loop, "job", "id").may == ("type", "skip", "back", "go")
    assert loop.enter("538.4")
    state = state_of(loop, "job", "id")
    assert {*state.may} == {"type", "skip", "again", "cancel", "readings", "back", "go"}
    assert (state.scale, state.head, head_of(loop.session.log)) == ("", 1, 1)
    assert state.saved
    assert nothing_more(loop, "job") == ""


def test_at_a_check_no_part_is_asked_for(tmp_path):
    path = blank_job(tmp_path, bench={"reference": 500.0})
    state = state_of(loop_on(path), "job", "id")
    assert (state.is_part, state.column, state.step, state.spread) == (False, -1, "zero", "")
    assert state.rows[2].name == "3"


def test_a_job_that_is_weighed_is_done(tmp_path):
    demo.copy_into(tmp_path)
    state = state_of(loop_on(tmp_path / "pump.toml"), "pump", "id", next_step="next")
    assert (state.step, state.step_note) == ("done", bench_words.EVERYTHING_IS_WEIGHED)
    assert "grind" in state.may
    assert "type" not in state.may
    assert state.next_step == "next"
