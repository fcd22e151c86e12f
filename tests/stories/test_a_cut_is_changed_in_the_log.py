"""A hand changes a recorded cut in the log and seals all of it anew, so that nothing tells: the plan's own cut is
recorded beside it.

What went wrong: the changed line kept the name of the cut that it had been, and recording that cut ended in the
program's inside.
"""

import re

import by_hand
import pytest
from demo_shop import DemoShop
from within import log_path


def edited(tmp_path, field, says):
    """The demo with its plan recorded, and the first cut of it changed."""
    shop = DemoShop(tmp_path)
    shop.must("ground")
    lines = log_path(shop.file).read_bytes().splitlines()
    at = next(at for at, line in enumerate(lines) if b'"action":"cut"' in line)
    lines[at] = re.sub(field, says, lines[at], count=1)
    assert says in lines[at]
    made = by_hand.all_sealed_again(lines, at)
    log_path(shop.file).write_bytes(b"".join(line + b"\n" for line in made))
    return shop


@pytest.mark.parametrize(
    ("field", "says"), [(rb'"pad":"\w+"', b'"pad":"pin"'), (rb'"cylinder":\d+', b'"cylinder":5')]
)
def test_the_plans_cut_is_recorded_beside_the_changed_one(tmp_path, field, says):
    shop = edited(tmp_path, field, says)
    said = shop.must("ground")
    assert said.startswith("recorded: piston P28 (sits in 1), 3.2 g asked for at the piston pad\nRecorded in ")
    assert "every cut of the plan is recorded already" in shop.refuses("ground")


@pytest.mark.parametrize("grams", [b"-1.0", b"0.0", b"20000.5", b"10000.0"])
def test_a_cut_that_nobody_can_have_made_does_not_count_as_made(tmp_path, grams):
    """What went wrong: the plan was told as all recorded, by a cut of minus one gram."""
    shop = edited(tmp_path, rb'"grams":[^,]+', b'"grams":' + grams)
    for command in ("ground", "trim", "hang"):
        said = shop.refuses(command)
        assert "cut, cylinder 1, piston, record " in said, command
        assert f"{float(grams):g} g is no cut; allowed: above 0 and at most 10000 g" in said
    record = said.partition("record ")[2].partition(":")[0]
    shop.must("strike", record, "--yes", "--why", "no such cut")
    assert shop.must("ground").startswith("recorded: piston P28 (sits in 1), 3.2 g asked for at the piston pad\n")
