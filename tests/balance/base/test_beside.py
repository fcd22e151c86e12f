"""Where the log of a job is."""

from __future__ import annotations

from pathlib import Path

from truethrow.balance.base.beside import log_path, log_stem


def test_the_log_stands_beside_its_job_also_by_way_of_a_link(tmp_path):
    assert log_path(Path("launch.toml")) == Path("launch.readings.jsonl")
    assert log_path(Path("a/launch.v2.toml")) == Path("a/launch.v2.readings.jsonl")
    (tmp_path / "shop").mkdir()
    (tmp_path / "shop" / "launch.toml").touch()
    (tmp_path / "today.toml").symlink_to(tmp_path / "shop" / "launch.toml")
    assert log_path(tmp_path / "today.toml") == tmp_path.resolve() / "shop" / "launch.readings.jsonl"


def test_a_log_is_called_as_its_job_is():
    assert log_stem(log_path(Path("a/launch.v2.toml"))) == "launch.v2"
