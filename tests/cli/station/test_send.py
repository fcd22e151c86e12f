"""The station's sheet, written and held against its job."""

from __future__ import annotations

import csv
import io

import invented
import pytest
from commands import in_folder

from truethrow.balance.job import job
from truethrow.worksheets.data import station_sheet


@pytest.fixture
def run(tmp_path):
    return in_folder(tmp_path)


def test_send_to_standard_output_is_csv_with_cr_lf_and_nothing_else(run, sound, tmp_path):
    status, out, _ = run("send", sound, "--out", "-")
    assert status == 0
    assert out.count("\r\n") == out.count("\n") == 5
    rows = list(csv.DictReader(io.StringIO(out, newline="")))
    assert [row["throw"] for row in rows] == ["1", "2", "3", "4"]
    assert {row["digest"] for row in rows} == {job.load(sound).digest}
    assert list(tmp_path.iterdir()) == [sound]


@pytest.mark.parametrize("there", ["my notes\n", "", "job_id,throw\n"])
def test_a_file_that_is_no_stations_sheet_is_not_written_over(run, sound, tmp_path, there):
    other = tmp_path / "notes.csv"
    other.write_text(there)
    status, _, err = run("work", sound, "--out", other)
    assert status == 2
    assert "is no station's sheet and is not written over" in err
    assert other.read_text() == there


def test_the_job_itself_is_not_written_over_by_its_sheet(run, sound):
    before = sound.read_bytes()
    assert run("send", sound, "--out", sound)[0] == 2
    assert sound.read_bytes() == before


def test_a_name_that_no_folder_takes_is_a_line_and_not_a_traceback(run, sound):
    status, _, err = run("send", sound, "--out", "x" * 300)
    assert status == 2
    assert "name too long" in err


def test_compare_tells_a_current_sheet_from_old_altered_and_foreign_ones(run, sound, tmp_path):
    sheet = sound.with_name("sound-station.csv")
    run("send", sound)
    assert run("compare", sheet, sound)[0] == 0
    sent = sheet.read_text()
    text = sound.read_text()
    for said, made, job_text in (
        ("Altered sheet", sent.replace("112", "113", 1), text),
        ("Old sheet", sent, text.replace("oil = 4.0", "oil = 5.0")),
        ("Another job's sheet: launch-7, not launch-8", sent, text.replace("launch-7", "launch-8")),
    ):
        sheet.write_text(made)
        sound.write_text(job_text)
        status, out, _ = run("compare", sheet, sound)
        assert status == 1
        assert out.startswith(said)
    assert run("compare", sound, sound)[0] == 2


def test_a_stations_sheet_cannot_reach_the_terminal_with_an_escape(run, sound):
    run("send", sound)
    sheet = sound.with_name("sound-station.csv")
    good = sheet.read_text()
    for found in ("launch-7", job.load(sound).digest):
        sheet.write_text(good.replace(found, f"{found[0]}\x1b[31m\x9b1m"))
        status, out, err = run("compare", sheet, sound)
        assert status == 1
        assert "\x1b" not in out + err
        assert "\x9b" not in out + err


def test_an_escape_in_a_weigh_sheets_label_is_refused(run, sound, tmp_path):
    sheet = tmp_path / "weigh.csv"
    sheet.write_text("cylinder;piston;rod label\n1;538,4;\x1b[31mR1\n")
    status, out, err = run("send", sound, "--sheet", sheet, "--out", "-")
    assert (status, out) == (2, "")
    assert "row 2, rod label" in err
    assert "\x1b" not in err


@pytest.mark.parametrize("name", ["=1+2", "'quoted"])
def test_text_that_a_spreadsheet_would_run_is_guarded_and_read_back_as_it_was(run, tmp_path, name):
    path = tmp_path / "job.toml"
    data = invented.document(job={"id": name, "title": name})
    data["cylinder"][0]["labels"] = {"piston": name}
    path.write_text(invented.text(data))
    out = run("send", path, "--out", "-")[1]
    for row in list(csv.reader(io.StringIO(out, newline="")))[1:]:
        for cell in (row[0], row[1], row[7]):
            assert not cell.startswith(tuple("=+-@"))
    sent = station_sheet.from_csv(out)
    assert (sent[0].job_id, sent[0].job_title) == (name, name)
    assert sent[0].part_labels == f"piston {name} (sits in 1)"
