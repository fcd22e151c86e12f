"""Where a job stands: what blocks it next, worked out of its text and its records."""

from __future__ import annotations

from dataclasses import replace

import books
import invented
import kept
import pytest

from truethrow.balance.book import state
from truethrow.balance.book.state import JobThen, state_of
from truethrow.balance.demo.story import told
from truethrow.balance.job.job import load
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Cut, Proposed, Struck, Traded, Weighed
from truethrow.balance.matching.proposing import accept, propose
from truethrow.balance.station import balancing, may_go


def stands(records=(), **tables):
    return state_of("launch-7", invented.text(invented.document(**tables)), records)


class Records(list):
    """Records as a log makes them."""

    def __init__(self, folder):
        self.log = ReadingLog(folder / "x.readings.jsonl", by="AB")

    def put(self, record):
        self.append(self.log.append(record))
        return self[-1]


@pytest.fixture
def records(tmp_path):
    return Records(tmp_path)


def digest_of(records=(), **tables):
    return load(JobThen("launch-7", invented.text(invented.document(**tables)), records)).digest


READ_BY = kept.READ_BY._replace(floor_gmm=20.0)


def spun(read_by=READ_BY):
    return kept.spun(digest_of(station=STATION), "0@0", "0.9@200", read_by=read_by)


def test_what_is_not_weighed_is_named_and_counted():
    parts = invented.cylinders(piston={3: ""}, pin={3: ""}, big_end={5: ""})
    assert stands(parts=parts)[:2] == (
        "weighing",
        "to be weighed: piston, pin of cylinder 3, big end of cylinder 5",
    )
    found = stands(parts=[])
    assert found.blocked == "to be weighed: all parts of cylinders 1-8"
    assert found.digest == ""


def test_what_is_wrong_with_a_job_stands_before_what_is_missing():
    parts = invented.cylinders(piston={3: ""})
    found = stands(parts=parts, bobweight={"share": 2})
    assert found[:2] == ("weighing", "bobweight, share: 2 is out of reach")
    assert state_of("launch-7", "[job", []).state == "weighing"


def test_what_was_cut_is_to_be_weighed_again_until_it_is(records):
    records.put(Cut(2, "piston", 1.0, "p0"))
    assert stands(records)[:2] == ("weighing", "to be weighed again: piston 2")
    records.put(Weighed(2, "piston", 538.4))
    assert stands(records)[:2] == ("station", "not spun yet")


def test_a_matching_is_asked_for_until_it_was_made_or_nobody_needs_it(records):
    match = {"aims": ["limits"]}
    assert stands(match=match)[:2] == ("matching", "[match] asks for a matching")
    waiting = records.put(Proposed({"piston": {1: 2, 2: 1}}, digest_of(match=match)))
    assert stands(records, match=match)[:2] == ("matching", f"proposal {waiting.id} waits to be accepted")
    records.put(Struck(waiting.id))
    assert stands(records, match=match).state == "matching"
    dead = records.put(Proposed({"piston": {1: 2, 2: 1}}, "another state of the job"))
    told = f"the job has changed since proposal {dead.id}: match again"
    assert stands(records, match=match)[:2] == ("matching", told)
    assert stands(records).state == "station"
    records.put(Traded({"piston": {1: 2, 2: 1}}, dead.id))
    assert stands(records, match=match).state == "station"


def test_an_accepted_proposal_blocks_nothing(tmp_path):
    path = books.job_file(tmp_path, parts=invented.cylinders(piston={1: [540.0, 540.1]}))
    propose(path, load(path), {"piston": {1: 2, 2: 1}}, "heavy one back")
    log = ReadingLog(path.with_suffix(".readings.jsonl"))
    assert state_of("launch-7", path.read_text(), log.records).state == "matching"
    accept(path)
    log.refresh()
    assert state_of("launch-7", path.read_text(), log.records).state == "station"


def test_what_is_outside_its_limit_is_to_be_trimmed():
    once = invented.cylinders(piston={1: 540.0}, pin={2: 112.9})
    assert stands(parts=once, limits={"piston": 1.0, "pin": 0.5}).state == "weighing", "no cut after a slip"
    parts = invented.cylinders(piston={1: [540.0, 540.0]}, pin={2: [112.9, 112.9]})
    found = stands(parts=parts, limits={"piston": 1.0, "pin": 0.5})
    assert found[:2] == ("trimming", "piston spread 1.6 g is outside 1 g (and 1 more)")
    assert found.digest
    assert stands(parts=parts, limits={"piston": 2.0, "pin": 1.0}).state == "station"


def test_readings_that_cannot_be_right_are_to_be_looked_at_again(records):
    records.put(Weighed(4, "pin", 112.0))
    assert stands(records).state == "station"
    records.put(Weighed(4, "pin", 113.9))
    both = "cylinder 4 pin (outlier, 0.85 g), cylinder 4 pin (repeats, 1.9 g)"
    assert stands(records)[:2] == ("weighing", f"to be looked at again: {both}")
    swapped = invented.cylinders(big_end={2: 171.2}, small_end={2: 452.3})
    assert "cylinder 2 big end (swapped ends" in stands(parts=swapped).blocked


def test_a_part_far_from_its_sisters_is_believed_once_it_was_weighed_again():
    for readings, state_is in ((540.0, "weighing"), ([540.0, 540.1], "station")):
        assert stands(parts=invented.cylinders(piston={1: readings})).state == state_is
    ounces = invented.cylinders(piston={1: [18.99, 18.99]})
    assert stands(parts=ounces, limits={"piston": 1.0}).state == "weighing"


STATION = {"limit": 130.0}


NO_LONGER = "AB signed it, and that no longer holds: "


