"""Which of a folder's files are stations' profiles (stories/test_the_station_is_not_named: which is taken)."""

from truethrow.balance import demo
from truethrow.cli.station.which_station import profiles_in


def test_a_profile_is_told_by_its_spin_and_a_job_is_none(tmp_path):
    demo.copy_into(tmp_path)
    (tmp_path / "bench.toml").write_text('[bench]\nname = "b"\n', encoding="utf-8")
    (tmp_path / "odd.toml").write_bytes(b"\xff\xfe[spin]")
    assert profiles_in(tmp_path) == [tmp_path / "station.toml"]
    (tmp_path / "wrong.toml").write_text("[spin]   # what it shows\nunit = \n", encoding="utf-8")
    assert profiles_in(tmp_path) == [tmp_path / "station.toml", tmp_path / "wrong.toml"], "no fault hides one"
    assert profiles_in(tmp_path / "gone") == profiles_in(None) == []
