"""A tablet at the bench, dirty hands, a cable that is pulled and a computer that goes down twice: whatever the
screen acknowledged is in the log once, and the station's sheet is the one that the command line makes of the same
readings."""

from __future__ import annotations

import csv
import json

import pytest
from commands import run
from floor_tablet import KINDS, Hand, Server, Tablet, browser, free_port, masses_g
from within import demo, log_path

# In the middle of the work: the cable out under a part, the server killed with a part on the scale, and a reading
# typed while it is down.
CABLE_OUT_AT, KILLED_AT, TYPED_WHILE_DOWN_AT = 5, 12, 20


def readings(job):
    lines = [json.loads(line) for line in log_path(job).read_text(encoding="utf-8").splitlines()]
    return [(one["cylinder"], one["kind"], one["typed"]) for one in lines if one["action"] == "read"]


def figures(sheet):
    """A station's sheet without how far the log had come."""
    with sheet.open(encoding="utf-8", newline="") as file:
        return [{name: text for name, text in row.items() if name != "log_head"} for row in csv.DictReader(file)]


@pytest.mark.xdist_group("floor under load")
def test_every_acknowledged_reading_is_there_once(tmp_path):
    job, _ = demo.copy_into(tmp_path / "floor")
    masses, hand = masses_g(), Hand()
    server = Server(tmp_path / "floor", free_port(), "--scale", hand.port, "--by", "AB")
    try:
        with browser() as opened:
            tablet = Tablet(opened.new_page(), f"{server.address}/bench/launch")
            acknowledged = weigh_all(tablet, hand, server, masses)
    finally:
        server.kill()
        hand.close()
    found = readings(job)
    assert {*acknowledged} <= {*found}
    assert len(acknowledged) > 25
    assert len({(cylinder, kind) for cylinder, kind, _ in found}) == len(found) == len(masses) == 32

    twin, _ = demo.copy_into(tmp_path / "typed")
    typed = "".join(f"go {cylinder} {kind}\n{text}\n" for cylinder, kind, text in found)
    assert run("weigh", twin, stdin=typed).status in (0, 1)
    sheets = tmp_path / "floor.csv", tmp_path / "typed.csv"
    for one, sheet in zip((job, twin), sheets, strict=True):
        assert run("send", one, "--out", sheet).status in (0, 1)
    assert figures(sheets[0]) == figures(sheets[1]) != []


def weigh_all(tablet, hand, server, masses):
    """Weigh what the screen asks for until it asks for nothing more; what it said was taken."""
    acknowledged, mishaps = [], {CABLE_OUT_AT: "cable", KILLED_AT: "killed", TYPED_WHILE_DOWN_AT: "typed"}
    while (step := tablet.asks()) != "done":
        if step == "zero":  # it is taken by itself
            tablet.until(lambda: tablet.asks() != "zero")
            continue
        *words, number = step.split()
        kind, cylinder = KINDS[words[0]], int(number)
        hand.lies_g, typed = masses[kind, cylinder], f"{masses[kind, cylinder]:.1f}"
        mishap = mishaps.pop(len(acknowledged), "")
        if mishap == "cable":
            hand.pull_out()
            tablet.until(lambda: tablet.says("scale") == "lost")
            hand.lies_g = 0.0
            hand.plug_in()
            tablet.until(lambda: tablet.says("scale") == "live" and tablet.text("hold") == "")
            continue
        if mishap == "killed":  # whether it was taken just before, the screen says once it is back
            server.kill()
            tablet.until(lambda: tablet.says("line") == "lost")
            hand.lies_g = 0.0
            server.start()
            continue
        if mishap == "typed":
            server.kill()
            hand.lies_g = 0.0
            tablet.until(lambda: tablet.says("line") == "lost")
            assert tablet.text("live.text") == ""
            tablet.types(typed)
            tablet.until(lambda: tablet.page.is_visible("#unsent"))
            hand.lies_g = 30.0  # a tool on the scale: the bench cannot read its zero before the reading arrives
            server.start()
            tablet.until(lambda: not tablet.page.is_visible("#unsent"))
            assert tablet.asks() == "zero"
            hand.lies_g = 0.0
            tablet.until(lambda: tablet.asks() not in ("zero", step))
        else:
            typed += " g"
            tablet.until(lambda: tablet.asks() != step or tablet.says("standing") in ("held", "early"))
            if tablet.asks() == step and tablet.says("standing") == "early":  # too soon after the cable was back
                hand.lies_g = 0.0
                tablet.until(lambda: tablet.says("standing") == "empty" and tablet.text("hold") == "")
                continue
            if tablet.asks() == step:  # is this the part? somebody looks, and it is
                tablet.page.click("[data-action='take']")
        tablet.until(lambda: tablet.asks() != step)
        acknowledged.append((cylinder, kind, typed))
        hand.lies_g = 0.0
        tablet.until(lambda: tablet.says("standing") == "empty" and tablet.text("hold") == "")
    assert mishaps == {}
    return acknowledged
