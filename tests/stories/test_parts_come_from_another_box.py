"""The builder orders pistons of 521 g and another line of the catalog is sent: the crank is on order for the
lighter ones. Whoever enters, weighs or works the parts is told, with the box's figures, and nothing is
held up by it."""

import shlex

import pytest
from invented import PARTS, cylinders, document, text
from typer.testing import CliRunner
from within import app

ESTIMATE = {"piston": {"about": 521, "within": 2, "scatter": 0.8}, "pin": {"about": 112, "within": 0.5}}
SAID = "piston of cylinders 1-8: 531.0 to 531.7 g, but [estimate] says about 521 g, within 2 g, scatter 0.8 g."


@pytest.fixture
def job(tmp_path):
    """All but the pistons weighed."""
    parts = [{k: v for k, v in one.items() if k != "piston"} for one in cylinders()]
    file = tmp_path / "ordered.toml"
    file.write_text(text(document(parts, estimate=ESTIMATE)), encoding="utf-8")
    return file


def run(*words, typed=None):
    done = CliRunner().invoke(app, [str(word) for word in words], input=typed)
    return done.exit_code, done.output


def entered(job):
    sheet = job.with_name("pistons.csv")
    sheet.write_text("cylinder,piston\n" + "".join(f"{n},{530.9 + n / 10:.1f}\n" for n in range(1, 9)))
    return run("enter", job, sheet)


def test_who_enters_the_sheet_is_told(job):
    status, said = entered(job)
    assert status == 0
    assert f"! {SAID}" in said
    assert "another line of the catalog?" in said


def test_who_works_it_is_told_and_nothing_is_held_up(job):
    entered(job)
    status, said = run("work", job)
    assert f"! {SAID}" in said
    assert status == 0, said
    assert "Hang " in said
    assert f"! {SAID}" in run("forecast", job)[1]


def test_who_weighs_is_told_at_the_first_of_them(job):
    said = run("weigh", job, typed="531.0\n")[1]
    assert "taken: piston 1: 531.0" in said
    assert "! 10.0 g above what [estimate] says, about 521.0 g, within 2.0 g, scatter 0.8 g" in said
    assert PARTS["piston"] != 521


def test_parts_of_the_box_are_told_nothing(job):
    said = run("weigh", job, typed="521.7\n")[1]
    assert "[estimate]" not in said


def test_half_an_estimate_is_told_that_it_may_be_filled_up(tmp_path):
    file = tmp_path / "half.toml"
    file.write_text(text(document([], estimate=ESTIMATE)), encoding="utf-8")
    done = CliRunner().invoke(app, ["forecast", str(file)])
    (line,) = done.exception.lines()
    assert "missing: locks, rings, both rod ends, bearings of cylinders 1-8" in line
    assert line.endswith("by the catalog, in [estimate] of the job: locks = { about = MASS, within = MASS }")
    told = CliRunner().invoke(app, ["work", str(file)]).exception.lines()
    assert "by the catalog" not in told[0], "nothing is hung by an estimate"


def test_who_looked_at_them_again_is_told_no_more(job):
    """The line tells to mend the estimate; or each is confirmed, which any other weight asks again."""
    entered(job)
    said = " ".join(run("work", job)[1].split())
    assert f"If all are right, mend piston of [estimate] in {job}, or confirm each: truethrow confirm" in said
    before = job.read_text(encoding="utf-8")
    job.write_text(before.replace("about = 521", "about = 531"), encoding="utf-8")
    assert "[estimate] says" not in run("work", job)[1]
    job.write_text(before, encoding="utf-8")
    for number in range(1, 8):
        assert run("confirm", job, "piston", number, "--why", "the new line, by its tag", "--by", "AB")[0] == 0
    assert "piston of cylinder 8: 531.7 g, but [estimate]" in " ".join(run("work", job)[1].split())
    run("confirm", job, "piston", 8, "--why", "the new line, by its tag", "--by", "AB")
    assert "[estimate] says" not in run("work", job)[1]


def test_of_two_that_are_confirmed_by_the_line_as_it_is_told_a_third_one_still_asks(job):
    """Whoever had looked at one piston silenced all eight, and the one from another engine was never told."""
    parts = cylinders(piston=dict(enumerate([531.2, 521.2, 531.4, *[521.0] * 5], start=1)))
    job.write_text(text(document(parts, estimate=ESTIMATE)), encoding="utf-8")
    said = " ".join(run("work", job)[1].split())
    assert "piston of cylinders 1, 3: 531.2 to 531.4 g, but [estimate]" in said
    told = said[said.index("If they are right: ") + 19 :].split(" --by INITIALS")[:2]
    for one in told:
        typed = one.removeprefix("; ").replace('"..."', '"by its tag"')
        assert run(*shlex.split(typed)[1:], "--by", "AB")[0] == 0
    assert "[estimate] says" not in run("work", job)[1]
    parts[5]["piston"] = 531.3
    job.write_text(text(document(parts, estimate=ESTIMATE)), encoding="utf-8")
    said = " ".join(run("work", job)[1].split())
    assert "piston of cylinder 6: 531.3 g, but [estimate]" in said
    assert "If it is right: truethrow confirm" in said
