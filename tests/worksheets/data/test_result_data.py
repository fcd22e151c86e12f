"""The whole result as data: the figures of the result, and only the sections that were asked for."""

import json

import invented
import pytest
from invented import worked

from truethrow.worksheets.data import result_data

SECTIONS = ("bobweights", "spreads", "slips", "trim")
HEAVY = invented.cylinders(piston={3: [541.0] * 2})
TABLES = {"limits": {"piston": 1.0}, "trim": {"piston": 5.0}}


def test_it_is_plain_json_with_the_sections_that_were_asked_for():
    result = worked(HEAVY, **TABLES)
    data = result_data.as_data(result, SECTIONS)
    assert json.loads(json.dumps(data)) == data
    assert set(result_data.as_data(result, ("spreads",))) == {"job", "spreads", "to_settle", "outside"}
    assert data["outside"] is True


def test_its_figures_are_those_of_the_result():
    result = worked(HEAVY, **TABLES)
    data = result_data.as_data(result, SECTIONS)
    assert data["job"]["digest"] == result.job.digest
    assert data["job"]["displacement_cm3"] == round(result.facts.displacement_cm3, 3)
    piston = next(one for one in data["spreads"] if one["quantity"] == "piston")
    assert (piston["heaviest"], piston["spread_g"], piston["verdict"]) == ("3", 2.6, "outside")
    assert piston["cylinders_g"]["3"] == 541.0
    for throw, found in zip(data["bobweights"]["throws"], result.bobweights.throws, strict=True):
        assert throw["deviation_g"] == pytest.approx(throw["bobweight_g"] - throw["hang_g"])
        assert throw["bobweight_g"] == found.bobweight.value_g


def test_the_cuts_of_a_trim_add_up_and_each_is_named_as_the_plan_is():
    trim = result_data.trim(worked(HEAVY, **TABLES))
    assert trim["grams"] == pytest.approx(sum(cut["grams"] for part in trim["parts"] for cut in part["cuts"]))
    (part,) = trim["parts"]
    assert (part["cylinder"], part["name"], part["expect_g"]) == (3, "piston 3", {"piston": 539.2})
    assert part["sentence"].startswith("piston 3: take 1.8 g")
    assert trim["plan"]


def test_no_plan_has_no_name_and_nothing_outside_has_no_trim():
    held = worked(invented.cylinders(piston={3: 18.99}), **TABLES)
    assert result_data.trim(held)["plan"] is None
    assert result_data.as_data(held, SECTIONS)["look_again"]
    assert result_data.trim(worked(**TABLES)) is None


def test_a_slip_names_its_part_and_a_declared_bobweight_is_of_none():
    (slip,) = result_data.slips(worked(invented.cylinders(piston={3: 18.99})))
    assert (slip["check"], slip["name"], slip["suspicion"]) == ("outlier", "piston 3", "ounces read as grams")
    hung = result_data.slips(worked(bobweight={"hang": 186.5, "oil": 4.0}))
    assert hung
    assert all("name" not in slip for slip in hung)
