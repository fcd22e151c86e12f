"""The station's sheet: its form, its guard against formulas, its refusal of anything else."""

import csv
import io
from dataclasses import replace

import invented
import pytest

from truethrow.balance.base.errors import BadInput
from truethrow.balance.result.work import work
from truethrow.worksheets.data import station_sheet


def sheet(**job):
    return station_sheet.rows(work(invented.build(invented.document(job={"id": "launch-7"} | job))))


def test_columns_stay_as_documented():
    assert station_sheet.COLUMNS == (
        "job_id",
        "job_title",
        "digest",
        "throw",
        "crank_angle_deg",
        "position_mm",
        "cylinders",
        "part_labels",
        "share",
        "oil_g",
        "bobweight_g",
        "bobweight_uncertainty_g",
        "hang",
        "hang_g",
        "look_again",
        "deviation_g",
        "front_plane_mm",
        "front_unbalance_gmm",
        "front_unbalance_crank_deg",
        "rear_plane_mm",
        "rear_unbalance_gmm",
        "rear_unbalance_crank_deg",
        "log_head",
        "sheet_format",
        "program",
    )


def test_every_number_has_its_unit_in_its_columns_name():
    """share is a plain fraction; all other columns of numbers end in a unit."""
    made = sheet()[0]
    numbers = [name for name in station_sheet.COLUMNS if isinstance(getattr(made, name), float)]
    assert [name for name in numbers if not name.endswith(("_g", "_mm", "_gmm", "_deg"))] == ["share"]


@pytest.mark.parametrize(("unit", "shown"), [("g", "1866.5 g"), ("oz", "65.839 oz")])
def test_what_hangs_is_told_as_the_scale_shows_it(unit, shown):
    """Beside it in grams: an operator reads off the sheet what he reads off his scale."""
    made = station_sheet.rows(work(invented.build(invented.document(bench={"name": "bench", "unit": unit}))))
    assert {row.hang for row in made} == {shown}
    one_g = {"g": 1.0, "oz": 28.349523125}[unit]  # Source: international avoirdupois pound (1959), exact.
    assert float(shown.split()[0]) == pytest.approx(made[0].hang_g / one_g, rel=1e-4)


def test_rfc_4180():
    written = station_sheet.to_csv(sheet(title='Launch, "second", north\u00e9'))
    assert written.endswith("\r\n")
    assert "\n" not in written.replace("\r\n", "")
    rows = list(csv.reader(io.StringIO(written, newline=""), strict=True))
    assert [len(row) for row in rows] == [25] * 5
    assert '"Launch, ""second"", northé"' in written
    assert rows[1][1] == 'Launch, "second", northé'


@pytest.mark.parametrize(("title", "written"), [("=1+2", "'=1+2"), ("a;=1+1", "a;'=1+1")])
def test_no_text_starts_a_formula(title, written):
    made = sheet(title=title)
    text = station_sheet.to_csv(made)
    assert list(csv.reader(io.StringIO(text, newline="")))[1][1] == written
    assert station_sheet.from_csv(text) == made


def test_negative_numbers_stay_numbers():
    made = sheet()
    light = made[0].__class__(**{**vars(made[0]), "deviation_g": -2.45})
    assert '"-2.45"' in station_sheet.to_csv((light,))
    assert station_sheet.from_csv(station_sheet.to_csv((light,))) == (light,)


def test_labels_name_part_and_cylinder():
    parts = invented.cylinders()
    parts[0]["labels"] = {"rod": "=1+2", "piston": "P9"}
    made = station_sheet.rows(work(invented.build(invented.document(parts))))
    assert made[0].part_labels == "piston P9 (sits in 1); rod =1+2 (sits in 1)"
    assert station_sheet.from_csv(station_sheet.to_csv(made)) == made


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda t: "", "row 1: not the headings"),
        (lambda t: t.replace("throw", "crank", 1), "row 1: not the headings"),
        (lambda t: t.split("\r\n")[0] + "\r\n", "row 2: missing"),
        (lambda t: t.replace("1866.5", "1866;5", 1), "row 2, bobweight_g: '1866;5' is not a number"),
        (lambda t: t.replace("1866.5", "nan", 1), "row 2, bobweight_g: 'nan' is not a number"),
        (lambda t: t.replace('"launch-7",', '"launch-7","extra",', 1), "row 2: 26 cells; allowed: 25"),
        (lambda t: t.replace('"launch-7"', '"launch-7"7', 1), "no station sheet"),
    ],
)
def test_a_spoilt_sheet_is_refused(spoil, said):
    with pytest.raises(BadInput, match=said.replace("(", r"\(")):
        station_sheet.from_csv(spoil(station_sheet.to_csv(sheet())))


def test_digest_and_id_stand_in_every_row():
    made = sheet()
    assert {(row.job_id, row.digest) for row in made} == {("launch-7", made[0].digest)}
    assert len(made[0].digest) == 16


def test_a_sheet_is_the_same_however_far_the_log_has_come_and_whoever_wrote_it():
    made = sheet()
    assert tuple(replace(row, log_head="9a3e-71c4-12", program="9.0") for row in made) == made
