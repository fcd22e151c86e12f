"""A blank job and its blank sheet: filled in, they are sound, whatever the layout."""

from __future__ import annotations

import re

import invented
import pytest

from truethrow.balance.base.errors import BadInput
from truethrow.balance.base.fields import Units
from truethrow.balance.base.parts import KINDS
from truethrow.balance.engine.layout import GENERIC
from truethrow.balance.job import blank, job, weighsheet

LENGTHS = {"stroke": "92.0", "rod_length": "155.0", "cylinder_spacing": "112.0"}
WEIGHED = [kind.name for kind in KINDS if kind.motion != "check"]


def filled(text: str, values: dict[str, str]) -> str:
    for key, value in values.items():
        text = text.replace(f'\n{key} = ""', f"\n{key} = {value}")
    return text


def readings() -> dict[str, str]:
    return {kind: str(invented.PARTS[kind]) for kind in WEIGHED}


@pytest.mark.parametrize("layout", GENERIC)
def test_a_blank_job_with_its_blanks_filled_in_is_sound(layout):
    text = filled(blank.job(layout), LENGTHS | readings())
    assert [line for line in text.splitlines() if '""' in line and line[0] != "#"] == ['title = ""']
    made = job.build(text)
    assert made.engine.layout_name == layout
    assert list(made.parts) == [int(n) for n in re.findall(r"^number = (\d+)$", text, re.M)]
    assert {place.bank for place in made.layout.places} == set(GENERIC[layout].banks)


@pytest.mark.parametrize("layout", GENERIC)
def test_a_blank_job_asks_for_readings_and_for_nothing_else(layout):
    with pytest.raises(BadInput) as caught:
        job.build(blank.job(layout))
    places = [fault.where for fault in caught.value.faults]
    cylinders = blank.job(layout).count("[[cylinder]]")
    assert places == [f"cylinder {n}, {kind}" for n in range(1, cylinders + 1) for kind in WEIGHED]


@pytest.mark.parametrize("layout", GENERIC)
def test_a_blank_sheet_is_read_without_a_fault_and_names_every_cylinder(layout, tmp_path):
    path = tmp_path / "weigh.csv"
    path.write_text(blank.sheet(layout))
    read = weighsheet.read(path, Units())
    assert not read.faults
    assert not read.readings
    assert len(read.written) == blank.job(layout).count("[[cylinder]]")


@pytest.mark.parametrize("mark", [".", ","])
@pytest.mark.parametrize("layout", GENERIC)
def test_a_blank_job_takes_its_readings_from_the_blank_sheet_filled_in(layout, mark, tmp_path):
    path = tmp_path / "weigh.csv"
    head, *rows = blank.sheet(layout).splitlines()
    cells = [f"{value}".replace(".", mark) for value in (*readings().values(), 623.5)]
    path.write_text("\n".join([head, *(";".join([row.split(";")[0], *cells, "R", "P"]) for row in rows)]))
    made = job.build(filled(blank.job(layout), LENGTHS), "", path)
    assert {kind: made.parts[1][kind].mean_g for kind in WEIGHED} == invented.PARTS
    assert made.parts[1]["rod_total"].mean_g == 623.5
    assert made.labels[1] == {"rod": "R", "piston": "P"}


def test_the_commented_lines_of_a_blank_job_are_sound_once_uncommented():
    text = filled(blank.job("v8-90-crossplane"), LENGTHS | readings())
    spoken = (
        "# A job",
        "# any quantity",
        "# What the makers",
        "# One reading",
        "# without",
        "# rings",
        "# [every",
    )
    text = "\n".join(
        line if line.startswith(spoken) or not line.startswith("# ") else line[2:] for line in text.splitlines()
    )
    text = text.replace("bore = 0.0", "bore = 105.0").replace("top_speed = 0 ", "top_speed = 5600 ")
    made = job.build(text.replace("rear_plane = 0.0", "rear_plane = 336.0"))
    assert made.engine.bore_mm == 105.0
    assert made.station.grade_mm_s == 6.3
    assert not made.pads_assumed
