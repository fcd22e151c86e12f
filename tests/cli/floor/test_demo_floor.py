"""The demo's floor: fresh files each time, and every part of its job has a mass."""

from __future__ import annotations

from truethrow.balance.log.place import open_log
from truethrow.balance.log.records import Weighed
from truethrow.balance.weighing.benchjob import load
from truethrow.balance.weighing.scaleline import ScaleProfile
from truethrow.balance.weighing.session import Session
from truethrow.cli.floor import demo_floor


def test_every_part_that_the_demo_asks_for_has_a_mass(tmp_path):
    folder = demo_floor.folder(str(tmp_path / "demo"))
    job = folder / "launch.toml"
    steps = Session(load(job, None, demo_floor.PORT), open_log(job)).steps
    masses = demo_floor.masses_g()
    assert all((step.kind, step.cylinder) in masses for step in steps if not step.is_check)


def test_a_folder_that_is_there_stays_as_it_is(tmp_path):
    first = demo_floor.folder(str(tmp_path / "demo"))
    open_log(first / "launch.toml").append(Weighed(1, "piston", 538.1, "538.1"))
    second = demo_floor.folder(str(tmp_path / "demo"))
    assert second.name == "demo-2"
    assert [one.name for one in second.glob("*.jsonl")] == []


def test_its_scale_weighs_what_that_bench_asks_for():
    class Bench:
        asked = ("piston", 1)
        taken_here = 0
        touch = 613.4, {("piston", 1): 0.4}

    scales = demo_floor.scales({"launch": Bench()}.get)
    scale = scales.take(ScaleProfile(port=demo_floor.PORT), "launch")
    assert scale._asked() == ("piston", 1)
    assert scale._touch() == Bench.touch
    scales.give_back("launch")
    other = scales.take(ScaleProfile(port=demo_floor.PORT), "pump")
    assert (other._asked(), other._taken(), other._touch()) == (None, 0, None)
