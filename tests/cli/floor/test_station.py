"""What is done at the station's page: read back before it is recorded, once, and by whom it may."""

from __future__ import annotations

import json
import re
import uuid

import pytest
from floor_shop import served
from station_page import AB, CD, Screen, actions, of_masses, of_spin
from station_shop import added

from truethrow.balance.base.errors import BadInput
from truethrow.balance.log.place import open_log
from truethrow.cli.floor import station as module
from truethrow.cli.floor.devices import Devices
from truethrow.cli.floor.pairing import Paired
from truethrow.cli.floor.posts import Post
from truethrow.worksheets.words import station_screen_words as words

FRONT, REAR = "6.1@203", "5.0@169"


@pytest.fixture
def screen(job):
    return Screen(job)


@pytest.fixture
def proved(screen):
    """A screen at a station that is proved, with holes to drill."""
    screen.builds()
    screen.spins(FRONT, REAR)
    screen.proves(added(FRONT, 150, 30), added(REAR, 100, 120))
    return screen


def test_a_whole_station_from_the_bobweights_to_the_signature(screen, job):
    assert (screen.state.stage, screen.state.do_now) == ("bobweights", "Build and weigh")
    screen.builds()
    assert screen.state.stage == "spin"
    screen.spins(FRONT, REAR)
    assert screen.state.stage == "prove"
    assert screen.proves(added(FRONT, 150, 30), added(REAR, 100, 120)).said.startswith(
        "recorded: the known masses agree"
    )
    while screen.state.stage == "hole":
        screen.drills()
    screen.spins("0.3@20", "0.3@230")
    assert screen.state.stage == "sign"
    screen.does("sign", by="CD")
    assert (screen.state.stage, screen.state.step) == ("signed", "CD")
    assert actions(job)[:6] == ["built"] * 4 + ["spin", "test"]
    assert actions(job)[-2:] == ["spin", "sign"]
    log = open_log(job).records
    assert {one.by for one in log[:-1]} == {"AB"}  # the device's
    assert log[-1].by == "CD"  # his who signs


def test_nothing_is_recorded_before_the_yes_and_what_is_read_back_is_what_is_recorded(screen, job):
    screen.builds()
    head = len(open_log(job).records)
    key = str(uuid.uuid4())
    done = screen.sends("spin", key, **of_spin(screen.state, FRONT, REAR))
    assert not done.ok
    assert done.question.ask == (
        "Spin 1 (one run), as the display shows it:\n"
        "front 6.1 g at 203° = crank 203°\nrear 5.0 g at 169° = crank 169°"
    )
    assert [one.action for one in done.question.answers] == ["yes", "no"]
    assert len(open_log(job).records) == head
    assert screen.desk.do(Post(key, "no", of=done.question.of), AB).ok
    assert len(open_log(job).records) == head
    screen.yes(done)
    record = open_log(job).records[-1]
    assert (record.action, record.id, record.unit) == ("spin", key, "g")
    assert [tuple(one) for one in record.runs] == [("6.1", "203", "5.0", "169")]


def test_what_is_sent_again_is_recorded_once(screen, job):
    screen.builds()
    done = screen.sends("spin", **of_spin(screen.state, FRONT, REAR))
    assert screen.yes(done).said == "recorded: spin 1"
    again = Screen(job).yes(done)  # another server, after a restart
    assert again.ok
    assert again.said.startswith("saved before: ")
    assert actions(job).count("spin") == 1


def test_a_yes_is_to_what_was_true_when_it_was_asked(screen, job):
    screen.builds()
    done = screen.sends("spin", **of_spin(screen.state, FRONT, REAR))
    Screen(job, CD).spins("6.2@203", "5.1@169")
    asked_again = screen.yes(done)
    assert not asked_again.ok
    first = asked_again.question.ask.splitlines()[0]
    assert first.startswith("Look again, since this screen was drawn: spin 6.2@203")
    assert " by CD at " in first
    assert "Spin 2 (one run)" in asked_again.question.ask
    assert screen.yes(asked_again).ok
    assert actions(job).count("spin") == 2


def test_a_yes_is_to_the_day_on_which_it_was_asked(screen, job, monkeypatch):
    """Read back in the evening, answered in the morning: it is read back once more, and then recorded once."""
    screen.builds()
    done = screen.sends("spin", **of_spin(screen.state, FRONT, REAR))
    monkeypatch.setattr(module, "today", lambda: "2031-03-05")
    asked_again = screen.yes(done)
    assert not asked_again.ok
    first, *rest = asked_again.question.ask.splitlines()
    assert first == words.ANOTHER_DAY
    assert rest == done.question.ask.splitlines()
    assert actions(job).count("spin") == 0
    assert screen.yes(asked_again).ok
    assert actions(job).count("spin") == 1


