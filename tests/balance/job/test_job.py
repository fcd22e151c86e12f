"""The job: what a document may say, every fault of it in one answer, and what its digest stands for."""

from __future__ import annotations

import re
from copy import deepcopy
from decimal import Decimal

import invented
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from truethrow.balance import demo
from truethrow.balance.base.errors import BadInput
from truethrow.balance.base.parts import KINDS
from truethrow.balance.job import job
from truethrow.balance.result.bobweight import bobweights

PADS = {
    "piston": 6.0,
    "pin": 0.0,
    "big_end_pad": {"at": -48.0, "most": 9.0},
    "small_end_pad": {"at": 182.0, "most": 5.0},
}
FULL = {
    "limits": {"piston": 1.0, "big_end": 1.0, "closure": 0.5},
    "trim": PADS,
    "station": {"front_plane": -40.0, "rear_plane": 380.0, "crank_mass": "24.3 kg", "grade": 6.3},
}
# Every table of a document, as the path to it, with a key that it has.
TABLES = {
    ("job",): "title",
    ("engine",): "stroke",
    ("engine", "cylinders", "1"): "throw",
    ("scale",): "resolution",
    ("bobweight",): "share",
    ("limits",): "big_end",
    ("trim",): "piston",
    ("trim", "big_end_pad"): "most",
    ("station",): "grade",
    ("every_cylinder",): "locks",
    ("cylinder", 0): "piston",
    ("cylinder", 0, "labels"): "rings",
}
PLACES = {
    str(number): {"throw": (number + 1) // 2, "bank": "left" if number % 2 else "right"} for number in range(1, 9)
}


def document(**tables):
    return deepcopy(invented.document(**(FULL | tables)))


def engine(**changes):
    return document(engine=invented.V8 | changes)


def whole():
    """A document in which every table stands."""
    made = document(every_cylinder={"locks": 3.2})
    made["engine"]["cylinders"] = {number: dict(place) for number, place in PLACES.items()}
    made["cylinder"][0]["labels"] = {"rod": "R1"}
    return made


def at(data, path):
    for step in path:
        data = data[step]
    return data


def faults(data, **kwargs):
    with pytest.raises(BadInput) as caught:
        invented.build(data, **kwargs)
    return [str(fault) for fault in caught.value.faults]


def one_fault(data):
    (found,) = faults(data)
    return found


def with_reading(value, kind="piston", number=3):
    return document(parts=invented.cylinders(**{kind: {number: value}}))


def test_the_invented_documents_are_sound():
    assert invented.build(document()).layout.cylinders == tuple(range(1, 9))
    assert invented.build(whole()).engine.layout_name == "v8-90-crossplane"


@pytest.mark.parametrize("path", [(), *TABLES], ids=lambda path: ".".join(map(str, path)) or "top level")
def test_a_misspelt_key_is_refused_in_every_table_with_the_one_it_resembles(path):
    data = whole()
    key = TABLES[path] if path else "bobweight"
    misspelt = f"{key}x"
    at(data, path)[misspelt] = {} if not path else 1
    assert any(f"'{misspelt}' is not known here (did you mean {key}?)" in line for line in faults(data))


@pytest.mark.parametrize("table", ["job", "engine", "scale"])
def test_a_needed_table_that_is_missing_is_named(table):
    assert f"{table}: missing; allowed: a table [{table}]" in faults(document(**{table: None}))


@pytest.mark.parametrize("table", ["job", "engine", "scale", "bobweight", "limits", "trim", "station"])
@pytest.mark.parametrize("value", [1, "x", [], True])
def test_what_is_no_table_is_refused(table, value):
    assert any(
        line.startswith(f"{table}: ") and "is not a table" in line for line in faults(document(**{table: value}))
    )


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("scale", "tared"), 1),
        (("scale", "tared"), "yes"),
        (("bobweight", "share"), "0.5"),
        (("bobweight", "share"), True),
        (("bobweight", "share"), 1.01),
        (("bobweight", "share"), -0.01),
        (("bobweight", "share"), 10**400),
        (("bobweight", "hang"), "median"),
        (("bobweight", "hang"), 0),
        (("bobweight", "hang"), True),
        (("job", "id"), 7),
        (("job", "id"), " "),
        (("job", "id"), "x" * 65),
        (("job", "title"), "a\nb"),
        (("job", "title"), "\x1b[31mred"),
        (("job", "mass_unit"), "mm"),
        (("job", "mass_unit"), 1),
        (("job", "length_unit"), "g"),
        (("engine", "layout"), 8),
        (("engine", "numbering"), "by bank"),
        (("engine", "first_bank"), "lef"),
        (("engine", "without"), ["lock"]),
        (("engine", "without"), "locks"),
        (("engine", "throw_angles"), []),
        (("engine", "throw_angles"), [[], 0, 0, 0]),
        (("engine", "throw_angles"), [721]),
        (("engine", "banks"), {"left": "x"}),
        (("engine", "top_speed"), "93 Hz"),
        (("engine", "stroke"), True),
        (("scale", "resolution"), 0),
        (("scale", "resolution"), [0.1]),
        (("limits", "piston"), 0),
        (("trim", "piston"), -1),
        (("trim", "big_end_pad"), {"at": -48.0}),
        (("station", "grade"), 0),
        (("station", "crank_mass"), "24.3 mm"),
        (("cylinder", 0, "number"), 1.0),
        (("cylinder", 0, "number"), True),
        (("cylinder", 0, "labels"), "R1"),
    ],
    ids=str,
)
def test_a_value_of_the_wrong_kind_is_named_where_it_stands(path, value):
    data = document()
    at(data, path[:-1])[path[-1]] = value
    where = [str(step) for step in path if not isinstance(step, int)]
    assert any(line.startswith(where[0]) and where[-1] in line.split(":")[0] for line in faults(data))


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (-538.4, "is not above zero"),
        (0, "is not above zero"),
        (float("nan"), "is not a number"),
        (float("inf"), "is not a number"),
        ("1e400", "out of reach"),
        ("1e-400", "out of reach"),
        ("538,4", "takes a decimal point"),
        ("538.4 mm", "no unit of mass"),
        ("538.4 quarrel", "not a unit of mass"),
        ("heavy", "is not a number"),
        (True, "is not a number"),
        (0.04, "below one step of the scale"),
        (3000.1, "beyond the scale"),
        ([538.4, "x"], "is not a number"),
        ([[538.4]], "is not a number"),
        ([538.4] * 21, "21 readings of one part; allowed: at most 20"),
        ({"g": 538.4}, "is not a number"),
    ],
    ids=str,
)
def test_a_reading_that_no_scale_gives_is_named_by_cylinder_and_kind(value, said):
    found = one_fault(with_reading(value))
    assert found.startswith("cylinder 3, piston: ")
    assert said in found


