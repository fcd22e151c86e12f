"""What each act of the station's page takes, and what it refuses, beside what the page's own story has."""

from __future__ import annotations

import pytest
from station_page import AB, actions, of_masses, of_spin
from station_shop import added

from truethrow.balance.base.errors import BadInput
from truethrow.balance.crank.as_said import holes_said
from truethrow.balance.log.place import Snapshot, open_log
from truethrow.balance.station.stationlog import rounded
from truethrow.cli.floor.station_acts import ACTS
from truethrow.cli.floor.station_state import look
from truethrow.worksheets.words import station_screen_words as words

FRONT, REAR = "6.1@203", "5.0@169"


def asked(job, action, **fields):
    return ACTS[action].ask(look(Snapshot(job)), fields, AB)


def test_several_runs_are_read_back_one_by_one(job, screen):
    said = asked(job, "spin", **of_spin(screen.state, FRONT, REAR, "6.0@204", "5.1@169"))
    assert said.splitlines()[0] == "Spin 1 (2 runs), as the display shows it:"
    assert len(said.splitlines()) == 5


def test_a_display_that_counts_against_the_rotation_is_read_back_at_the_crank(job, screen):
    profile = job.with_name("station.toml")
    profile.write_text(
        profile.read_text().replace('sense = "with"', 'sense = "against"').replace("zero = 0.0", "zero = 30.0")
    )
    said = asked(job, "spin", **of_spin(screen.state, FRONT, REAR))
    assert "front 6.1 g at 203° = crank 187°" in said  # 30 - 203 = -173


def test_turned_runs_belong_to_the_spin_before_them(job, screen):
    screen.spins(FRONT, REAR)
    fields = of_spin(screen.state, "6.0@204", "5.1@169")
    assert asked(job, "spin", **fields, turned=True).startswith("Turned runs of spin 1 (one run)")
    screen.does("spin", **fields, turned=True)
    first, last = [one for one in open_log(job).records if one.action == "spin"]
    assert last.turned == first.id


def test_known_masses_that_do_not_agree_are_recorded_with_a_warning(job, screen):
    screen.spins(FRONT, REAR)
    wrong = screen.proves(added(FRONT, -150, 30), added(REAR, -100, 120))
    assert (wrong.ok, wrong.is_warning) == (True, True)
    assert wrong.said.startswith(words.MASSES_DISAGREE)


def test_known_masses_that_agree_are_recorded_without_one(job, screen):
    screen.spins(FRONT, REAR)
    right = screen.proves(added(FRONT, 150, 30), added(REAR, 100, 120))
    assert (right.ok, right.is_warning, right.said) == (True, False, words.MASSES_AGREE)


@pytest.mark.parametrize("turn", [1, -1], ids=["that agree", "that do not agree"])
def test_known_masses_that_are_sent_again_are_told_as_recorded_before_and_what_is_wrong_with_them(
    job, screen, turn
):
    screen.spins(FRONT, REAR)
    read = added(FRONT, 150 * turn, 30), added(REAR, 100 * turn, 120)
    asked = screen.sends("prove", **of_masses(screen.state, *read))
    first, head = screen.yes(asked), len(open_log(job).records)
    again = screen.yes(asked)
    assert (again.ok, again.is_warning, len(open_log(job).records)) == (True, True, head)
    assert again.said.startswith("saved before: ")
    assert again.said.splitlines()[1:] == first.said.splitlines()[1:]


def test_one_known_mass_alone_is_taken_where_two_did_not_agree(job, screen):
    screen.spins(FRONT, REAR)
    screen.proves(added(FRONT, -150, 30), added(REAR, -100, 120))
    (mass,) = screen.state.masses
    fields = of_masses(screen.state, added(FRONT, float(mass.grams), float(mass.at_deg)), REAR)
    assert asked(job, "prove", **fields).count("radius") == 1
    screen.does("prove", **fields)
    assert [one.action for one in open_log(job).records].count("test") == 2


