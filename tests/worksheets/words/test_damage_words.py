"""What is said of a damaged line, and the commands that settle it."""

import kept
import pytest
from damaged_lines import CUT, READING, TRADE, damaged, records

from truethrow.balance.log.damage import AGAIN, NEVER
from truethrow.worksheets.words import damage_words as words


@pytest.mark.parametrize(
    ("number", "wholly", "said"),
    [
        (READING, False, "one bit is wrong; it said: read, cylinder 3, piston: 540.2, "),
        (CUT, False, "one bit is wrong; it said: cut, cylinder 3: 1.2 g asked for at the piston, "),
        (CUT, True, "can't be read any more: "),
    ],
)
def test_what_can_still_be_read_of_it_is_told(tmp_path, number, wholly, said):
    _, line = damaged(tmp_path, number, wholly=wholly)
    assert words.reads(line).startswith(said)
    assert words.reads(line).isprintable()


def test_each_way_out_is_a_command_ready_to_paste(tmp_path):
    lines = []
    for name, number, wholly in (("reading", READING, False), ("cut", CUT, False), ("lost", CUT, True)):
        (tmp_path / name).mkdir()
        lines.append(damaged(tmp_path / name, number, wholly=wholly)[1])
    reading, cut, lost = lines
    assert words.ways(reading, "my.toml") == ['truethrow acknowledge my.toml 2 --why "..." --by INITIALS']
    again, never = words.ways(cut, "my.toml")
    assert again.startswith("truethrow acknowledge my.toml 3 --entered-again --why ")
    assert never.startswith("truethrow acknowledge my.toml 3 --never-happened --why ")
    assert words.ways(lost, "my.toml")[0].startswith(
        "truethrow acknowledge my.toml 3 --entered-again --figures 'FIGURES' --why "
    )


@pytest.mark.parametrize(
    ("number", "wholly", "way", "steps"),
    [
        (READING, False, "noted", ["weigh that part again"]),
        (CUT, False, AGAIN, ["it counts again, in its place", "weigh that part again"]),
        (CUT, False, NEVER, ["weigh that part again"]),
        (TRADE, False, NEVER, ["who sits where is in doubt"]),
        (CUT, True, NEVER, ["what the line said can't be known", "if the crank has been spun, spin it again"]),
    ],
)
def test_what_was_said_of_a_part_is_weighed_again(tmp_path, number, wholly, way, steps):
    path, line = damaged(tmp_path, number, wholly=wholly)
    told = words.next_steps(records(path), line, way, str(path))
    assert len(told) == len(steps)
    for said, begins in zip(told, steps, strict=True):
        assert said.startswith(begins)
    assert str(path) in told[-1]


@pytest.mark.parametrize(
    "record",
    [kept.spun("t1", "1@2", "3@4"), kept.drilled("s-1"), kept.hung("s-1", "1@2", "3@4"), kept.signed("s-1")],
    ids=lambda record: record.action,
)
def test_what_the_station_wrote_is_spun_again(record):
    assert words.next_steps_of(record, "my.toml") == [
        "spin again before anything is drilled or signed: truethrow spin my.toml FRONT REAR"
    ]
