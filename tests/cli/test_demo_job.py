"""The demo, as a whole process."""

from __future__ import annotations

import re

from truethrow.balance import demo


def test_the_demo_leaves_its_files_and_shows_the_whole_job(run, tmp_path):
    status, out, err = run("demo")
    assert (status, err) == (0, "")
    assert sorted(path.name for path in (tmp_path / "truethrow-demo").iterdir()) == [
        *("choice.toml", "launch-station.csv", "launch-weigh.csv", "launch.toml"),
        *("pump.toml", "shelf-pins.csv", "shelf-pistons.csv", "shelf-rods.csv", "station.toml"),
    ]
    for heading in ("Bobweights [g]", "Spread = ", "Look again", "Trim", "For the station"):
        assert f"\n{heading}" in out
    assert re.search(r"^Hang [\d.]+ g on every throw", out, re.M)
    assert "OUTSIDE" in out


def test_the_demo_leaves_what_somebody_changed(run, tmp_path):
    (tmp_path / "mine").mkdir()
    changed = demo.text("launch.toml").replace("share = 0.50", "share = 0.48")
    (tmp_path / "mine" / "launch.toml").write_text(changed)
    _, out, _ = run("demo", "--into", "mine")
    assert (tmp_path / "mine" / "launch.toml").read_text() == changed
    assert "share 0.48" in out
