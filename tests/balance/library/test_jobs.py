"""A job from Python: as the commands have it, in a few lines."""

import doctest
import tomllib

import pint
import pytest

from truethrow.balance import demo
from truethrow.balance.base.errors import BadInput
from truethrow.balance.job import job as jobs_inside
from truethrow.balance.library import jobs
from truethrow.balance.result.work import work as work_inside

Q = pint.UnitRegistry().Quantity


@pytest.fixture
def launch(tmp_path):
    """The demo's job and its weigh sheet."""
    return demo.copy_into(tmp_path)


def test_the_examples():
    tried = doctest.testmod(jobs)
    assert (tried.failed, tried.attempted >= 15) == (0, True)


def test_a_path_a_text_and_a_mapping_are_one_job(launch):
    job, sheet = launch
    tables = tomllib.loads(job.read_text(encoding="utf-8"))
    digests = {
        jobs.load(job, sheet).digest,
        jobs.load(str(job), str(sheet)).digest,
        jobs.load(tables, sheet).digest,
        jobs_inside.load(job, sheet).digest,
    }
    assert len(digests) == 1


def test_a_mapping_stays_as_it_is():
    tables = jobs.example()
    jobs.load(tables)
    assert tables == jobs.example()


def test_pint_goes_where_a_mass_or_a_length_goes():
    tables = jobs.example()
    tables["engine"] |= {"stroke": Q(8, "cm"), "rod_length": Q(0.14, "m")}
    tables["every_cylinder"] |= {"piston": Q(0.3, "kg")}
    assert jobs.load(tables).digest == jobs.load(jobs.example()).digest


def test_a_mapping_has_the_same_faults_as_a_file(launch):
    tables = jobs.example()
    tables["engine"] |= {"stroke": Q(8, "g"), "rod_lenght": 140}
    tables["every_cylinder"]["piston"] = float("nan")
    with pytest.raises(BadInput) as caught:
        jobs.load(tables)
    assert {fault.where for fault in caught.value.faults} >= {
        "engine, stroke",
        "engine",
        "every_cylinder, piston",
    }


@pytest.mark.parametrize("wrong", [None, 7, ["launch.toml"], "no-such.toml", b"launch.toml"])
def test_what_is_no_job_is_told(wrong):
    with pytest.raises(BadInput):
        jobs.load(wrong)


@pytest.mark.parametrize("sheet", [7, b"weigh.csv", ["weigh.csv"], "weigh\0.csv", float("nan"), True])
def test_what_is_no_sheet_is_told(sheet):
    with pytest.raises(BadInput, match="allowed: the path of a weigh sheet"):
        jobs.load(jobs.example(), sheet)


@pytest.mark.parametrize("estimated", ["yes", 1, None, [True]])
def test_estimated_is_yes_or_no(estimated):
    with pytest.raises(BadInput, match="allowed: True or False"):
        jobs.load(jobs.example(), estimated=estimated)


def test_figures_are_those_inside(launch):
    mine, inside = jobs.work(jobs.load(*launch)), work_inside(jobs_inside.load(*launch))
    assert mine.bobweights.hung_g == inside.bobweights.hung_g
    assert [s.spread_g for s in mine.spreads] == [s.spread_g for s in inside.spreads]


def test_nothing_is_ground_by_a_reading_in_doubt(launch):
    with pytest.raises(BadInput, match="looks like a slip"):
        jobs.trim(jobs.work(jobs.load(*launch)))


def test_an_estimate_is_taken_only_when_asked_for_and_never_ground_by():
    tables = jobs.example() | {"estimate": {"piston": {"about": "300 g", "within": "5 g", "scatter": "0.5 g"}}}
    del tables["every_cylinder"]["piston"]
    with pytest.raises(BadInput, match="missing"):
        jobs.load(tables)
    result = jobs.work(jobs.load(tables, estimated=True))
    assert "estimates for piston" in repr(result)
    assert "hang" not in repr(result)
    for refused in (jobs.trim, jobs.match):
        with pytest.raises(BadInput, match="an estimate"):
            refused(result)


@pytest.mark.parametrize(
    "asked", [jobs.trim, jobs.match, jobs.shake, lambda of: jobs.sweep(of, [0.5]), jobs.share]
)
def test_a_job_that_was_not_worked_through_is_told(asked):
    with pytest.raises(BadInput):
        asked(jobs.load(jobs.example()))


@pytest.mark.parametrize("share", [-0.1, 1.1, float("nan"), "half", [0.5]])
def test_a_share_is_a_part(share):
    result = jobs.work(jobs.load(jobs.example()))
    with pytest.raises(BadInput, match="share"):
        jobs.work(result.job, share=share)
    with pytest.raises(BadInput, match="share"):
        jobs.sweep(result, [0.5, share])


def test_what_is_declared_does_not_follow_a_share():
    tables = jobs.example() | {"bobweight": {"hang": "600 g"}}
    with pytest.raises(BadInput, match="whatever the share"):
        jobs.sweep(jobs.work(jobs.load(tables)), [0.5])


def test_no_speed_and_no_top_speed_is_told():
    tables = jobs.example()
    del tables["engine"]["top_speed"]
    with pytest.raises(BadInput, match="speed: missing"):
        jobs.shake(jobs.work(jobs.load(tables)))


def test_a_length_that_is_not_there_is_asked_for():
    tables = jobs.example()
    del tables["engine"]["cylinder_spacing"]
    result = jobs.work(jobs.load(tables))
    assert result.bobweights.hung_g == 611.0
    with pytest.raises(BadInput, match="cylinder_spacing"):
        jobs.shake(result)


def test_what_a_notebook_shows_of_a_trim_and_a_throw_is_a_line_each():
    """One piston 2.6 g heavier than the other: the cut that a hand would write down, and the throw by hand:
    2 × 350 + 0.5 × (525 + 522.4) = 1223.7."""
    tables = jobs.example() | {"limits": {"piston": "1 g"}, "trim": {"piston": "5 g"}}
    tables["engine"] = tables["engine"] | {"layout": "vtwin-90"}
    tables["scale"] = {"resolution": "0.1 g", "repeatability": "0.05 g"}
    tables["cylinder"] = [{"number": 1, "piston": 303.0}, {"number": 2, "piston": 300.4}]
    del tables["every_cylinder"]["piston"]
    done = jobs.work(jobs.load(tables))
    plan = jobs.trim(done)
    (part,) = plan.parts
    grams = part.cuts[0].grams
    assert repr(plan) == f"TrimPlan: 1 cut on 1 part, {grams:g} g"
    assert (
        repr(part)
        == f"PartTrim: piston of cylinder 1, take {grams:g} g at the piston; then piston {303 - grams:g} g"
    )
    (throw,) = done.bobweights.throws
    assert repr(throw) == "ThrowMass: throw 1 asks for 1223.7 g, hung 1223.7 g"
