"""What a job says of itself: kept, told, and no figure's business."""

from __future__ import annotations

import json
import re

import invented
import pytest
from typer.testing import CliRunner

from truethrow.balance.base.errors import BadInput
from truethrow.balance.job.about import About
from truethrow.balance.job.job import load
from truethrow.balance.weighing import benchjob
from truethrow.cli.main import app

SAID = {
    "crank": "CX-118",
    "customer": "harbor order 12",
    "due": "2027-01-15",
    "who": "MK",
    "notes": "keep the old pins",
}


def run(*args):
    return CliRunner().invoke(app, [str(arg) for arg in args]).stdout


def written(tmp_path, name="job.toml", **about):
    path = tmp_path / name
    path.write_text(invented.text(invented.document(about=about or None)), encoding="utf-8")
    return path


def test_all_of_it_is_known_at_the_bench_too(tmp_path):
    path = written(tmp_path, **SAID)
    assert load(path).about == benchjob.load(path).about == About(**SAID)


def test_a_date_of_toml_is_a_date_as_well(tmp_path):
    path = written(tmp_path, **SAID)
    path.write_text(path.read_text().replace('"2027-01-15"', "2027-01-15"))
    assert load(path).about.due == "2027-01-15"


def test_no_figure_and_no_digest_depends_on_it(tmp_path):
    without, with_it = load(written(tmp_path)), load(written(tmp_path, "b.toml", **SAID))
    assert without.about == About()
    assert with_it == without
    assert with_it.digest == without.digest


# As TOML has them.
@pytest.mark.parametrize(
    "due", ['"2027-13-01"', '"20270115"', '"2027-W03-5"', '"15.1.2027"', "20270115", "2027-01-15T08:00:00"]
)
def test_what_is_no_date_is_a_fault_that_names_it(tmp_path, due):
    path = written(tmp_path, due="2027-01-15")
    path.write_text(path.read_text().replace('"2027-01-15"', due))
    with pytest.raises(BadInput, match=r"about, due: .*; allowed: a date such as 2027-01-15"):
        load(path)


def test_the_screen_and_the_data_tell_it(tmp_path):
    path = written(tmp_path, **SAID)
    head = run("check", path).splitlines()[:3]
    assert head[1:] == [
        "crank CX-118, for harbor order 12, due 2027-01-15, in the hands of MK",
        "keep the old pins",
    ]
    assert json.loads(run("check", path, "--json"))["job"]["about"] == SAID


def test_no_card_grows_old_by_it(tmp_path):
    path = written(tmp_path)
    run("cards", path, "--into", tmp_path / "cards", "--only", "bobweight")
    before = json.loads((tmp_path / "cards" / "figures.json").read_text())
    path.write_text(written(tmp_path, "b.toml", **SAID).read_text())
    run("cards", path, "--into", tmp_path / "cards", "--only", "bobweight")
    after = json.loads((tmp_path / "cards" / "figures.json").read_text())
    assert before["cards"]["bobweight"]["code"] == after["cards"]["bobweight"]["code"]
    page = re.sub("<[^>]*>", "", (tmp_path / "cards" / "bobweight.html").read_text())
    assert "crank CX-118" in page
