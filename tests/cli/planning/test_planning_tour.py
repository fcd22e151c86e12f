"""The demo's planning stage, against its commands one by one."""

from within import demo

from truethrow.cli.planning.planning_tour import PAGES, show_planning


def test_a_file_that_somebody_changed_stays_and_is_what_is_shown(tmp_path, capsys):
    plan = demo.text("plan.toml").replace("share = 0.50", "share = 0.48")
    (tmp_path / "plan.toml").write_text(plan, encoding="utf-8")
    show_planning(tmp_path, None)
    assert (tmp_path / "plan.toml").read_text(encoding="utf-8") == plan
    out = capsys.readouterr().out
    assert "Assumed: share 0.48 of what goes up and down" in out
    assert {*PAGES} <= {path.name for path in tmp_path.iterdir()}