@pytest.mark.parametrize("at", ["", "front", "1e999"])
def test_an_angle_that_is_none_is_refused(job, screen, at):
    screen.spins(FRONT, REAR)
    fields = of_masses(screen.state, FRONT, REAR)
    with pytest.raises(BadInput):
        asked(job, "prove", **{**fields, "front": {"grams": "150", "at": at}})
    del fields["rear"]
    with pytest.raises(BadInput):
        asked(job, "prove", **{**fields, "front": {"grams": "150", "at": at}})


@pytest.mark.parametrize("number", ["1", None, True, 1.5])
def test_a_hole_without_a_number_is_no_request_of_ours(job, screen, number):
    with pytest.raises(BadInput, match="no request"):
        asked(job, "hole", number=number, plan="")


@pytest.mark.parametrize("runs", [None, "6.1", [["6.1"]] * 13])
def test_runs_that_are_none_are_no_request_of_ours(job, screen, runs):
    with pytest.raises(BadInput, match="no request"):
        asked(job, "spin", runs=runs, unit="g")


def test_members_of_the_crank_that_were_on_are_read_back(job, screen):
    fields = of_spin(screen.state, FRONT, REAR)
    assert asked(job, "spin", **fields, on=[]).endswith("Nothing else is on the crank.")
    assert asked(job, "spin", **fields, on=["damper"]).endswith("On the crank: damper.")
    with pytest.raises(BadInput, match="is not in the"):
        ACTS["spin"].record(look(Snapshot(job, in_memory=True)), {**fields, "on": ["damper"]}, AB, "id", False)


AT = {"member": "2a", "angle": "217,5", "whose": "crank"}
# What the form sends of each kind, and the same in the words of the command.
KINDS = {
    "rim": ({"tool": "12 mm drill", "deep": "6"}, "2a, 217.5 deg crank, 12 mm drill, 6 mm deep"),
    "bore": (
        {"tool": "12 mm drill", "deep": "10", "own_radius": "70", "face": "front"},
        "2a, 217.5 deg crank, 12 mm drill, 10 mm deep, along the crank, 70 mm radius, from the front",
    ),
    "slug": (
        {"wide": "16", "long": "16", "own_radius": "70", "took": "55.2", "face": "rear"},
        "2a, 217.5 deg crank, 16 mm slug, 16 mm long, 70 mm radius, 55.2 g, from the rear",
    ),
    "arc": ({"arc": "20", "deep": "1,5"}, "2a, 217.5 deg crank, ground 20 deg wide, 1.5 mm deep"),
    "took": ({"took": "4.2", "own_radius": "80"}, "2a, 217.5 deg crank, took 4.2 g, 80 mm radius"),
    "added": ({"took": "4.2", "own_radius": "80"}, "2a, 217.5 deg crank, added 4.2 g, 80 mm radius"),
}


@pytest.mark.parametrize("kind", KINDS)
def test_whatever_the_command_takes_can_be_said_in_the_form(job, screen, kind):
    screen.spins("6.1@203", "5.0@169")
    screen.proves(added("6.1@203", 150, 30), added("5.0@169", 100, 120))
    fields, said = KINDS[kind]
    before = actions(job).count("hole")
    screen.does("did", holes=[{"kind": kind, **AT, **fields}], before=0)
    state = look(Snapshot(job)).state
    assert actions(job).count("hole") == before + 1
    own, told_in = state.instrument.crank_deg, state.told_in
    [as_said] = holes_said(state.job.crank, [said], state.profile.tools.drills, own, told_in)
    assert state.since[-1].hole == rounded(as_said)


def test_a_form_that_is_not_filled_in_names_each_field(job, screen):
    screen.spins("6.1@203", "5.0@169")
    screen.proves(added("6.1@203", 150, 30), added("5.0@169", 100, 120))
    with pytest.raises(BadInput) as refused:
        screen.sends("did", holes=[{"kind": "slug", "whose": "crank"}], before=0)
    assert [fault.where for fault in refused.value.faults] == [
        *("which counterweight", "the angle", "how wide the slug is", "how long the slug is", "at which radius"),
        "what came off or went on",
    ]
    with pytest.raises(BadInput):
        screen.sends("did", holes=[{"kind": "patch", **AT}], before=0)
