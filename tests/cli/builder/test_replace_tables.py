"""What a replacement's screen shows beside its window."""

import invented
import pytest

LIMITS = {"piston": 1.0, "big_end": 1.4, "small_end": 1.4, "both_ends": 1.6, "bobweight": 2.0}


@pytest.fixture
def job(tmp_path):
    path = tmp_path / "pump.toml"
    path.write_text(invented.text(invented.document(limits=LIMITS)))
    return path


def test_a_rods_sums_its_grid_and_its_cautions(run, job):
    said = run("replace", job, "rod", "3").out
    assert "All of these lines count." in said
    assert "big end + small end" in said
    assert "To take off it alone, if it is heavier [g]; big end down, small end across" in said
    assert "! Grinding weakens a part" in said


def test_no_limit_no_window(run, tmp_path):
    path = tmp_path / "free.toml"
    path.write_text(invented.text(invented.document()))
    said = run("replace", path, "piston", "3")
    assert said.status == 0
    assert "The job sets no limit that this part counts in" in said.out
    assert "Grinding" not in said.out


def test_loose_parts_and_how_many_more(run, job, tmp_path):
    rows = "\n".join(f"X{n:02};538.4" for n in range(20))
    (tmp_path / "shelf.csv").write_text(f"label;piston\n{rows}\n")
    said = run("replace", job, "piston", "3", "shelf.csv").out
    assert "X11   shelf.csv  538.4  nothing" in said
    assert "X12" not in said
    assert "… and 8 more, farther off." in said


def test_weighed_twice_is_told_where_it_is_wider(run, tmp_path):
    path = tmp_path / "scatter.toml"
    pistons = {number: [538.4] * 8 for number in range(1, 9)}
    scale = {"resolution": 0.1, "capacity": 3000, "repeatability": 0.2}
    document = invented.document(invented.cylinders(piston=pistons), limits={"piston": 1.4}, scale=scale)
    path.write_text(invented.text(document))
    said = run("replace", path, "piston 3").out
    assert "Piston, weighed twice and reading the same both times: 537.4 to 539.4 g." in said
