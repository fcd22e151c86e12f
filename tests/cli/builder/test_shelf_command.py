"""The shelf on the command line: tables, file, data, faults, Ctrl-C."""

from __future__ import annotations

import csv
import io
import json

import commands
import interrupting
import pytest

from truethrow.balance import demo

SHELF = ["launch.toml", "shelf-rods.csv", "shelf-pistons.csv", "shelf-pins.csv"]


@pytest.fixture
def run(tmp_path):
    demo.copy_into(tmp_path)

    def ran(*args):
        return commands.run("shelf", *args, folder=tmp_path)

    return ran


def test_the_demo_shelf_makes_five_engines(run, tmp_path):
    status, out, err = run(*SHELF, "--seconds", 1.5, "--out", "engines.csv")
    assert (status, err) == (0, "")
    assert "Job launch-7: 5 engines of 8 from 40 rods, 40 pistons, 40 pins" in out
    assert "as they came" in out
    assert "Grinding weakens a part" in out
    assert "Proved best" in out or "an engine of the bound, which counts" in out
    rows = list(csv.DictReader(io.StringIO((tmp_path / "engines.csv").read_text())))
    assert len(rows) == 40
    assert len({row["rod_label"] for row in rows}) == 40
    first = rows[0]
    parts = sum(float(first[name]) for name in ("piston_g", "pin_g", "small_end_g"))
    assert float(first["reciprocating_g"]) == pytest.approx(parts + 41.0 + 3.2)
    assert first["job_id"] == "launch-7"


def test_the_best_two_leave_the_rest_by_label(run):
    status, out, _ = run(*SHELF, "--seconds", 1, "--engines", 2, "--json")
    data = json.loads(out)
    assert status == 0
    assert len(data["engines"]) == 2
    assert len(data["leftovers"]["rod"]) == 24
    assert data["bound"]["grams"] <= data["grams"] <= data["sorted_by_hand_grams"]
    used = {c["labels"]["rod"] for engine in data["engines"] for c in engine["cylinders"]}
    assert used.isdisjoint(data["leftovers"]["rod"])
    assert data["cautions"]


def test_a_label_is_no_formula_in_a_spreadsheet(run, tmp_path):
    pins = (tmp_path / "shelf-pins.csv").read_text().replace("N01;", "=N01+1;")
    (tmp_path / "shelf-pins.csv").write_text(pins)
    status, out, _ = run(*SHELF, "--seconds", 0.3, "--out", "-")
    assert status == 0
    assert '"\'=N01+1"' in out


def test_faults_end_with_status_2_a_line_each(run, tmp_path):
    (tmp_path / "shelf-pins.csv").write_text("label,pin\nN1,heavy\n")
    status, out, err = run(*SHELF)
    assert (status, out) == (2, "")
    assert err == "shelf-pins.csv: row 2, pin N1: 'heavy' is not a number; allowed: a mass, 0.1 to 3000 g\n"
    assert run(*SHELF[:3])[2].startswith("launch.toml: pin: missing; allowed: a file of pins")
    assert run(*SHELF[:3], "none.csv")[0] == 2
    assert run("-", "-")[2] == "SHELF.csv: standard input can hold one file only; allowed: one -\n"


def test_the_help_has_examples(run):
    status, out, _ = run("--help")
    assert status == 0
    assert "truethrow shelf launch.toml shelf-rods.csv" in out
    assert "--engines" in out


def test_ctrl_c_gives_the_best_so_far(tmp_path):
    demo.copy_into(tmp_path)
    command = [*commands.PROGRAM, "shelf", *SHELF, "--seconds", "3600", "--json"]
    ended = interrupting.once_it_shows(command, tmp_path, r"([\d.]+) g, bound")
    assert ended.status == 0
    data = json.loads(ended.out)
    assert data["stopped"] == "interrupted"
    assert data["grams"] <= float(ended.shown[1]) + 0.05
    assert data["grams"] < data["sorted_by_hand_grams"]