@pytest.mark.parametrize(
    "number", ["1e400", "1e99999999999999999999", "-1e99999999999999999999", "nan", "0x" + "f" * 20_000]
)
@pytest.mark.parametrize(
    "key", ["piston", "share", "stroke", "resolution", "number", "id", "tared", "throw_positions", "mass_unit"]
)
def test_a_number_beyond_everything_is_a_fault_in_any_field(key, number):
    text = invented.text(document())
    lines = [line for line in text.splitlines() if line.split(" = ")[0] == key]
    table = {"tared": "[scale]", "throw_positions": "[engine]", "mass_unit": "[job]"}.get(key)
    wrong = (
        text.replace(table, f"{table}\n{key} = {number}", 1)
        if table
        else text.replace(lines[0], f"{key} = {number}", 1)
    )
    with pytest.raises(BadInput) as caught:
        job.build(wrong)
    assert any(key in fault.where for fault in caught.value.faults)
    assert len(str(caught.value)) < 2000


@pytest.mark.parametrize("count", [1, 2, 20])
def test_a_reading_may_be_repeated_up_to_twenty_times(count):
    made = invented.build(with_reading([538.4] * count))
    assert made.parts[3]["piston"].repeats_g == (538.4,) * count


@pytest.mark.parametrize("blank", ["", []], ids=repr)
def test_a_blank_reading_is_a_missing_one(blank):
    assert one_fault(with_reading(blank)).startswith(
        "cylinder 3, piston: missing; allowed: a mass, 0.1 g to 3000 g"
    )


def test_a_missing_cylinder_a_strange_one_and_a_double_one_are_told_apart():
    parts = invented.cylinders()
    strange = parts[2] | {"number": 9}
    assert faults(document(parts=[*parts[:2], *parts[3:], strange, parts[0]])) == [
        "cylinder 1: stands twice; allowed: one table a cylinder",
        "cylinder 9: not in this layout; allowed: 1, 2, 3, 4, 5, 6, 7, 8",
        "cylinder 3: missing",
    ]


