"""A blank job and its blank sheet: filled in, they are sound, whatever the layout."""

from __future__ import annotations

import datetime
import re
import tomllib

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
    text = filled(blank.job(blank.Wanted(layout, "new"), every_key=True), LENGTHS | readings())
    assert [line for line in text.splitlines() if '""' in line and line[0] != "#"] == ['title = ""']
    made = job.build(text)
    assert made.engine.layout_name == layout
    assert list(made.parts) == [int(n) for n in re.findall(r"^number = (\d+)$", text, re.M)]
    assert {place.bank for place in made.layout.places} == set(GENERIC[layout].banks)


@pytest.mark.parametrize("layout", GENERIC)
def test_a_blank_job_asks_for_readings_and_for_nothing_else(layout):
    with pytest.raises(BadInput) as caught:
        job.build(blank.job(blank.Wanted(layout, "new"), every_key=True))
    places = [fault.where for fault in caught.value.faults]
    cylinders = blank.job(blank.Wanted(layout, "new"), every_key=True).count("[[cylinder]]")
    assert places == [f"cylinder {n}, {kind}" for n in range(1, cylinders + 1) for kind in WEIGHED]


@pytest.mark.parametrize("layout", GENERIC)
def test_a_blank_sheet_is_read_without_a_fault_and_names_every_cylinder(layout, tmp_path):
    path = tmp_path / "weigh.csv"
    path.write_text(blank.sheet(layout))
    read = weighsheet.read(path, Units())
    assert not read.faults
    assert not read.readings
    assert len(read.written) == blank.job(blank.Wanted(layout, "new"), every_key=True).count("[[cylinder]]")


@pytest.mark.parametrize("mark", [".", ","])
@pytest.mark.parametrize("layout", GENERIC)
def test_a_blank_job_takes_its_readings_from_the_blank_sheet_filled_in(layout, mark, tmp_path):
    path = tmp_path / "weigh.csv"
    head, *rows = blank.sheet(layout).splitlines()
    cells = [f"{value}".replace(".", mark) for value in (*readings().values(), 623.5)]
    path.write_text("\n".join([head, *(";".join([row.split(";")[0], *cells, "R", "P"]) for row in rows)]))
    made = job.build(filled(blank.job(blank.Wanted(layout, "new"), every_key=True), LENGTHS), "", path)
    assert {kind: made.parts[1][kind].mean_g for kind in WEIGHED} == invented.PARTS
    assert made.parts[1]["rod_total"].mean_g == 623.5
    assert made.labels[1] == {"rod": "R", "piston": "P"}


def test_the_commented_lines_of_a_blank_job_are_sound_once_uncommented():
    wanted = blank.Wanted("v8-90-crossplane", "new")
    text = filled(blank.job(wanted, every_key=True), LENGTHS | readings())
    is_key = re.compile(r"^# (?!without|rings|\[every)(?=\[|\w+ = )")
    text = "\n".join(is_key.sub("", line) for line in text.splitlines())
    made = job.build(text)
    assert made.engine.bore_mm == 105.0
    assert made.station.grade_mm_s == 6.3
    assert made.match.fixed
    assert not made.pads_assumed


@pytest.mark.parametrize("layout", GENERIC)
def test_a_new_job_is_short_and_asks_for_weights_alone(layout):
    text = blank.job(blank.Wanted(layout, "new"))
    assert len(text.splitlines()) <= 35
    assert max(map(len, text.splitlines())) <= 115
    made = job.build(text, partly=True)
    assert {fault.to_weigh.why for fault in made.waiting} == {"missing"}
    assert not made.engine.declared_stroke_mm


def test_what_a_new_job_is_to_say_it_says():
    masses = {kind: f"{value} g" for kind, value in invented.PARTS.items() if kind != "locks"}
    wanted = blank.Wanted(
        "v8-90-crossplane",
        'no. "7"',
        "two \\ words",
        "oz",
        "in",
        "0.5 g",
        {"stroke": "3 3/4", "rod_length": "6.385 in"},
        "0.52",
        "4 g",
        masses,
        ["locks"],
    )
    made = job.build(blank.job(wanted))
    assert (made.id, made.title, made.mass_unit, made.length_unit) == ('no. "7"', "two \\ words", "oz", "in")
    assert made.engine.stroke_mm == 95.25
    assert made.engine.rod_length_mm == pytest.approx(162.179)
    assert (made.share, made.oil_g, made.scale.resolution_g, made.engine.without) == (
        0.52,
        (4.0,) * 4,
        0.5,
        ("locks",),
    )
    assert made.parts[8]["piston"].mean_g == invented.PARTS["piston"]
    assert made.limits_g["piston"] == 1.0


def test_a_sheet_has_the_units_of_its_job():
    assert blank.sheet("inline-1", "oz").startswith("cylinder;piston [oz];pin [oz];")


def test_an_id_is_what_it_is_called_the_day_and_letters_and_never_the_layouts_name():
    day = datetime.date(2027, 1, 5)
    assert blank.new_id("my engine/2", day, "k7qd") == "my-engine-2-270105-k7qd"
    assert blank.new_id("..", day, "k7qd") == "job-270105-k7qd"
    assert len(blank.new_id("x" * 200, day, "k7qd")) <= 64
    assert not set("01iloIO") & set(blank.LETTERS)
    assert tomllib.loads(blank.job(blank.Wanted("inline-3", "one")))["job"]["id"] == "one"


@pytest.mark.parametrize("layout", GENERIC)
def test_the_keys_of_rods_side_by_side_are_there_where_two_share_a_pin_and_hold_as_they_are(layout):
    text = filled(blank.job(blank.Wanted(layout, "new"), every_key=True), LENGTHS | readings())
    said = re.sub(r"^# (rods_apart|rod_in_front) ", r"\1 ", text, flags=re.M)
    one = GENERIC[layout]
    assert (said != text) == (len(one.banks) == 2 and not one.pin_a_cylinder)
    assert job.build(said).engine.rods_apart_mm == (24.0 if said != text else None)
