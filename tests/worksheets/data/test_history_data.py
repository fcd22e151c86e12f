"""The records of a log as data."""

import json

from told_apart import told_apart

from truethrow.balance.base.beside import log_path
from truethrow.balance.job.history import events
from truethrow.balance.job.undoing import cancel, of_record
from truethrow.balance.log import lines
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Traded, Weighed
from truethrow.worksheets.data.history_data import as_data


def test_a_record_has_all_its_fields_its_parts_and_what_struck_it(tmp_path):
    path = told_apart(tmp_path)
    log = ReadingLog(log_path(path), by="AB")
    taken = log.append(Weighed(3, "big_end", 452.6, "452,6"))
    cancel(path, of_record(path, taken.id), "the wrong rod", by="CD")
    data = [as_data(event) for event in events(path)]
    assert json.loads(json.dumps(data)) == data
    assert data[0] | {"parts": ()} == lines.as_data(taken) | {"struck_by": data[1]["id"], "parts": ()}
    (rod,) = data[0]["parts"]
    assert (rod["cylinder"], rod["label"]) == (3, "R3")
    assert (data[1]["of"], data[1]["why"], data[1]["struck_by"]) == (taken.id, "the wrong rod", None)


def test_parts_that_trade_places_say_where_they_go(tmp_path):
    path = told_apart(tmp_path)
    ReadingLog(log_path(path)).append(Traded({"rod": {1: 2, 2: 1}}, "m1"))
    (data,) = (as_data(event) for event in events(path))
    assert {(part["label"], part["goes_in"]) for part in data["parts"]} == {("R1", 2), ("R2", 1)}