def test_what_was_looked_over_the_day_before_is_not_recorded_by_a_late_yes(screen, job, monkeypatch):
    screen.builds()
    profile = job.with_name("station.toml")
    profile.write_text(profile.read_text() + '\n[before_spin]\nasked = "every time"\nlook_at = ["plugs"]\n')
    done = screen.sends("spin", **of_spin(screen.state, FRONT, REAR), looked_over=True)
    assert done.question is not None
    monkeypatch.setattr(module, "today", lambda: "2031-03-05")
    with pytest.raises(BadInput, match="not looked over yet"):
        screen.yes(done)
    assert actions(job).count("spin") == 0
    monkeypatch.undo()
    assert screen.yes(done).ok  # the same yes on its own day
    assert open_log(job).records[-1].looked_over


def test_of_two_tablets_that_tick_one_hole_the_second_is_refused_by_name(proved, job):
    other = Screen(job, CD)
    hole, plan = other.state.hole.number, other.state.plan
    proved.drills()
    with pytest.raises(BadInput, match=rf"hole {hole}: was recorded by AB at [-0-9]{{10}} [0-9:]{{5}} UTC, "):
        other.sends("hole", number=hole, plan=plan)
    assert actions(job).count("hole") == 1


def test_of_two_who_said_yes_to_one_hole_at_once_the_second_is_refused_by_name(proved, job):
    other = Screen(job, CD)
    mine, theirs = (
        one.sends("hole", number=one.state.hole.number, plan=one.state.plan) for one in (proved, other)
    )
    proved.yes(mine)
    with pytest.raises(BadInput, match="was recorded by AB at "):
        other.yes(theirs)
    assert actions(job).count("hole") == 1


def test_a_plan_that_changed_since_the_screen_saw_it_is_shown_for_a_yes(proved, job):
    seen = proved.state
    Screen(job, CD).spins("6.1@203", "5.0@170")
    done = proved.sends("hole", number=1, plan=seen.plan)
    assert done.question.ask.splitlines()[0].startswith("Look again, since this screen was drawn: spin ")
    assert "The plan has changed since this screen showed it. As it is now: hole 1: " in done.question.ask
    assert "hole" not in actions(job)


def test_really_deep_is_recorded_as_it_is(proved, job):
    planned = float(proved.state.hole.deep.split()[0])
    done = proved.sends("hole", number=1, plan=proved.state.plan, deep=f"{planned - 1:g}")
    assert f"{planned - 1:g} mm deep" in done.question.ask
    proved.yes(done)
    assert open_log(job).records[-1].depth_mm == planned - 1
    assert any("not as deep as planned" in one for one in proved.look().minds)


def test_a_depth_that_cannot_be_is_told_before_the_yes_in_the_words_of_the_command(proved):
    with pytest.raises(BadInput, match=r"hole 1: .*; allowed: the depth of its full diameter, in mm"):
        proved.sends("hole", number=1, plan=proved.state.plan, deep="900")
    with pytest.raises(BadInput, match=r"hole 1: "):
        proved.sends("hole", number=1, plan=proved.state.plan, deep="?")


def test_a_bobweight_that_looks_like_a_slip_is_asked_back_and_recorded_by_the_yes(screen, job):
    asked = float(screen.state.throws[0].asked.split()[0])
    done = screen.sends("built", throw="1", mass=f"{asked + 20:.1f}")
    assert "a slip of the pen?" in done.question.ask
    assert "--sure" not in done.question.ask
    assert screen.yes(done).ok
    assert open_log(job).records[-1].typed == f"{asked + 20:.1f}"
    with pytest.raises(BadInput, match="is no bobweight of this throw"):
        screen.sends("built", throw="2", mass="12")


def test_a_unit_that_the_profile_has_no_more_is_refused(screen, job):
    """The screen shows grams; meanwhile somebody sets the profile to ounces."""
    screen.builds()
    profile = job.with_name("station.toml")
    profile.write_text(profile.read_text().replace('unit = "g"', 'unit = "oz"'))
    with pytest.raises(BadInput, match="typed in g, and the profile reads oz"):
        screen.sends("spin", **of_spin(screen.state, FRONT, REAR))


