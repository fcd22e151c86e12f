"""The station's records as text, and back."""

from __future__ import annotations

from dataclasses import replace

import kept
import pytest
from station_shop import proved, refused, struck

from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput
from truethrow.balance.crank.holes import Hole
from truethrow.balance.job.job import load as load_job
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Struck
from truethrow.balance.station import stationlog


def test_what_was_typed_is_shown_as_it_was_typed(run, job):
    """What was in force with it is in the log, for the tool alone."""
    state = proved(run, "12.4@220", "8.1@40", status=1)
    assert state["spins"][0]["typed"] == "12.4@220 8.1@40 in g at 100 mm"
    assert "basis" not in run("spins", status=1, as_json=False)
    read_by = ReadingLog(log_path(job)).records[0].read_by
    assert read_by._replace(basis="") == kept.READ_BY._replace(basis="")
    assert len(read_by.basis) == 8


def test_decimals_stay_as_they_were_typed(run, job):
    assert (
        proved(run, "12.40@220", "8.1@40.0", status=1)["spins"][0]["typed"] == "12.40@220 8.1@40.0 in g at 100 mm"
    )


def test_a_hole_comes_back_from_the_log():
    hole = Hole("1 front: rim", "slug", 137.25, 79.0, -22.5, 16.0, 16.0, -2325.123457, -29.431, 180.0, 0.0)
    record = stationlog.kept_hole(hole, "s-1", "p1", 3)
    assert stationlog.hole_of(record) == hole
    assert (record.spin, record.plan, record.step) == ("s-1", "p1", 3)
    with pytest.raises(ValueError, match="no hole"):
        stationlog.hole_of(replace(record, kind="bored"))


def test_the_readings_are_not_disturbed(run, job):
    before = load_job(job)
    proved(run, "12@182", "0.1@4", status=1)
    run("holes", "--done")
    run("spin", "0.2@2", "0.1@4")
    run("sign", "--by", "AB")
    after = load_job(job)
    assert (after.digest, after.parts, after.traded, after.notes) == (
        before.digest,
        before.parts,
        before.traded,
        (),
    )


def test_what_another_hand_wrote_is_told(run, job):
    log = ReadingLog(log_path(job))
    record = log.append(kept.spun("t1", "12@2", "3@4", read_by=kept.READ_BY._replace(unit="stone")))
    log.append(kept.drilled("s", kind="bored"))
    found = refused(run, "spins")
    assert len(found) == 2
    assert found[0].startswith(f"spin, record {record.id}: 'stone' is no unit of a station; cancel it")
    struck(job, "spin")
    struck(job, "hole")
    assert run("spins", status=1)["spins"] == []


def test_spins_from_the_one_that_was_wrong_on_are_read_anew_and_test_masses_are_not():
    """Of two edits the later one counts where both are about a spin; a strike takes one back."""
    zero, back = (kept.READ_BY._replace(zero_deg=at, revision=str(at)) for at in (40.0, 90.0))
    log = [
        kept.spun("t1", "12@2", "3@4", id="a"),
        kept.spun("t1", "12@2", "3@4", id="b"),
        kept.hung("b", "50@30", "3@4"),
        kept.edited(zero, wrong_since="b", id="c"),
        kept.spun("t1", "12@2", "3@4", read_by=zero, id="d"),
        kept.edited(kept.READ_BY, was=zero, id="e"),
        kept.spun("t1", "12@2", "3@4", id="f"),
    ]

    def zeros(records):
        found = (e for e in stationlog.events(records) if not isinstance(e, stationlog.Edit))
        return [event.basis.instrument.zero_deg for event in found]

    assert zeros(log) == [0.0, 40.0, 0.0, 40.0, 0.0]
    assert zeros([*log, kept.edited(back, wrong_since="d", id="g")]) == [0.0, 40.0, 0.0, 90.0, 90.0]
    assert zeros([*log, kept.edited(back, wrong_since="a", id="g")]) == [90.0, 90.0, 0.0, 90.0, 90.0]
    assert zeros([*log, Struck("c")]) == [0.0, 0.0, 0.0, 40.0, 0.0]
    assert zeros([*log, Struck("b")]) == [0.0, 0.0, 40.0, 0.0]


def test_a_profile_that_had_been_wrong_was_edited():
    with pytest.raises(BadInput) as caught:
        stationlog.events([kept.edited(kept.READ_BY, wrong_since="s", id="a")])
    assert "an edit needs what it changed; cancel it" in str(caught.value)


def test_a_station_that_was_set_itself_needs_no_edit():
    """Its cables, its plane distances: nothing of that is in the profile."""
    (edit,) = stationlog.events([kept.edited(kept.READ_BY, id="a")])
    assert not edit.is_mend


def test_what_was_canceled_since_the_last_spin_is_told_until_the_next():
    first, second, hole = kept.spun("t", "1@2", "3@4", id="s-1"), kept.spun("t", "9@2", "3@4", id="s-2"), "h-1"
    drilled = replace(kept.drilled("s-1"), id=hole)
    log = [first, drilled, second, Struck("s-2", id="x-1"), Struck(hole, id="x-2")]
    assert stationlog.canceled(log[:3]) == ()
    assert stationlog.canceled(log) == ("a spin", "a hole")
    assert stationlog.canceled([*log, kept.spun("t", "1@2", "3@4", id="s-3")]) == ()
    assert stationlog.canceled([*log, kept.spun("t", "1@2", "3@4", turned="s-1", id="s-4")]) != ()
