"""Two rods side by side, and the job names the wrong bank as the one in front: what its rods make of the planes is
turned half round, and all else is as it was. Screens and cards say which bank it took, so that a look at the
engine finds it out."""

from __future__ import annotations

import cmath
import json
import math

import invented
import pytest
from commands import run

PARTS = invented.cylinders(piston={1: 548.4, 2: 536.4, 5: 541.0}, big_end={3: 458.3, 8: 449.0})


def job(folder, in_front, apart="24 mm"):
    path = folder / f"{in_front}.toml"
    beside = {"rods_apart": apart, "rod_in_front": in_front} if in_front != "none" else {}
    station = {"limit": 130.5}
    path.write_text(
        invented.text(invented.document(PARTS, engine=invented.V8 | beside, station=station)), encoding="utf-8"
    )
    return path


def told(path):
    return json.loads(run("hang", path, "--json").out)


def vector(plane):
    return cmath.rect(plane["unbalance_gmm"], math.radians(plane["crank_angle_deg"]))


@pytest.fixture
def told_of(tmp_path):
    return {bank: told(job(tmp_path, bank))["bobweights"] for bank in ("left", "right", "none")}


def test_what_the_rods_make_is_turned_half_round_and_nothing_else_is(told_of):
    left, right, none = told_of["left"], told_of["right"], told_of["none"]
    assert left["throws"] == right["throws"] == none["throws"]
    assert left["cylinders"] == right["cylinders"] == none["cylinders"]
    assert vector(left["cost"]["static"]) == pytest.approx(vector(none["cost"]["static"]), abs=1e-4)
    for plane in ("front", "rear"):
        own, other, middle = (vector(one["cost"][plane]) for one in (left, right, none))
        assert abs(own - middle) > 1.0
        assert own - middle == pytest.approx(middle - other, abs=1e-4)
    assert left["rods"]["front_unbalance_gmm"] == pytest.approx(right["rods"]["front_unbalance_gmm"])
    apart_deg = abs(left["rods"]["front_crank_angle_deg"] - right["rods"]["front_crank_angle_deg"])
    assert apart_deg == pytest.approx(180, abs=1e-3)
    assert none["rods"] is None


def test_screens_and_cards_say_which_bank_was_taken(tmp_path):
    for bank in ("left", "right"):
        path = job(tmp_path, bank, "0.945 in")
        said = f"Rods side by side, 24.003 mm apart; in front: the rods of bank {bank}."
        assert said in run("hang", path).out
        assert said in run("shake", path).out
        status, _, err = run("cards", path, "--into", tmp_path / bank)
        assert status in (0, 1), err
        # A figure and its unit are held together there by a blank that does not break.
        bobweight, report = (
            (tmp_path / bank / f"{kind}.html").read_text(encoding="utf-8").replace("\N{NO-BREAK SPACE}", " ")
            for kind in ("bobweight", "report")
        )
        assert said in bobweight
        assert f"the rods of bank {bank}" in report


def test_a_card_of_the_wrong_bank_is_an_old_card_once_the_job_is_mended(tmp_path):
    digests = {told(job(tmp_path, bank))["job"]["digest"] for bank in ("left", "right")}
    assert len(digests) == 2


def test_one_key_alone_is_asked_for_the_other(tmp_path):
    path = job(tmp_path, "left")
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('rod_in_front = "left"\n', ""), encoding="utf-8")
    status, out, err = run("hang", path)
    assert (status, out) == (2, "")
    assert "engine, rod_in_front: missing; allowed: the bank whose rod is nearer the front: left, right" in err


def test_a_twin_is_told_that_its_couple_stays_whatever_is_hung(tmp_path):
    """A 90-degree twin at a share of one half: the forces are balanced, and without this nothing would say that it
    still rocks."""
    twin = invented.V8 | {"layout": "vtwin-90", "rods_apart": 24.0, "rod_in_front": "left"}
    path = tmp_path / "twin.toml"
    path.write_text(invented.text(invented.document(invented.cylinders(2), engine=twin)), encoding="utf-8")
    said = (
        "in front: the rods of bank left. With like parts, too, they leave a couple that turns against the crank"
    )
    for command in ("hang", "shake", "share"):
        assert said in run(command, path).out, command
    assert said in json.loads(run("share", path, "--json").out)["rods"]
    assert json.loads(run("share", "vtwin-90", "--json").out)["rods"] is None