@pytest.mark.parametrize("number", [0, -3, 100])
def test_a_cylinder_number_out_of_reach_is_told_once(number):
    parts = [*invented.cylinders(), {"number": number, **invented.PARTS}]
    assert one_fault(document(parts=parts)).startswith(f"cylinder {number}, number: ")


def test_a_part_that_the_engine_is_declared_without_must_not_be_weighed():
    found = faults(engine(without=["locks"]))
    assert found == [f"cylinder {n}, locks: the engine is declared without it" for n in range(1, 9)]
    parts = [{k: v for k, v in own.items() if k != "locks"} for own in invented.cylinders()]
    light = document(parts=parts, engine=invented.V8 | {"without": ["locks"]})
    assert "locks" not in invented.build(light).parts[1]
    assert one_fault(light | {"every_cylinder": {"locks": 3.2}}).startswith("every_cylinder, locks: ")


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"stroke": 310.0}, "engine, stroke: 310 mm with a rod of 155 mm cannot turn"),
        ({"throw_positions": [0, 100, 100, 300]}, "throws 2 and 3 are at one place, 100 mm"),
        ({"throw_positions": [0, 100]}, "2 positions for 4 throws"),
        ({"throw_angles": [[0, 360], [90, 120], [270, 300], [180, 210]]}, "throw 1 has two pins at one angle"),
        ({"throw_angles": [[0, 30], 90, 270, 180]}, "split pins do not match the banks"),
        (
            {"cylinders": PLACES | {"2": PLACES["1"]}},
            "engine: cylinders 1 and 2 of the axis at 45° are at one place",
        ),
        ({"cylinders": PLACES | {"01": PLACES["1"]}}, "engine, cylinders, 01: is no cylinder number"),
        ({"cylinders": PLACES | {"1" * 5000: PLACES["1"]}}, "is no cylinder number"),
        ({"cylinders": PLACES | {"8": {"throw": 5}}}, "engine, cylinders, 8, throw: '5' is no throw"),
        ({"cylinders": PLACES | {"8": {"throw": 4, "bank": "up"}}}, "'up' is no bank; allowed: left, right"),
        ({"cylinders": {"1": PLACES["1"]}}, "no cylinder on throw 4"),
        ({"layout": "v8-90-crosplane"}, "did you mean v8-90-crossplane?"),
        ({"layout": ""}, "engine, layout: blank"),
    ],
    ids=lambda value: str(value)[:40],
)
def test_an_engine_that_cannot_be_built_says_why(changes, said):
    assert any(said in line for line in faults(engine(**changes)))


def test_an_engine_of_several_throws_needs_to_know_where_they_are():
    bare = {key: value for key, value in invented.V8.items() if key != "cylinder_spacing"}
    assert one_fault(document(engine=bare)).startswith("engine, cylinder_spacing: missing")


