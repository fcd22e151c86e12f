"""The job: every fault of it in one answer, and what its digest stands for."""

from __future__ import annotations

import re
from decimal import Decimal

import invented
import pytest
from examples import examples
from full_document import PADS, at, document, faults, one_fault, whole, with_reading
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance import demo
from truethrow.balance.base.errors import BadInput
from truethrow.balance.base.parts import KINDS
from truethrow.balance.job import job
from truethrow.balance.result.bobweight import bobweights


def test_the_invented_documents_are_sound():
    assert invented.build(document()).layout.cylinders == tuple(range(1, 9))
    assert invented.build(whole()).engine.layout_name == "v8-90-crossplane"


@pytest.mark.parametrize("table", ["job", "engine", "scale"])
def test_a_needed_table_that_is_missing_is_named(table):
    assert f"{table}: missing; allowed: a table [{table}]" in faults(document(**{table: None}))


@pytest.mark.parametrize("number", [0, -3, 100])
def test_a_cylinder_number_out_of_reach_is_told_once(number):
    parts = [*invented.cylinders(), {"number": number, **invented.PARTS}]
    assert one_fault(document(parts=parts)).startswith(f"cylinder {number}, number: ")


@pytest.mark.parametrize(
    ("tables", "said"),
    [
        ({"limits": {"piston": 0.05}}, "limits, piston: 0.05 g is finer than the scale"),
        (
            {"scale": {"resolution": 0.1, "rod_end_repeatability": None, "rod_end_repeatability_from": 9}},
            "scale, rod_end_repeatability_from: says how well a rod_end_repeatability is known that is not there; "
            "allowed: with rod_end_repeatability beside it",
        ),
        (
            {"scale": {"resolution": 0.1, "repeatability": 0.1, "repeatability_from": 0}},
            "scale, repeatability_from: 0; allowed: a whole number from 1 to 10000",
        ),
        ({"bobweight": {"oil": [4, 4]}}, "bobweight, oil: 2 values for 4 throws; allowed: one value, or 4"),
        (
            {"trim": PADS | {"big_end_pad": {"at": 182, "most": 1}}},
            "trim, big_end_pad, at: 182 mm is at the small end",
        ),
        (
            {"trim": PADS | {"small_end_pad": {"at": -48, "most": 1}}},
            "trim, small_end_pad, at: -48 mm is at the big end",
        ),
        (
            {"station": {"front_plane": 380, "rear_plane": -40}},
            "station, front_plane: 380 mm is not in front of rear_plane",
        ),
        ({"station": {"grade": 6.3}}, "station, grade: needs crank_mass"),
    ],
)
def test_what_only_two_tables_together_show_is_refused(tables, said):
    assert one_fault(document(**tables)).startswith(said)


def test_ten_faults_in_ten_places_are_one_answer():
    data = document(
        job={"id": "", "mass_unit": "mm"},
        engine=invented.V8 | {"stroke": "long", "bor": 1},
        scale={"resolution": 0.1, "capacity": 3000, "tared": "no"},
        bobweight={"share": 2},
        limits={"pistn": 1.0},
        trim={"piston": -1},
        station={"grade": 0},
        every_cylinder={"locks": "x", "rings": 41.0},
    )
    data["cylinder"][0]["pin"] = -1
    data["cylinder"] = data["cylinder"][:-1]
    found = [line.split(":")[0] for line in faults(data)]
    assert found == [
        *("job, id", "job, mass_unit", "scale, tared", "engine, stroke", "engine", "bobweight, share"),
        *("limits", "trim, piston", "station, grade", "every_cylinder, locks", "cylinder 1, pin"),
        *(f"cylinder 8, {kind}" for kind in invented.PARTS if kind not in ("locks", "rings")),
    ]


def digest(text: str) -> str:
    return job.build(text).digest


BASE = invented.text(document())


