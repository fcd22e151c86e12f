"""What a record is struck by, and what was written again for one."""

from truethrow.balance.log.records import ACTIONS, STATION_ACTIONS, Record, again_id, struck_ids


def record(key, action, of=""):
    return Record(key, "", "", "", action, None, "", None, "", of, "")


def test_what_is_struck_is_what_a_strike_is_of_and_nothing_else():
    records = [record("a-1", "cut", "p1"), record("a-2", "strike", "a-1"), record("a-3", "sign", "a-9")]
    assert struck_ids(records) == {"a-1"}


def test_what_was_written_again_has_an_id_by_which_its_line_is_found():
    lines = [record(f"damaged-{n}", "damaged", str(n)) for n in (1, 11)]
    assert len({again_id(line) for line in lines}) == 2
    assert all(again_id(line).startswith(line.id) and again_id(line) != line.id for line in lines)


def test_no_bench_writes_that_a_line_is_damaged():
    """That is found when a log is read; were it an action, a line could claim it of another."""
    assert "damaged" not in ACTIONS
    assert set(STATION_ACTIONS) < set(ACTIONS)