def test_the_station_is_done_once_it_is_signed_and_as_long_as_that_holds(records):
    assert stands(records)[:2] == ("station", "not spun yet")
    spin = records.put(spun())
    unproved = "no test mass has agreed with the station's profile as it is now"
    assert stands(records, station=STATION)[:2] == ("station", unproved)
    mass = records.put(kept.hung(spin.id, "50@30", "0.9@200", angle_deg=30.0, read_by=READ_BY))
    assert stands(records, station=STATION)[:2] == ("station", "not signed off")
    hole = records.put(replace(kept.drilled(spin.id), removes_gmm=10.0, mass_g=0.3))
    assert stands(records, station=STATION)[:2] == ("station", "1 hole done since the last spin: spin again")
    second = records.put(spun())
    records.put(kept.signed(spin.id, second.id, holes=(hole.id,), proof=mass.id, read_by=READ_BY))
    assert stands(records, station=STATION)[:2] == ("signed", "")
    changed = stands(records, station=STATION, bobweight={"share": 0.51, "oil": 4.0})
    assert changed[:2] == (
        "station",
        f"{NO_LONGER}the job is not as it was at the last spin: hang its bobweights and spin again",
    )
    records.put(Struck(hole.id))
    state, blocked, *_ = stands(records, station=STATION)
    assert state == "station"
    assert blocked.startswith(f"{NO_LONGER}a hole that it rests on was canceled, ")
    assert blocked.endswith("; a hole was canceled since spin 2: spin again before signing")


def test_a_spin_under_another_profile_ends_what_was_signed(records):
    """The unit of the profile was wrong: what was signed by it is signed no more, and nothing is proved yet."""
    spin = records.put(spun())
    mass = records.put(kept.hung(spin.id, "50@30", "0.9@200", angle_deg=30.0, read_by=READ_BY))
    records.put(kept.signed(spin.id, proof=mass.id, read_by=READ_BY))
    assert stands(records, station=STATION).state == "signed"
    records.put(spun(READ_BY._replace(unit="g·in", radius_mm=None)))
    state, blocked, *_ = stands(records, station=STATION)
    assert state == "station"
    assert blocked.startswith(f"{NO_LONGER}spin 2 came after it, ")
    assert blocked.endswith("; no test mass has agreed with the station's profile as it is now")


def test_a_spin_read_in_no_unit_of_a_station_signs_nothing(records):
    spin = records.put(spun(READ_BY._replace(unit="stone")))
    found = stands(records, station=STATION)
    assert found.blocked.startswith(f"spin, record {spin.id}: 'stone' is no unit of a station")


@pytest.mark.parametrize(
    ("limit", "told"),
    [
        (130.0, ""),
        (500.0, ""),
        (100.0, "rear plane as spun: 90 ± 20 g·mm at 200° of the crank, too close to call; tolerance 100 g·mm"),
        (60.0, "rear plane as spun: 90 ± 20 g·mm at 200° of the crank, outside; tolerance 60 g·mm"),
        (None, "station: has no tolerance"),
    ],
)
def test_a_sign_off_holds_only_as_long_as_what_stays_is_inside_tolerance(records, limit, told):
    """The tolerance is no part of the digest: another limit asks for no spin, but what was read is looked at."""
    table = {} if limit is None else {"limit": limit}
    spin = records.put(spun())
    mass = records.put(kept.hung(spin.id, "50@30", "0.9@200", angle_deg=30.0, read_by=READ_BY))
    records.put(kept.signed(spin.id, proof=mass.id, read_by=READ_BY))
    found = stands(records, station=table)
    assert found.state == ("station" if told else "signed")
    assert found.blocked == (f"{NO_LONGER}{told}" if told and limit else told)


def test_what_the_station_signs_is_what_the_state_reads(tmp_path):
    """The demo's crank, signed off as told, then another grade: the book and spins say the same of it."""
    *_, (_, job, station) = told(tmp_path)
    text, log = job.read_text(), ReadingLog(job.with_suffix(".readings.jsonl"))
    assert state_of("launch-7", text, log.records)[:2] == ("signed", "")
    assert may_go.holds(balancing.load(job, station))
    finer = text.replace("grade = 6.3", "grade = 0.4")
    assert finer != text
    job.write_text(finer)
    assert not may_go.holds(balancing.load(job, station))
    found = state_of("launch-7", finer, log.records)
    assert found.state == "station"
    state = balancing.load(job, station)
    assert found.blocked == NO_LONGER + may_go.against(state)[0].said(state.told_in)


def test_every_state_is_one_of_those_that_can_be_asked_for(records):
    from truethrow.balance.book.schema import STATES

    assert stands(records).state in STATES
    assert set(STATES) == {line.split()[0] for line in state.__doc__.splitlines()[2:]}


def test_an_edit_of_the_profile_leaves_signed_what_was_signed_unless_it_had_been_wrong(records):
    """The list and the card have one rule: the station changed today says nothing of what was signed before."""
    spin = records.put(spun())
    mass = records.put(kept.hung(spin.id, "50@30", "0.9@200", angle_deg=30.0, read_by=READ_BY))
    records.put(kept.signed(spin.id, proof=mass.id, read_by=READ_BY))
    later = READ_BY._replace(zero_deg=40.0, revision="x")
    records.put(kept.edited(later, was=READ_BY))
    assert stands(records, station=STATION).state == "signed"
    wrong = records.put(kept.edited(later._replace(unit="oz", revision="y"), was=later, wrong_since=spin.id))
    why = f"{NO_LONGER}the profile that it was signed by had been wrong (unit g → oz), says AB, record {wrong.id}"
    assert stands(records, station=STATION)[:2] == ("station", why)
    records.put(Struck(wrong.id))
    assert stands(records, station=STATION).state == "signed"