@pytest.mark.parametrize(
    ("tables", "said"),
    [
        ({"limits": {"piston": 0.05}}, "limits, piston: 0.05 g is finer than the scale"),
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
        every_cylinder={"locks": "x"},
    )
    data["cylinder"][0]["pin"] = -1
    data["cylinder"] = data["cylinder"][:-1]
    found = [line.split(":")[0] for line in faults(data)]
    assert found == [
        *("job, id", "job, mass_unit", "scale, tared", "engine, stroke", "engine", "bobweight, share"),
        *("limits", "trim, piston", "station, grade", "every_cylinder, locks", "cylinder 1, pin", "cylinder 8"),
    ]


@pytest.mark.parametrize(
    ("changes", "on_throw_1", "bank_of_1"),
    [
        ({}, (1, 2), "left"),
        ({"numbering": "alternating", "first_bank": "right"}, (1, 2), "right"),
        ({"numbering": "by-bank"}, (1, 5), "left"),
        ({"numbering": "by-bank", "first_bank": "right"}, (1, 5), "right"),
        ({"cylinders": PLACES | {"1": PLACES["8"], "8": PLACES["1"]}}, (2, 8), "right"),
    ],
)
def test_cylinders_are_numbered_by_the_scheme_that_the_job_names(changes, on_throw_1, bank_of_1):
    layout = invented.build(engine(**changes)).layout
    assert layout.cylinders_on(layout.throws[0]) == on_throw_1
    assert layout.places[0].bank == bank_of_1


def test_split_pins_are_two_throws_at_one_place_with_a_bank_each():
    split = invented.V8 | {"layout": "v6-90-shared", "throw_angles": [[0, 30], [120, 150], [240, 270]]}
    layout = invented.build(document(parts=invented.cylinders(6), engine=split)).layout
    assert [(throw.name, throw.angle_deg, throw.z_mm) for throw in layout.throws] == [
        *(("1a", 0, 0), ("1b", 30, 0), ("2a", 120, 112), ("2b", 150, 112), ("3a", 240, 224), ("3b", 270, 224)),
    ]
    assert [layout.cylinders_on(throw) for throw in layout.throws] == [(1,), (2,), (3,), (4,), (5,), (6,)]


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


def test_readings_for_every_cylinder_are_enough():
    data = invented.document(parts=[], every_cylinder=dict(invented.PARTS))
    assert len(invented.build(data).parts) == 8


def test_a_bad_stroke_hides_no_fault_of_the_throws():
    engine = dict(invented.V8, stroke=-3, throw_positions=[0, 0, 1, 2])
    with pytest.raises(BadInput) as caught:
        invented.build(invented.document(engine=engine))
    assert [fault.where for fault in caught.value.faults] == ["engine, stroke", "engine, throw_positions"]


def test_every_bad_repeat_is_named():
    with pytest.raises(BadInput, match=r"reading 2, 'x' is not a number; reading 3, -1 is not above zero"):
        invented.build(invented.document(invented.cylinders(piston={1: [541.3, "x", -1]})))


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


def test_a_reading_for_every_cylinder_stands_where_a_cylinder_has_none_of_its_own():
    parts = [{k: v for k, v in own.items() if k != "rings"} for own in invented.cylinders()]
    parts[0]["rings"] = 42.0
    made = invented.build(document(parts=parts, every_cylinder={"rings": 41.0}))
    assert [made.parts[n]["rings"].mean_g for n in (1, 2)] == [42.0, 41.0]
    assert made.parts[1]["rings"].cylinder == 1
    assert made.parts[2]["rings"] is made.parts[3]["rings"]
    assert made.parts[2]["rings"].cylinder is None


def test_a_sheet_of_labels_alone_goes_with_readings_that_stand_for_all(tmp_path):
    sheet = tmp_path / "weigh.csv"
    sheet.write_text("cylinder;piston;rod label\n" + "".join(f"{n};;R{n}\n" for n in range(1, 9)))
    made = invented.build(document(parts=[], every_cylinder=invented.PARTS), sheet)
    assert made.labels[8] == {"rod": "R8"}
    assert made.parts[8]["piston"].mean_g == 538.4


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
        "cylinder 1, pin: missing",
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


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 100_000 + "]" * 100_000,
        "job = " + "[" * 200 + "]" * 200,
        "job = " + "{a = " * 100_000,
        "cylinder" + ".a" * 2000 + " = 1",
        "job = 1" + "0" * 100_000,
        "job = 0x" + "f" * 100_000,
        "\x01\x02\x03",
        "[job",
        "a = 1\na = 2",
        "= 1",
        '"\x1b[31m" = 1',
        '"\\u001b[31m" = 1',
        "[engine.banks]\n\"\\u001b[31m\" = 'x'",
        "\n".join(f"k{i} = 1" for i in range(5000)),
    ],
    ids=lambda text: text[:12],
)
def test_junk_is_refused_with_lines_that_no_terminal_minds(text):
    with pytest.raises(BadInput) as caught:
        job.build(text, "junk.toml")
    assert all(line.isprintable() and len(line) < 400 for line in caught.value.lines())


@given(st.text() | st.text(alphabet="[]{}=.,\"'\n#0123456789eEjobcylindr +-"))
def test_any_text_is_a_job_or_bad_input(text):
    with pytest.raises(BadInput):
        job.build(text)


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
@settings(max_examples=300, deadline=None)
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


@pytest.mark.parametrize(
    "change",
    [
        {"throw_angles": [[0.0, 180.0]], "cylinders": {"1": {"throw": "1a"}, "2": {"throw": "1b"}}},
        {"throw_angles": [0.0, 180.0], "throw_positions": [0, 0.001], "bore": 105.0},
    ],
)
def test_two_cylinders_of_one_axis_need_room(change):
    engine = {"stroke": 92.0, "rod_length": 155.0, "cylinder_spacing": 112.0} | change
    with pytest.raises(BadInput, match=r"engine: cylinders 1 and 2 of the axis at 0° are"):
        invented.build(invented.document(invented.cylinders(2), engine=engine))