@pytest.mark.parametrize("run", [["6.1", "", "5.0", "169"], ["", "203", "5.0", "169"], ["6.1", "203", "", ""]])
def test_a_figure_that_is_missing_is_named(screen, run):
    screen.builds()
    with pytest.raises(BadInput, match=r"run 1, (front|rear): amount or angle is missing"):
        screen.sends("spin", runs=[run], unit="g")


def test_known_masses_are_read_back_with_both_angles_and_what_is_far_from_what_was_asked_for_is_refused(screen):
    screen.builds()
    screen.spins(FRONT, REAR)
    done = screen.sends("prove", **of_masses(screen.state, "144.0@30.3", "103.4@122.1"))
    assert "front 150 g at station 30°, crank 30°, radius 100 mm" in done.question.ask
    assert "rear 103.4 g at 122.1° = crank 122.1°" in done.question.ask
    fields = of_masses(screen.state, "144.0@30.3", "103.4@122.1")
    with pytest.raises(BadInput, match="what the known mass weighs: missing"):
        screen.sends("prove", **{**fields, "front": {"grams": "", "at": "30"}})
    with pytest.raises(BadInput, match="known masses"):
        screen.sends("prove", **{**fields, "front": {"grams": "15", "at": "30"}})


def test_nobody_signs_by_his_devices_initials_and_nobody_with_an_open_reason(proved, job):
    while proved.state.stage == "hole":
        proved.drills()
    with pytest.raises(BadInput, match="not signed: 2 holes done since the last spin: spin again"):
        proved.sends("sign", by="CD")
    proved.spins("0.3@20", "0.3@230")
    for nobody in ("", "  ", "INITIALS"):
        with pytest.raises(BadInput, match="--by: "):
            proved.sends("sign", by=nobody)
    assert "sign" not in actions(job)


@pytest.mark.parametrize(
    "post",
    [
        Post(str(uuid.uuid4()), "drill", "{}"),
        Post(str(uuid.uuid4()), "yes", of="{}"),
        Post(str(uuid.uuid4()), "yes", of="["),
        Post(
            str(uuid.uuid4()),
            "yes",
            of='{"id": 3, "action": "spin", "typed": "", "stamp": "", "head": 0, "sure": false}',
        ),
        Post(
            str(uuid.uuid4()),
            "yes",
            of=json.dumps({"id": "x", "action": "sign", "typed": "{}", "stamp": "", "head": 0}),
        ),
    ],
)
def test_what_no_page_of_ours_sends_does_nothing(screen, job, post):
    assert screen.desk.do(post, AB).said == "this is no request of the floor's own pages"
    assert actions(job) == []


@pytest.mark.parametrize("typed", ["[]", "{", '"spin"'])
def test_fields_that_are_none_are_refused(screen, typed):
    with pytest.raises(BadInput, match="no request"):
        screen.desk.do(Post(str(uuid.uuid4()), "spin", typed), AB)


def test_the_stamp_is_another_once_the_profile_is(screen, job):
    before = screen.desk.stamp()
    assert screen.desk.stamp() == before
    profile = job.with_name("station.toml")
    profile.write_text(profile.read_text() + "\n# edited\n")
    assert screen.desk.stamp() != before


ROLES = {"station": True, "owner": True, "bench": False, "builder": False, "viewer": False}


@pytest.mark.parametrize(("role", "may"), ROLES.items())
def test_who_may_record_at_the_station_and_who_may_only_look(job, tmp_path, role, may):
    Screen(job).builds()
    paired = Paired(Devices(tmp_path / "devices.json"), "http://shop.local:8737")
    with served(job.parent, paired=paired) as floor:
        device = floor.paired(paired.codes.new(role), "CD")
        page = device.get("/station/my")[2]
        assert "Type what the display shows" in page
        buttons = re.findall(r'<button[^>]*data-pad="[^>]*>', page.partition("<main")[2].partition("</main>")[0])
        assert any(" disabled" not in one for one in buttons) is may
        screen = Screen(job)
        post = screen.post("spin", **of_spin(screen.state, FRONT, REAR))
        status, _, answer = device.post("/station/my/do", post._asdict())
        assert status == (200 if may else 403)
        if not may:
            assert (
                json.loads(answer)["said"]
                == f"this device is here as {role}: it may look, not spin, drill or sign"
            )
            return
        of = json.loads(answer)["question"]["of"]
        again = {**post._asdict(), "action": "yes", "of": of}
        assert [json.loads(device.post("/station/my/do", again)[2])["ok"] for _ in range(2)] == [True, True]
    assert [one.by for one in open_log(job).records if one.action == "spin"] == ["CD"]
