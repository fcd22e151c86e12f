"""What stands against signing a crank off, and when a signature holds no more."""

from __future__ import annotations

import re

import pytest
from station_shop import Machine, mass, polar, proved, refused, struck

from truethrow.balance.correction import TwoPlanes


def test_what_the_station_cannot_see_is_too_close_to_call(run, job):
    """The limit is 130.5 g·mm, the station is sure to 30 g·mm and 2 %."""
    state = proved(run, "1.2@37", "0.2@210", status=1)
    assert state["residual"]["front"]["verdict"] == "too close to call"
    assert refused(run, "sign", "--by", "AB") == [
        "not signed: front plane as spun: 120 ± 30 g·mm at 37° of the crank, too close to call; "
        "tolerance 130.5 g·mm",
        f"next: truethrow spin {job} --station {job.with_name('station.toml')} FRONT REAR FRONT REAR FRONT REAR",
    ]


def test_what_keeps_it_from_being_signed(run, job):
    assert refused(run, "sign", "--by", "AB") == ["not signed: there is no spin yet"]
    assert refused(run, "sign") == ["--by: blank; allowed: the initials of who signs"]
    proved(run, "12@182", "0.1@4", status=1)
    run("holes", "--done")
    assert refused(run, "sign", "--by", "AB")[0].endswith("done since the last spin: spin again")
    run("spin", "0.2@2", "0.1@4")
    job.write_text(job.read_text().replace("538.4", "538.5", 1))
    assert refused(run, "sign", "--by", "AB") == [
        "not signed: the job is not as it was at the last spin: hang its bobweights and spin again",
        f"next: truethrow spin {job} --station {job.with_name('station.toml')} FRONT REAR",
    ]
    run("spin", "0.2@2", "0.1@4")
    run("sign", "--by", "AB")
    assert "signed already by AB" in refused(run, "sign", "--by", "CD")[0]


def test_a_sign_off_holds_until_something_is_done(run, job):
    proved(run, "0.2@2", "0.1@4", status=0)
    assert run("sign", "--by", "AB")["signed"]
    struck(job, "spin")
    assert run("spins", status=1)["signed"] is None
    proved(run, "0.2@2", "0.1@4", status=0)
    run("sign", "--by", "AB")
    run("spin", "0.3@2", "0.1@4")
    assert run("spins")["signed"] is None
    run("sign", "--by", "AB")
    struck(job, "sign")
    assert run("spins")["signed"] is None


@pytest.mark.parametrize("change", ["job", "grade", "mass"])
def test_what_was_signed_for_another_state_holds_no_more(run, job, change):
    machine = Machine(8, job, noise_gmm=0.0)
    machine.hidden = TwoPlanes(polar(30, 60), polar(20, 130))
    run("spin", *machine.spin(), status=1)
    assert run("test-mass", *mass(machine, "front", 30))["agrees"]
    assert run("sign", "--by", "AB")["inside"]
    if change == "job":
        job.write_text(job.read_text().replace("538.4", "538.5", 1))
    elif change == "grade":
        job.write_text(job.read_text().replace("grade = 6.3", "grade = 1.6"))
    else:
        machine.instrument = machine.instrument._replace(zero_deg=40.0)
        run("test-mass", *mass(machine, "front", 60), status=1)
    state = run("spins", status=1)
    assert (state["inside"], state["signed"], state["signed_before"]["by"]) == (False, None, "AB")
    said = run("spins", status=1, as_json=False)
    assert re.search(r"AB signed it, \S+ \S+ UTC, record ", said)
    assert "Signed by" not in said
    assert "Both planes are inside: truethrow sign" not in said
    assert not any("signed already" in line for line in refused(run, "sign", "--by", "CD"))
