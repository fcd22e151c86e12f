"""The engine room's commands: print, pipe, JSON, and refusals with a reason."""

import json

import commands
import invented
import pytest

from truethrow.balance.engine.layout import GENERIC


@pytest.fixture
def bench(tmp_path):
    (tmp_path / "job.toml").write_text(invented.text(invented.document()), encoding="utf-8")

    def run(*arguments):
        return commands.run(*arguments, folder=tmp_path)

    run.folder = tmp_path
    return run


def test_the_share_of_a_ninety_degree_v8_is_printed_as_one_half(bench):
    run = bench("share", "v8-90-crossplane")
    assert run.status == 0
    assert "Best share: 0.500000" in run.out
    assert json.loads(bench("share", "v8-90-crossplane", "--json").out)["share"] == pytest.approx(0.5, abs=1e-6)
    assert json.loads(bench("share", "job.toml", "--json").out)["share"] == pytest.approx(0.5, abs=1e-6)


def test_bobweights_that_make_no_sense_are_said_to(bench):
    assert "bobweights are not needed" in bench("share", "inline-4").out


def test_shake_prints_and_gives_the_same_as_json(bench):
    printed = bench("shake", "job.toml", "--at", "5600")
    data = json.loads(bench("shake", "job.toml", "--at", "5600", "--json").out)["shake"]
    assert printed.status == 0
    assert "\x1b" not in printed.out
    assert f"{data['pulls']['pull_n']:.0f} N at top dead center" in printed.out
    assert len(data["polar"]["crank_deg"]) == 36
    assert data["orders"][2]["order"] == 4


def test_speed_may_have_a_unit_and_a_couple_any_reference(bench):
    plain = json.loads(bench("shake", "job.toml", "--at", "3000", "--json").out)["shake"]
    per_second = json.loads(bench("shake", "job.toml", "--at", "314.159265358979 rad/s", "--json").out)["shake"]
    assert per_second["speed_rpm"] == pytest.approx(3000)
    assert per_second["force"]["peak_n"] == pytest.approx(plain["force"]["peak_n"], rel=1e-9)
    moved = json.loads(bench("shake", "job.toml", "--at", "3000", "--about", "4 in", "--json").out)["shake"]
    assert moved["couple"]["about_mm"] == pytest.approx(101.6)


def test_layouts_are_drawn_from_the_library_and_from_a_job(bench):
    assert "(2b)" in bench("layouts", "v6-60-even").out
    engine = dict(invented.V8, firing_order=[1, 8, 4, 3, 6, 5, 7, 2])
    data = invented.document(parts=[], engine=engine)  # readings still blank
    (bench.folder / "blank.toml").write_text(invented.text(data), encoding="utf-8")
    drawn = bench("layouts", "blank.toml")
    assert "order 1-8-4-3-6-5-7-2" in drawn.out
    assert json.loads(bench("layouts", "blank.toml", "--json").out)["firing_intervals_deg"] == [90] * 8


def test_sure_with_draws_says_whether_the_first_order_agrees(bench):
    data = json.loads(bench("sure", "job.toml", "--draws", "2000", "--json").out)
    assert data["monte_carlo"]["draws"] == 2000
    names = [figure["figure"] for figure in data["monte_carlo"]["figures"]]
    assert names == [figure["figure"] for figure in data["budget"]]
    assert (
        "on the pan: repeatability 0.000 g, declared: the ± has 2.00 times that" in bench("sure", "job.toml").out
    )


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("share", "v8-crossplane"), "did you mean v8-90-crossplane?"),
        (("share", "inline-3", "--ratio", "1.5"), "--ratio: 1.5 cannot turn"),
        (("share", "job.toml", "--ratio", "0.3"), "--ratio: can't be combined with a job"),
        (("shake", "job.toml", "--at", "fast"), "--at: 'fast' is not a number"),
        (("shake", "job.toml", "--at", "0"), "--at: 0 is out of reach"),
        (("shake", "job.toml", "--at", "3000 mm"), "--at: 'mm' is no unit of speed"),
        (("shake", "job.toml", "--about", "2 kg"), "--about: 'kg' is no unit of length"),
        (("sure", "job.toml", "--draws", "10"), "--draws: 10 is out of reach"),
        (("sure", "job.toml", "--draws", "2000", "--seed", "-1"), "--seed: -1 is below zero"),
        (("layouts", "missing.toml"), "missing.toml: no such file"),
    ],
)
def test_refusals(bench, arguments, said):
    run = bench(*arguments)
    assert run.status == 2
    assert said in run.err
    assert run.out == ""


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"stroke": 310.0}, "engine, stroke: 310 mm with a rod of 155 mm cannot turn"),
        ({"desaxe": 120.0}, "and a desaxe of 120 mm cannot turn"),
        ({"banks": {"left": 45.0, "right": 45.0}}, "cylinders 1 and 2 of the axis at 45° are at one place"),
        ({"firing_order": [1, 3, 5, 7, 2, 4, 6, 8]}, "engine, firing_order: one round takes"),
        (
            {"layout": "inline-6", "firing_order": [1, 5, 3, 6, 2, 4]},
            "the crank of the other hand, throw_angles = [0, 240, 120, 120, 240, 0], fires it evenly",
        ),
        ({"firing_order": [1, 2, 3]}, "does not name every cylinder once"),
        ({"mounts": {"front": 10.0, "rear": 10.0}}, "engine, mounts, front: 10 mm is not in front of rear"),
    ],
)
def test_impossible_layouts_are_refused_with_a_reason(bench, change, said):
    data = invented.document(engine=dict(invented.V8, **change))
    (bench.folder / "odd.toml").write_text(invented.text(data), encoding="utf-8")
    run = bench("shake", "odd.toml")
    assert run.status == 2
    assert said in run.err


def test_the_shops_own_limit_instead_of_a_grade(bench):
    data = invented.document(
        invented.cylinders(big_end={1: 455.0}), station={"limit": "0.1 oz·in"}, bobweight={"hang": "mean"}
    )
    (bench.folder / "limit.toml").write_text(invented.text(data), encoding="utf-8")
    run = bench("hang", "limit.toml", "--json")
    front = json.loads(run.out)["bobweights"]["cost"]["front"]
    assert front["permissible_gmm"] == pytest.approx(72.0078, abs=1e-4)
    assert (front["verdict"], run.status) == ("outside", 1)


def test_layouts_lists_every_one_in_both_ways(run):
    lines = run("layouts")[1].splitlines()
    assert [line.split()[0] for line in lines] == ["layout", *GENERIC, "Next:"]
    assert json.loads(run("layouts", "--json")[1])["layouts"] == {n: g.description for n, g in GENERIC.items()}
