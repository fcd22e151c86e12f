"""Whose profile is taken where none is named (and in stories/test_the_station_is_not_named)."""

import commands

from truethrow.balance import demo


def test_the_same_profile_twice_beside_the_job_is_no_doubt(job, tmp_path):
    (tmp_path / "a-copy.toml").write_text(demo.text("station.toml"), encoding="utf-8")
    told = commands.in_folder(tmp_path)("spins", job)
    assert told.err == f"Station: {tmp_path / 'a-copy.toml'}, beside the job.\n"
