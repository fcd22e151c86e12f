"""Yesterday's man's initials are still in the settings. They sign no crank today and answer for nothing else: who
does it types his own. Where a record gets those that are set, the screen says whose they are and who says so."""

import json
import shlex

import commands
import pytest
from balancing_shop import Station, polar

SET = {"TRUETHROW_BY": "XY"}
RECORD = ("--why", "looked at it")


@pytest.fixture
def station(tmp_path):
    """A crank that may be signed: it is inside, and known masses agreed."""
    made = Station(tmp_path)
    made.crank = [polar(15, 40), polar(12, 250)]
    made.edit(unit="g·in")
    made.spin()
    made.hang()
    return made


def records(run, job):
    told = run("history", job, "--json")
    return json.loads(told.out)["records"]


def test_nobody_is_signed_for(station, tmp_path):
    run, job = commands.in_folder(tmp_path), station.job
    before = records(run, job)
    words = ("sign", job, "--station", station.profile)
    told = run(*words, **SET)
    assert (told.status, told.out) == (2, "")
    typed = shlex.join(map(str, words))
    assert told.err == (
        "--by: missing: XY, as TRUETHROW_BY says, is not taken for what somebody answers for; "
        f"say whose it is: truethrow {typed} --by INITIALS\n"
    )
    assert records(run, job) == before
    pasted = told.err.split("truethrow ")[1]
    assert "'INITIALS' is nobody" in run(*shlex.split(pasted), **SET).err, "it cannot be pasted without a look"
    signed = run(*shlex.split(pasted.replace("INITIALS", "CD")), **SET)
    assert signed.status == 0, signed
    assert [(one["action"], one["by"]) for one in records(run, job)[len(before) :]] == [("sign", "CD")]


@pytest.mark.parametrize(
    "words",
    [
        ("sign", "JOB", "--station", "STATION"),
        ("sign", "JOB", "--station", "STATION", "--unproved", *RECORD),
        ("holes", "JOB", "--station", "STATION", "--unproved", *RECORD),
        ("holes", "JOB", "--station", "STATION", "--unproved", "--done", *RECORD),
        ("holes", "JOB", "--station", "STATION", "--aim", "sum", *RECORD),
        ("holes", "JOB", "--station", "STATION", "--looked-at", "1", *RECORD),
        ("profile", "JOB", "--station", "STATION", "--changed-today", *RECORD),
        ("profile", "JOB", "--station", "STATION", "--wrong-since", "1", *RECORD),
        ("confirm", "JOB", "piston", "1", *RECORD),
        ("acknowledge", "JOB", "1", *RECORD),
        ("close", "JOB", *RECORD),
        ("reopen", "JOB", *RECORD),
        ("crank", "JOB", "C-1", *RECORD),
    ],
)
def test_who_answers_for_something_types_his_own(station, tmp_path, words):
    run, job = commands.in_folder(tmp_path), station.job
    before = records(run, job)
    own = {"JOB": str(job), "STATION": str(station.profile)}
    told = run(*(own.get(word, word) for word in words), **SET)
    assert (told.status, told.out) == (2, "")
    assert told.err.startswith("--by: missing: XY, as TRUETHROW_BY says, is not taken")
    assert (told.err.endswith(" --by INITIALS\n") and "looked at it" in told.err) or words[0] == "sign"
    assert records(run, job) == before


def test_where_they_are_taken_it_is_told_from_where(station, tmp_path):
    run, job = commands.in_folder(tmp_path), station.job
    kept = tmp_path / "kept" / "settings.toml"
    kept.parent.mkdir()
    kept.write_text('by = "XY"\n', encoding="utf-8")
    spin = ("spin", job, "--station", station.profile, "15@40", "12@250")
    told = run(*spin, TRUETHROW_SETTINGS=str(kept))
    assert told.err == f"Initials: XY, as {kept}, by says.\n"
    assert records(run, job)[-1]["by"] == "XY"
    told = run(*spin, "--by", "CD", TRUETHROW_SETTINGS=str(kept))
    assert (told.err, records(run, job)[-1]["by"]) == ("", "CD")
    assert run("holes", job, "--station", station.profile, TRUETHROW_SETTINGS=str(kept)).err == "", "it only looks"
