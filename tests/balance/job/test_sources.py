"""Where a job's readings come from: its log, its file, a sheet beside them."""

from __future__ import annotations

import invented
import pytest
from full_document import document

from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput
from truethrow.balance.job import enter, job
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Struck, Weighed


@pytest.fixture
def path(tmp_path):
    return tmp_path / "launch.readings.jsonl"


def read(log, grams=538.4, cylinder=1, kind="piston", why="", **more):
    return log.append(Weighed(cylinder, kind, grams, str(grams), why=why), **more)


def logged(tmp_path, data=None):
    path = tmp_path / "launch.toml"
    path.write_text(invented.text(data or invented.document()))
    return path, ReadingLog(log_path(path))


def told(path, sheet=None):
    with pytest.raises(BadInput) as caught:
        job.load(path, sheet)
    return caught.value.lines()


def test_a_logged_reading_counts_before_the_job_file_and_a_sheet_may_say_nothing_else(tmp_path):
    path, log = logged(tmp_path)
    plain = job.load(path)
    struck = read(log, 500.0)
    read(log, 540.1)
    read(log, 540.3)
    log.append(Struck(struck.id))
    read(log, 41.5, 0, "rings")
    read(log, 41.9, 2, "rings")
    made = job.load(path)
    assert made.parts[1]["piston"].repeats_g == (540.1, 540.3)
    assert made.parts[1]["piston"].typed == ("540.1", "540.3")
    assert made.parts[2]["piston"] == plain.parts[2]["piston"]
    assert (made.parts[1]["rings"].cylinder, made.parts[1]["rings"].mean_g) == (None, 41.5)
    assert made.parts[2]["rings"].mean_g == 41.9
    assert made.digest != plain.digest
    sheet = tmp_path / "weigh.csv"
    sheet.write_text("cylinder,piston\n1,539.0\n")
    said = told(path, sheet)[0]
    assert said.startswith(f"{sheet}: cylinder 1, piston: the sheet reads 539.0, the log 540.1, 540.3 (record ")
    sheet.write_text("cylinder,piston,piston\n1,540.3,540.1\n")
    assert job.load(path, sheet).digest == made.digest


def test_a_job_may_have_all_its_readings_in_the_log(tmp_path):
    path, log = logged(tmp_path, invented.document(parts=[]))
    for kind, grams in invented.PARTS.items():
        for number in range(1, 9):
            if kind != "rings":
                read(log, grams, number, kind)
    assert told(path)[0] == f"{path}: missing: rings of cylinders 1-8; weigh them: truethrow weigh {path}"
    read(log, 41.0, 0, "rings")
    for parts in job.load(path).parts.values():
        assert {kind: reading.mean_g for kind, reading in parts.items()} == invented.PARTS
    log.append(Struck(log.records[0].id))
    assert told(path) == [f"{path}: cylinder 1, piston: missing; allowed: a mass, 0.1 to 3000 g"]


def test_faults_of_the_log_name_it_and_the_record_and_come_with_the_others(tmp_path):
    path, log = logged(tmp_path, invented.document(bobweight={"share": 2}))
    wrong = [
        (read(log, 3000.5), "cylinder 1, piston", "3000.5 is beyond the scale"),
        (read(log, 0.05, 0, "locks"), "every cylinder, locks", "0.05 is below one step of the scale"),
        (read(log, -1.0, 2, "pin"), "cylinder 2, pin", "-1.0 is not above zero"),
        (read(log, 1.0, 9, "pin"), "cylinder 9, pin", "not in this layout; allowed: 1, 2"),
        (read(log, 1.0, 1, "wing\x1b"), "cylinder 1, wing\\x1b", "no part; allowed: piston"),
    ]
    for _ in range(21):
        last = read(log, 41.0, 3, "rings")
    wrong.append((last, "cylinder 3, rings", "21 readings of one part; allowed: at most 20"))
    lines = told(path)
    assert lines[0].startswith(f"{path}: bobweight, share")
    for record, where, found in wrong:
        assert [one for one in lines if one.startswith(f"{log.path}: {where}, record {record.id}: {found}")]
    assert len(lines) == len(wrong) + 1


def test_a_part_that_the_engine_is_declared_without_is_a_fault_of_the_log(tmp_path):
    without = {key: value for key, value in invented.PARTS.items() if key != "locks"}
    data = invented.document(
        parts=[{"number": n, **without} for n in range(1, 9)], engine=dict(invented.V8, without=["locks"])
    )
    path, log = logged(tmp_path, data)
    made = read(log, 3.2, 1, "locks")
    assert told(path) == [f"{log.path}: cylinder 1, locks, record {made.id}: the engine is declared without it"]


def test_a_log_that_cannot_be_read_is_one_fault_and_a_torn_line_none(tmp_path):
    path, log = logged(tmp_path)
    read(log, 540.1)
    with log.path.open("ab") as file:
        file.write(b'{"id":"a-1","at"')
    assert job.load(path).parts[1]["piston"].mean_g == 540.1
    log.path.unlink()
    log.path.mkdir()
    assert told(path) == [f"{log.path}: is a folder, not a file"]


def test_a_sheet_is_entered_whatever_the_log_says(tmp_path):
    data = invented.document(parts=[{"number": n, **invented.PARTS, "piston": ""} for n in range(1, 9)])
    path, log = logged(tmp_path, data)
    read(log, 540.1)
    read(log, 9999.0, 12, "pin")
    sheet = tmp_path / "weigh.csv"
    sheet.write_text("cylinder,piston\n1,539.0\n")
    assert enter.enter(path, sheet).new == 1


def test_a_reading_for_every_cylinder_stands_where_a_cylinder_has_none_of_its_own():
    parts = [{k: v for k, v in own.items() if k != "rings"} for own in invented.cylinders()]
    parts[0]["rings"] = 42.0
    made = invented.build(document(parts=parts, every_cylinder={"rings": 41.0}))
    assert [made.parts[n]["rings"].mean_g for n in (1, 2)] == [42.0, 41.0]
    assert made.parts[1]["rings"].cylinder == 1
    assert made.parts[2]["rings"] is made.parts[3]["rings"]
    assert made.parts[2]["rings"].cylinder is None


def test_a_sheet_of_labels_alone_goes_with_readings_that_stand_for_all(tmp_path):
    sheet = tmp_path / "weigh.csv"
    sheet.write_text("cylinder;piston;rod label\n" + "".join(f"{n};;R{n}\n" for n in range(1, 9)))
    made = invented.build(document(parts=[], every_cylinder=invented.PARTS), sheet)
    assert made.labels[8] == {"rod": "R8"}
    assert made.parts[8]["piston"].mean_g == 538.4
