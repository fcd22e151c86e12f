"""What a weigh sheet contradicts: readings, and places that parts have left."""

from __future__ import annotations

import pytest
from commands import refused
from grinding_shop import one_piston
from told_apart import ROD_2_TO_1, accepted, told_apart

from truethrow.balance.job.enter import enter
from truethrow.balance.job.job import load
from truethrow.balance.result import plans


@pytest.fixture
def path(tmp_path):
    return told_apart(tmp_path)


def test_a_sheet_from_before_the_trades_is_refused_and_not_entered(path, tmp_path):
    accepted(path, ROD_2_TO_1)
    sheet = tmp_path / "weigh.csv"
    grams = load(path).parts[3]["big_end"].mean_g
    sheet.write_text(f"cylinder,big end\n1,452.6\n3,{grams}\n")
    assert refused(load, path, sheet).splitlines() == [
        f"{sheet}: cylinder 1, big end: parts have traded places since the sheet was written; "
        f"leave the sheet out; what has to be weighed again: truethrow weigh {path}"
    ]
    sheet.write_text("cylinder,big end,rod label\n3,452.6,\n2,,R2\n")
    assert "cylinder 2, rod: parts have traded places" in refused(load, path, sheet)
    sheet.write_text(f"cylinder,big end\n3,{grams}\n")  # this rod sits where it did
    assert load(path, sheet).digest == load(path).digest
    sheet.write_text("cylinder,rod total,pin\n2,624.0,112.3\n")
    assert "cylinder 2, rod total: parts have traded places since" in refused(enter, path, sheet)
    sheet.write_text("cylinder,rod total\n3,624.0\n")
    assert enter(path, sheet).new == 1
    accepted(path, {"rings": {5: 6, 6: 5}})
    sheet.write_text("cylinder,rod total,rings label\n5,624.0,A\n7,624.0,A\n")
    told = refused(enter, path, sheet).splitlines()
    assert told == [
        f"{sheet}: cylinder 5, rings: parts have traded places since the sheet was written; "
        f"leave the sheet out; what has to be weighed again: truethrow weigh {path}"
    ]


def test_a_whole_sheet_from_before_the_trades_is_one_line(path, tmp_path):
    accepted(path, {"rings": {1: 2, 2: 3, 3: 1}, "pin": {1: 2, 2: 3, 3: 1}, "rod": {1: 2, 2: 1}})
    sheet = tmp_path / "weigh.csv"
    rows = "".join(f"{n},112.1,41.0,452.3,171.2\n" for n in range(1, 9))
    sheet.write_text(f"cylinder,pin,rings,big end,small end\n{rows}")
    told = [line for line in refused(load, path, sheet).splitlines() if "traded places" in line]
    assert len(told) == 1
    assert "cylinders 1, 2, big end, small end; cylinders 1, 2, 3, pin, rings: parts have traded places" in told[0]


def test_a_sheet_cannot_say_what_a_part_weighs_that_was_cut_since(tmp_path):
    path, _ = one_piston(tmp_path)
    sheet = tmp_path / "weigh.csv"
    sheet.write_text("cylinder,piston,piston\n1,538.4,\n3,541.0,541.0\n")
    load(path, sheet)
    plans.record(path)
    assert (
        "cylinder 3, piston: cut since, as the log has it; leave the sheet out; what has to be weighed"
        in refused(load, path, sheet)
    )
    done = enter(path, sheet)  # the same as the file has
    assert (done.new, done.known, [part.said for part in done.cut]) == (0, 2, ["piston 3"])
    path.write_text(path.read_text().replace("piston = [541.0, 541.0]", ""), encoding="utf-8")
    assert "cylinder 3, piston: cut since, as the log has it" in refused(enter, path, sheet)
