"""The demo, as a whole process."""

from __future__ import annotations

import re

import pytest

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


def test_the_planning_stage_is_shown_and_laid_down(run, tmp_path):
    """Three sets on two cranks, one order, turned counterweights, one quote; each as it would be typed."""
    status, out, err = run("demo", "--planning", "--into", "mine")
    assert (status, err) == (0, "")
    assert sorted(path.name for path in (tmp_path / "mine" / "planning").iterdir()) == [
        *("candidates.pdf", "choice.toml", "order.pdf", "plan.toml", "quote.pdf", "station.toml")
    ]
    typed = [line for line in out.splitlines() if line.startswith("truethrow ")]
    assert [line.split()[1] for line in typed] == ["candidates", "order", "what-if", "quote"]
    for said in (
        *("light forged on crank A", "cast from the shop on crank A", "forged on old rods on crank B"),
        *("Target bobweight: 1806.0 g on every throw.", "What if: counterweights turned to 89mm"),
        *("Wherever in their range the parts weigh in, drilling alone will do.", "Total: $"),
    ):
        assert said in out, said
    assert run(*typed[2].split()[1:])[1] in out, "what is shown is what the command says"
    assert not list((tmp_path / "mine" / "planning").glob("*.jsonl"))


@pytest.mark.parametrize("other", ["--cards", "--json"])
def test_the_planning_stage_is_a_screen_of_its_own(run, other):
    status, _, err = run("demo", "--planning", other)
    assert (status, err) == (2, f"--planning: can't be combined with {other}\n")


def test_the_demo_leaves_what_somebody_changed(run, tmp_path):
    (tmp_path / "mine").mkdir()
    changed = demo.text("launch.toml").replace("share = 0.50", "share = 0.48")
    (tmp_path / "mine" / "launch.toml").write_text(changed)
    _, out, _ = run("demo", "--into", "mine")
    assert (tmp_path / "mine" / "launch.toml").read_text() == changed
    assert "share 0.48" in out