def reordered() -> str:
    data = document()
    turned = dict(reversed(data.items()))
    turned["engine"] = dict(reversed(data["engine"].items()))
    turned["cylinder"] = [dict(reversed(own.items())) for own in reversed(data["cylinder"])]
    return invented.text(turned)


@pytest.mark.parametrize(
    "text",
    [
        BASE + "\n# a remark\n",
        BASE.replace("\n", "\r\n"),
        BASE.replace("538.4", "538.40"),
        BASE.replace("538.4", '"538.40 g"'),
        BASE.replace("538.4", '"0.5384 kg"'),
        BASE.replace("stroke = 92.0", 'stroke = "9.2 cm"'),
        BASE.replace("[bobweight]", '[bobweight]\nhang = "mean"'),
        reordered(),
    ],
    ids=["comment", "line ends", "zeros", "text", "kg", "cm", "default", "order"],
)
def test_the_digest_does_not_see_how_a_job_is_written(text):
    assert text != BASE
    assert digest(text) == digest(BASE)


@pytest.mark.parametrize("kind", [kind.name for kind in KINDS if kind.motion != "check"])
def test_the_digest_sees_every_mass(kind):
    assert digest(invented.text(with_reading(invented.PARTS[kind] + 0.1, kind))) != digest(BASE)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("share = 0.5", "share = 0.48"),
        ("oil = 4.0", "oil = 4.1"),
        ("resolution = 0.1", "resolution = 0.2"),
        ("stroke = 92.0", "stroke = 92.1"),
        ('id = "launch-7"', 'id = "launch-8"'),
        ('id = "launch-7"', 'id = "launch-7"\ntitle = "Launch"'),
    ],
)
def test_the_digest_sees_whatever_a_figure_or_a_name_depends_on(old, new):
    assert old in BASE
    assert digest(BASE.replace(old, new)) != digest(BASE)


@pytest.mark.parametrize(
    ("old", "new"),
    [("at = -48.0", "at = -49.0"), ("closure = 0.5", "closure = 0.6"), ("grade = 6.3", "grade = 2.5")],
)
def test_the_digest_passes_over_what_the_stations_sheet_does_not_show(old, new):
    assert old in BASE
    assert digest(BASE.replace(old, new)) == digest(BASE)


def test_a_digest_is_no_number_to_a_spreadsheet():
    assert re.fullmatch("t[0-9a-f]{15}", digest(BASE))


def test_a_mean_of_unlike_throws_is_refused():
    engine = {
        "stroke": 92.0,
        "rod_length": 155.0,
        "throw_angles": [0, [180, 210]],
        "banks": {"left": 45.0, "right": -45.0},
        "cylinder_spacing": 112.0,
        "cylinders": {
            "1": {"throw": 1, "bank": "left"},
            "2": {"throw": 1, "bank": "right"},
            "3": {"throw": "2a", "bank": "left"},
            "4": {"throw": "2b", "bank": "right"},
        },
    }
    data = invented.document(invented.cylinders(4), engine=engine)
    with pytest.raises(BadInput, match="bobweight, hang: the throws carry different numbers"):
        invented.build(data)
    assert invented.build(data | {"bobweight": {"hang": "own"}})


def test_a_title_in_other_letters_is_another_title():
    titled = [BASE.replace("[job]", f'[job]\ntitle = "{title}"') for title in ("Launch", "launch")]
    assert digest(titled[0]) != digest(titled[1])


def throws_g(made):
    return [throw.bobweight.value_g for throw in bobweights(made).throws]


def test_a_job_in_ounces_gives_the_bobweights_of_the_same_job_in_grams():
    ounce = Decimal("28.349523125")
    parts = [
        {k: v if k == "number" else float(Decimal(repr(v)) / ounce) for k, v in own.items()}
        for own in invented.cylinders(piston={3: 540.2}, big_end={6: 449.9})
    ]
    in_oz = invented.document(
        parts,
        job={"id": "launch-7", "mass_unit": "oz"},
        scale={"resolution": "0.1 g", "capacity": "3 kg"},
        bobweight={"share": 0.5, "oil": "4 g"},
    )
    in_g = invented.document(invented.cylinders(piston={3: 540.2}, big_end={6: 449.9}))
    assert throws_g(invented.build(in_oz)) == pytest.approx(throws_g(invented.build(in_g)), abs=1e-9)


