"""A figure worked as a hand does, through the command line."""

import json

import commands
import pytest

from truethrow.balance import demo
from truethrow.balance.demo import story


@pytest.fixture
def launch(tmp_path):
    demo.copy_into(tmp_path)
    return tmp_path


SHEET = ("launch.toml", "--sheet", "launch-weigh.csv")


def test_a_throw_of_the_demo_adds_up_on_paper(launch):
    """Its last line: two cylinders and the oil."""
    said = commands.run("working", *SHEET, "bobweight", "1", folder=launch)
    assert "bobweight 1 = 928.8 + 929.55 + 4.0 = 1862.35 g" in said.out
    assert "[weigh sheet launch-weigh.csv]" in said.out


def test_data_says_the_same(launch):
    text = commands.run("working", *SHEET, "plane front", folder=launch)
    data = json.loads(commands.run("working", *SHEET, "plane front", "--json", folder=launch).out)
    for line in data["working"]["lines"]:
        assert f" = {line['shown']}" in text.out
    assert data["working"]["lines"][0]["unit"] == "g"


def test_without_a_figure_all_are_listed_ready_to_paste(launch):
    said = commands.run("working", *SHEET, folder=launch)
    asked = [line.strip() for line in said.out.splitlines() if "truethrow working" in line]
    assert len(asked) > 10
    named = json.loads(commands.run("working", *SHEET, "--json", folder=launch).out)["figures"]
    assert len(named) == len(asked)


def test_a_record_of_the_log_is_named(launch):
    commands.run("enter", "launch.toml", "launch-weigh.csv", folder=launch)
    bench = commands.run("weigh", "launch.toml", folder=launch, stdin="go pin 1\n112.0\n")
    assert bench.status in (0, 1)
    said = commands.run("working", "launch.toml", "bobweight 1", folder=launch)
    assert "[log, record" in said.out


def test_a_figure_that_is_not_there_is_one_line(launch):
    said = commands.run("working", *SHEET, "bobweight 7", folder=launch)
    assert (said.status, said.out, said.err.count("\n")) == (2, "", 1)


def test_it_fits_a_screen(launch):
    for figure in ("bobweight 1", "hang", "plane rear", "spread big end"):
        narrow = commands.environment(COLUMNS="80")
        said = commands.run("working", *SHEET, figure, folder=launch, environment=narrow)
        assert max(map(len, said.out.splitlines())) <= 80


@pytest.fixture(scope="module")
def spun(tmp_path_factory):
    """The demo's job after its first spin, proved, and the profile beside it."""
    folder = tmp_path_factory.mktemp("spun")
    next(stage for stage, *_ in story.told(folder) if stage == story.SPUN)
    return folder


def test_a_hole_and_the_sum_are_worked_from_the_log(spun):
    hole = commands.run("working", "launch.toml", "hole", "1", folder=spun)
    assert hole.status == 0
    assert "the hole takes = " in hole.out
    assert "least wall = " in hole.out
    told = json.loads(commands.run("working", "launch.toml", "sum", "front", "--json", folder=spun).out)
    last = told["working"]["lines"][-1]
    assert (last["what"], last["from"].split(":")[0]) == ("least that it may be", "outside")
    listed = commands.run("working", "launch.toml", folder=spun)
    assert "truethrow working launch.toml hole 1\n" in listed.out
    assert "truethrow working launch.toml sum rear\n" in listed.out


def test_it_is_a_page_too(spun, tmp_path):
    for name in ("sum.html", "sum.pdf"):
        said = commands.run("working", "launch.toml", "sum front", "--out", str(tmp_path / name), folder=spun)
        assert said.status == 0
    assert "sum, across" in (tmp_path / "sum.html").read_text(encoding="utf-8")
    assert (tmp_path / "sum.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (("hole", "1", "--sheet", "launch-weigh.csv"), "truethrow enter launch.toml launch-weigh.csv"),
        (("hole", "77"), "allowed: hole 1, hole 2"),
        (("--out", "list.pdf"), "which figure?"),
        (("hang", "--out", "list.doc"), "ends in .html or .pdf"),
    ],
)
def test_what_cannot_be_worked_is_one_line(spun, asked, says):
    said = commands.run("working", "launch.toml", *asked, folder=spun)
    assert (said.status, said.out) == (2, "")
    assert says in said.err
    assert not (spun / "list.pdf").exists()


def test_before_any_spin_the_next_step_is_told(launch):
    said = commands.run("working", "launch.toml", "sum front", folder=launch)
    assert said.status == 2
    assert said.out == ""
