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


@pytest.mark.parametrize(
    ("field", "says"), [(rb'"pad":"\w+"', b'"pad":"pin"'), (rb'"cylinder":\d+', b'"cylinder":5')]
)
def test_the_plans_cut_is_recorded_beside_the_changed_one(tmp_path, field, says):
    shop = DemoShop(tmp_path)
    shop.must("ground")
    lines = log_path(shop.file).read_bytes().splitlines()
    at = next(at for at, line in enumerate(lines) if b'"action":"cut"' in line)
    lines[at] = re.sub(field, says, lines[at], count=1)
    made = by_hand.all_sealed_again(lines, at)
    log_path(shop.file).write_bytes(b"".join(line + b"\n" for line in made))
    said = shop.must("ground")
    assert said.startswith("recorded: piston P28 (sits in 1), 3.2 g asked for at the piston pad\nRecorded in ")
    assert "every cut of the plan is recorded already" in shop.refuses("ground")