def test_the_faults_of_job_and_sheet_come_together_each_with_its_file(tmp_path):
    sheet = tmp_path / "weigh.csv"
    sheet.write_text("cylinder;piston\n1;x\n9;538,4\n2;538,4;;5\n")
    with pytest.raises(BadInput) as caught:
        invented.build(document(parts=invented.cylinders()[1:], bobweight={"share": 2}), sheet)
    lines = caught.value.lines()
    assert [line for line in lines if line.startswith("invented.toml: bobweight, share: ")]
    for said in (
        "row 2, cylinder 1, piston: 'x'",
        "row 4: 4 columns",
        "missing: pin, locks, rings, both rod ends, bearings of cylinder 1; fill them in, or weigh them",
        "cylinder 9: not in",
    ):
        assert [line for line in lines if line.startswith(f"{sheet}: {said}")]


def test_a_sheet_that_cannot_be_read_is_one_fault_and_not_one_for_every_part(tmp_path):
    data = document(parts=[])
    for name, raw in (("none.csv", None), ("bytes.csv", b"\xff\xff"), ("open.csv", b'cylinder;piston\n1;"5\n')):
        path = tmp_path / name
        if raw is not None:
            path.write_bytes(raw)
        assert len(faults(data, sheet=path)) == 1


junk = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.integers(10**400, 10**410)
    | st.floats()
    | st.text(max_size=20)
    | st.sampled_from(["1e400", "9**9**9", "1 g/", "538,4", "01", "\x1b[31m", "mean", "left", "1a"]),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=6,
)


def paths(data, path=()):
    yield path
    inner = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for step, value in inner:
        yield from paths(value, (*path, step))


PATHS = [path for path in paths(whole()) if path and (path[0] != "cylinder" or path[1:2] in ((), (0,)))]


def without_none(value):
    if isinstance(value, dict):
        return {key: without_none(inner) for key, inner in value.items() if inner is not None}
    if isinstance(value, list):
        return [without_none(inner) for inner in value if inner is not None]
    return "" if value is None else value


@given(st.sampled_from(PATHS), junk)
@examples(300)
def test_a_sound_job_with_junk_in_any_one_place_is_a_job_or_bad_input(path, value):
    data = whole()
    at(data, path[:-1])[path[-1]] = without_none(value)
    try:
        made = job.build(invented.text(data))
    except BadInput as error:
        assert error.faults
        assert str(error).replace("\n", "").isprintable()
    else:
        assert made.digest


def test_the_demo_is_a_sound_job(tmp_path):
    made = job.load(*demo.copy_into(tmp_path))
    assert made.id == "launch-7"
    assert made.labels[1] == {"rod": "R11", "piston": "P28"}


def test_a_part_that_is_absent_need_not_be_weighed_and_one_that_is_keeps_its_reading(tmp_path):
    path = tmp_path / "job.toml"
    parts = invented.cylinders(piston={3: ""})
    path.write_text(invented.text(invented.document(parts)), encoding="utf-8")
    made = job.load(path, absent=("piston", 3))
    assert made.parts[3]["piston"].mean_g == job.ABSENT_G
    assert job.load(path, absent=("piston", 3)).parts[4]["piston"].mean_g == invented.PARTS["piston"]
    with pytest.raises(BadInput, match="missing"):
        job.load(path, absent=("piston", 4))
    del parts[2]["piston"], parts[2]["big_end"]
    path.write_text(invented.text(invented.document(parts)), encoding="utf-8")
    with pytest.raises(BadInput, match="big"):
        job.load(path, absent=("piston", 3))
