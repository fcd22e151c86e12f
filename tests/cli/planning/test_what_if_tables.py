"""What if, as the screen has it: 80 columns, and no more than is known."""

import invented
import pytest

from truethrow.balance.correction.planes import TwoPlanes
from truethrow.balance.result.work import work
from truethrow.balance.running import changes as asked
from truethrow.balance.running.what_if import what_if
from truethrow.balance.station.by_now import Reading
from truethrow.cli.planning import what_if_tables as tables
from truethrow.cli.show import Screen
from truethrow.worksheets.shown.display import Display


@pytest.fixture
def screen(monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    return Screen()


def told(made, capsys, screen, show=None, **typed):
    changes = asked.read(made, **typed)
    found = what_if(work(made), asked.changed(made, changes))
    tables.parts(screen, found, changes, Display.of(made, show))
    return capsys.readouterr().out


LIMITS = {"piston": 1.0, "big_end": 1.0, "reciprocating": 2.0, "bobweight": 2.0}


@pytest.mark.parametrize("show", ["metric", "inch"])
@pytest.mark.parametrize(("layout", "count"), [("v12-60", 12), ("v8-90-crossplane", 8), ("inline-6", 6)])
def test_the_tables_fit_80_columns(capsys, screen, layout, count, show):
    scale = {"resolution": 0.1, "repeatability": None, "rod_end_repeatability": None}
    made = invented.build(
        invented.document(
            invented.cylinders(count, piston={3: 541.4}),
            engine=invented.V8 | {"layout": layout},
            limits=LIMITS,
            scale=scale,
            station={"limit": 300.0},
        )
    )
    said = told(made, capsys, screen, show, share="0.47", parts=["piston -12"])
    tabled = [line for line in said.splitlines() if "  " in line]
    assert len(tabled) > 15
    assert max(map(len, tabled)) <= 80


def test_a_change_has_its_sign_and_what_is_not_told_is_named(capsys, screen):
    engine = {k: v for k, v in invented.V8.items() if k not in ("stroke", "top_speed")}
    made = invented.build(invented.document(engine=engine, limits=LIMITS))
    said = told(made, capsys, screen, parts=["big end 1 +2", "piston 3 -0.4"])
    assert "+2.00" in said
    assert "-0.20" in said
    assert "Not told: what shakes, without top_speed in [engine]." in said
    assert "what hanging leaves" not in said


def test_one_figure_for_all_has_no_spread(capsys, screen):
    said = told(invented.build(invented.document(limits=LIMITS)), capsys, screen, parts=["piston = 530"])
    row = next(line for line in said.splitlines() if line.startswith("piston"))
    assert row.split() == ["piston", "1.0", "0.0", "inside", "one", "figure"]


def test_a_plane_that_reads_nothing_has_no_angle_and_no_plan_is_no_hole(capsys, screen):
    readings = Reading(TwoPlanes(1j, -4 + 0j)), Reading(TwoPlanes(400 - 1e-9j, 300j))
    tables.crank(screen, readings, (), Display("g", "mm", 0.1), has_tools=True, is_spun=False)
    said = capsys.readouterr().out
    assert "400 at 0°" in said
    assert "300 at 90°" in said
    rows = {line.split("  ")[0]: line.split()[-2:] for line in said.splitlines() if "  " in line}
    assert rows["holes"] == ["0", "0"]
    assert rows["inside then"] == ["yes", "yes"]
    assert next(line for line in said.splitlines() if line.startswith("front")).split()[1] == "0"
