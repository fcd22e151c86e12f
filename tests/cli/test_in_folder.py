"""Jobs and profiles are told by their tables; no fault in one hides it."""

from truethrow.balance import demo
from truethrow.balance.base.files import KeptText
from truethrow.cli.in_folder import jobs_in, price_lists_in, profiles_in


def test_jobs_and_profiles_are_told_apart(tmp_path):
    demo.copy_into(tmp_path)
    (tmp_path / "bench.toml").write_text('[bench]\nname = "b"\n', encoding="utf-8")
    (tmp_path / "odd.toml").write_bytes(b"\xff\xfe[spin]")
    assert jobs_in(tmp_path) == [tmp_path / "launch.toml", tmp_path / "pump.toml"]
    assert profiles_in(tmp_path) == [KeptText(str(tmp_path / "station.toml"), demo.text("station.toml"))]
    assert profiles_in(tmp_path, tmp_path / "station.toml") == []
    assert price_lists_in(tmp_path) == [tmp_path / "choice.toml"]
    (tmp_path / "wrong.toml").write_text("[spin]   # what it shows\nunit = \n", encoding="utf-8")
    assert [one.name for one in profiles_in(tmp_path)] == [
        str(tmp_path / "station.toml"),
        str(tmp_path / "wrong.toml"),
    ]
    assert profiles_in(tmp_path / "gone") == jobs_in(tmp_path / "gone") == []
