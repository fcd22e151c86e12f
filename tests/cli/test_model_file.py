"""Answers written as models: which file, what is said of it, and what is refused before anything is written."""

from __future__ import annotations

import json

import invented
import pytest
import solved_again
from scattered_jobs import scattered
from station_shop import job, proved, refused
from station_shop import run as at_station
from typer.testing import CliRunner

from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.cli.main import app

__all__ = ["at_station", "job"]
TIME_ENOUGH = ("--seconds", "3600")
INSIDE = {"bobweight": 60.0}


@pytest.fixture
def shop(tmp_path):
    """A job of which every aim but the residual has a model, in its folder."""
    path = tmp_path / "launch.toml"
    aims = {"aims": ["limits", "grams", "bobweight", "residual"], "move": ["piston", "pin"]}
    path.write_text(invented.text(invented.document(scattered(labelled=True), limits=INSIDE, match=aims)))
    return path


def command(*words):
    done = CliRunner().invoke(app, [*map(str, words)])
    if done.exception and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done


def test_a_match_writes_the_last_aim_and_those_before_it_beside(shop):
    out = shop.with_name("m.opb")
    said = command("match", shop, *TIME_ENOUGH, "--model", out).stdout
    assert f"Written: {out} (bobweight)" in said
    assert f"Written: {shop.with_name('m.limits.opb')} (limits)" in said
    assert (
        "- No model of residual: lengths of vectors are no whole numbers, which OPB has alone: name it .lp."
        in said
    )
    for path in (out, shop.with_name("m.limits.opb")):
        assert solved_again.wrong(path.read_text()) == []
    assert "piston P3 (sits in 3) in cylinder" in out.read_text()


def test_machines_are_told_the_files(shop):
    out = shop.with_name("m.lp")
    data = json.loads(command("match", shop, *TIME_ENOUGH, "--model", out, "--json").stdout)
    assert data["models"][-1] == {"of": "residual", "file": str(out)}
    assert [one["of"] for one in data["models"]] == ["limits", "grams", "bobweight", "residual"]
    assert data["no_models"] == []
    value = next(aim["value"] for aim in data["aims"] if aim["aim"] == "bobweight")
    assert f"({value:g} g)" in solved_again.read(shop.with_name("m.bobweight.lp").read_text()).said(
        "objective of the answer"
    )


def test_machines_are_told_what_has_no_model_and_why(shop):
    out = shop.with_name("m.opb")
    data = json.loads(command("match", shop, *TIME_ENOUGH, "--model", out, "--json").stdout)
    none = {one["of"]: one["why"] for one in data["no_models"]}
    assert "no whole numbers" in none["residual"]
    assert none.keys() | {one["of"] for one in data["models"]} == {"limits", "grams", "bobweight", "residual"}


def test_aims_that_have_none_are_refused_in_one_line(tmp_path):
    path = tmp_path / "launch.toml"
    path.write_text(invented.text(invented.document(scattered(), match={"aims": ["residual"]})))
    with pytest.raises(BadInput) as caught:
        command("match", path, "--model", tmp_path / "m.opb")
    (said,) = str(caught.value).splitlines()
    assert "none of the job's aims has a model: residual: lengths of vectors are no whole numbers" in said
    assert not (tmp_path / "m.opb").exists()


@pytest.mark.parametrize("word", ["match", "trim"])
def test_a_file_that_is_no_model_is_never_written_over(shop, word):
    other = shop.with_name("notes.lp")
    other.write_text("what the customer said")
    with pytest.raises(NotSaved, match="is no model and is not written over"):
        command(word, shop, "--model", other)
    assert other.read_text() == "what the customer said"
    beside = shop.with_name("m.limits.lp" if word == "match" else "m.over.lp")
    beside.write_text("also mine")
    with pytest.raises(NotSaved):
        command(word, shop, "--model", shop.with_name("m.lp"))
    assert not shop.with_name("m.lp").exists()


def test_a_model_of_before_is_written_anew(shop):
    out = shop.with_name("t.lp")
    command("trim", shop, "--model", out)
    first = out.read_text()
    command("trim", shop, "--model", out)
    assert out.read_text() == first


def test_the_name_says_the_format(shop):
    with pytest.raises(BadInput, match=r"allowed: a name such as model\.lp"):
        command("trim", shop, "--model", shop.with_name("t.opb"))
    with pytest.raises(BadInput, match=r"model\.opb or model\.lp"):
        command("match", shop, "--model", shop.with_name("m.txt"))


def test_a_trim_that_is_held_back_has_none(launch):
    job, sheet = launch
    out = job.with_name("t.lp")
    with pytest.raises(BadInput, match="readings hold the trim back"):
        command("trim", job, "--sheet", sheet, "--model", out)
    assert not out.exists()


def test_a_job_of_which_nothing_can_be_cut_has_none(tmp_path):
    path = tmp_path / "bare.toml"
    none = {"big_end_pad": {"at": -48.0, "most": 0}, "small_end_pad": {"at": 182.0, "most": 0}}
    path.write_text(invented.text(invented.document(trim={"piston": 0.0, "pin": 0.0, **none})))
    with pytest.raises(BadInput, match="no pad gives anything"):
        command("trim", path, "--model", tmp_path / "t.lp")


def test_a_plan_of_holes_is_written(at_station, job):
    out = job.with_name("h.lp")
    proved(at_station, "12.4@220", "8.1@40", status=1)
    data = at_station("holes", "--model", out, status=1)
    assert data["models"] == [{"of": "holes", "file": str(out)}]
    own = solved_again.read(out.read_text())
    assert own.stated == len(data["plan"]["operations"])
    assert solved_again.wrong(out.read_text(), solved_again.NEAR) == []
    assert f"Written: {out} (holes)" in at_station("holes", "--model", out, status=1, as_json=False)
    assert "can't be combined" in refused(at_station, "holes", "--done", "--model", out)[0]


def test_nothing_to_drill_has_no_model(at_station, job):
    proved(at_station, "0.2@2", "0.1@4", status=0)
    assert refused(at_station, "holes", "--model", job.with_name("h.lp")) == ["--model: no hole is planned"]
