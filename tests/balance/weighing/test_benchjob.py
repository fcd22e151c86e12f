"""What the bench asks for, in which order, and by which scale."""

from __future__ import annotations

import invented
import pytest

from truethrow.balance.base.errors import BadInput
from truethrow.balance.weighing.benchjob import WeighStep, load


def test_kind_by_kind_and_the_fixture_is_turned_once(blank):
    steps = load(blank()).steps
    assert [s.kind for s in steps[::8]] == [
        *("piston", "pin", "locks", "rings", "bearings", "big_end", "small_end")
    ][:7]
    big, small = steps[-16:-8], steps[-8:]
    assert [s.cylinder for s in big] == list(range(1, 9))
    assert [s.cylinder for s in small] == list(range(8, 0, -1))


def test_rod_by_rod_and_in_one_go_where_the_bench_wants_it(blank):
    steps = load(blank(bench={"rods": "by-rod", "rod_total": True})).steps
    assert steps[40:44] == (
        WeighStep(1, "big_end"),
        WeighStep(1, "small_end"),
        WeighStep(2, "big_end"),
        WeighStep(2, "small_end"),
    )
    assert [s.kind for s in steps[-8:]] == ["rod_total"] * 8


def test_what_is_weighed_once_for_all_is_not_asked_for(blank):
    path = blank(every_cylinder={"rings": 41.0, "locks": 3.2}, engine=dict(invented.V8, without=["bearings"]))
    assert {s.kind for s in load(path).steps} == {"piston", "pin", "small_end", "big_end"}


def test_a_reference_beyond_the_scale_is_refused(blank):
    with pytest.raises(BadInput, match="bench, reference: 9000 g is beyond the scale"):
        load(blank(bench={"reference": 9000}))


def test_a_profile_stands_before_the_jobs_bench(blank, tmp_path):
    profile = tmp_path / "bench.toml"
    profile.write_text('[bench]\nname = "east"\nsettle = 0.8\n', encoding="utf-8")
    assert load(blank(bench={"name": "west"}), profile).table.name == "east"
    profile.write_text("[bench]\nsettel = 0.8\n[scale]\nresolution = 1\n", encoding="utf-8")
    with pytest.raises(
        BadInput, match=r"'settel' is not known here \(did you mean settle\?\)\n.*scale: is not known"
    ):
        load(blank(), profile)
