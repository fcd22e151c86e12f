"""The columns of pistons and pins are swapped in the job: nothing may be hung, judged or ground by it."""

from __future__ import annotations

import invented
import pytest
from commands import run


@pytest.mark.parametrize("command", ["hang", "check", "trim"])
def test_no_figure_is_told_until_somebody_says_that_the_parts_weigh_so(tmp_path, command):
    parts = [
        own | {"piston": 101.0 + own["number"] / 10, "pin": 412.0 + own["number"] / 10}
        for own in invented.cylinders()
    ]
    (tmp_path / "job.toml").write_text(invented.text(invented.document(parts)))
    ran = run(command, "job.toml", folder=tmp_path)
    assert (ran.status, ran.out) == (2, "")
    assert "every cylinder, pin: 412.4" in ran.err
    assert len(ran.err.splitlines()) == 1
    engine = dict(invented.V8) | {"checked": ["parts"]}
    (tmp_path / "job.toml").write_text(invented.text(invented.document(parts, engine=engine)))
    assert run(command, "job.toml", folder=tmp_path).status != 2
