"""The book as data: nothing is told of a state that nobody looked at."""

import json

from listed_job import AT, JOB

from truethrow.balance.book.stock import Loose, Move, PartHistory, Sitting, Weighing
from truethrow.worksheets.data import book_data


def test_a_job_tells_its_state_only_where_it_is_of_the_job_as_it_is():
    fresh = book_data.listed_as_data(JOB)
    assert (fresh["state"], fresh["blocked"], fresh["digest"]) == ("trimming", "to be ground: piston 3", "t01")
    stale = book_data.listed_as_data(JOB._replace(is_fresh=False))
    assert (stale["state"], stale["blocked"], stale["digest"]) == (None, None, None)
    assert fresh.keys() == stale.keys()
    assert (stale["revision"], stale["records"], stale["head"]) == (3, 12, "9a3e-71c4-12")


def test_a_part_has_all_that_is_known_of_it_as_plain_data():
    part = PartHistory(
        "rod",
        "R07",
        True,
        (Weighing(AT, "AB", 451.2, 171.3),),
        (Move(AT, "AB", "launch-7", 3),),
        (Sitting("pump-2", "rod", 1),),
    )
    data = book_data.part_as_data(part)
    assert json.loads(json.dumps(data)) == data
    assert data["weighings"] == [{"at": AT, "by": "AB", "big_end_g": 451.2, "other_g": 171.3}]
    assert data["moves"][0]["cylinder"] == 3
    assert data["sits"] == [{"job": "pump-2", "kind": "rod", "cylinder": 1}]


def test_a_loose_part_on_the_shelf_is_in_no_job():
    data = book_data.stock_as_data(Loose("pin", "N1", None, 112.1, "", "", AT, None, None, AT))
    assert (data["big_end_g"], data["other_g"], data["job"], data["cylinder"]) == (None, 112.1, None, None)
