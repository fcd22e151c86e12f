"""The weigh sheet: every way a shop writes one, and every fault named."""

from __future__ import annotations

from decimal import Decimal

import invented
import pytest
import typed_sheets
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from truethrow.balance.base.errors import BadInput
from truethrow.balance.base.fields import Units
from truethrow.balance.base.parts import KINDS
from truethrow.balance.job import weighsheet
from truethrow.balance.result.bobweight import bobweights

SCALE = Units("g", "mm", 0.01, 3000.0)
FULL = ("piston", "pin", "locks", "rings", "small_end", "big_end", "bearings")


@pytest.fixture
def sheet(tmp_path):
    """Write a sheet and read it; the file itself must stay as it was."""
    path = tmp_path / "weigh.csv"

    def read(text: str, scale: Units = SCALE) -> weighsheet.WeighSheet:
        raw = text.encode()
        path.write_bytes(raw)
        found = weighsheet.read(path, scale)
        assert path.read_bytes() == raw
        return found

    return read


def texts(found: weighsheet.WeighSheet) -> dict[int, dict[str, tuple[str, ...]]]:
    assert not found.faults
    return {
        number: {kind: typed.texts for kind, typed in kinds.items()} for number, kinds in found.readings.items()
    }


def faults(found: weighsheet.WeighSheet) -> list[str]:
    return [str(fault) for fault in found.faults]


@pytest.mark.parametrize(
    "text",
    [
        "cylinder,piston,pin\n1,538.4,112.1\n2,539.0,112.0\n",
        "cylinder;piston;pin\n1;538,4;112,1\n2;539,0;112,0\n",
        "cylinder\tpiston\tpin\n1\t538,4\t112,1\n2\t539,0\t112,0\n",
        'cylinder,piston,pin\n1,"538,4","112,1"\n2,"539,0","112,0"\n',
        'cylinder;piston;pin\n1;"538.4";"112.1"\n2;539.0;112.0\n',
        "pin;cylinder;piston\n112.1;1;538.4\n112.0;2;539.0\n",
        "sep=;\ncylinder;piston;pin\n1;538,4;112,1\n2;539,0;112,0\n",
        "Weighed by PK;;\n;;\n# trial\ncylinder;piston;pin\n\n# first\n1;538,4;112,1\n;;\n2;539,0;112,0\n",
        "cylinder;part;reading\n1;piston;538,4\n2;piston;539,0\n1;pin;112,1\n2;pin;112,0\n",
        "part;cylinder;weight\npiston;1;538.4\nwrist pin;1;112.1\npiston;2;539.0\npin;2;112.0\n",
        "cylinder;piston;pin\r\n1;538,4;112,1\r\n2;539,0;112,0\r\n",
        "cylinder;piston;pin\r1;538,4;112,1\r2;539,0;112,0\r",
        "\ufeffcylinder;piston;pin;note\n02;539,0;112,0;ok\n1.0; 538,4 ;112,1\n",
        "cylinder;piston [g];pin [g]\n2;539,0 g;112,0g\n1;538,4;112,1",
    ],
)
def test_every_layout_of_a_sheet_says_the_same(sheet, text):
    assert texts(sheet(text)) == {
        1: {"piston": ("538.4",), "pin": ("112.1",)},
        2: {"piston": ("539.0",), "pin": ("112.0",)},
    }


@pytest.mark.parametrize(
    ("heading", "kind", "typed"),
    [
        ("piston", "piston", "18.99"),
        ("Piston", "piston", "18.99"),
        (" PISTON ", "piston", "18.99"),
        ("piston [g]", "piston", "18.99"),
        ("piston [oz]", "piston", "18.99 oz"),
        ("piston (OZ)", "piston", "18.99 oz"),
        ("piston, oz", "piston", "18.99 oz"),
        ("piston_oz", "piston", "18.99 oz"),
        ("piston ounces", "piston", "18.99 oz"),
        ("piston 2 [oz]", "piston", "18.99 oz"),
        ("wrist pin lb", "pin", "18.99 lb"),
        ("big_end", "big_end", "18.99"),
        ("Rod-Big-End [grams]", "big_end", "18.99"),
        ("little end", "small_end", "18.99"),
        ("rings g", "rings", "18.99"),
    ],
)
def test_a_heading_may_be_spelled_in_many_ways_and_carry_the_unit(sheet, heading, kind, typed):
    heavy = Units("g", "mm", 0.01, 50_000.0)
    quoted = f'"{heading}"'
    assert texts(sheet(f"cylinder,{quoted}\n1,18.99\n", heavy)) == {1: {kind: (typed,)}}


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_every_kind_is_found_by_all_its_names(sheet, kind):
    for name in (kind.name, kind.label, *kind.also_called):
        assert texts(sheet(f"cylinder;{name}\n1;5,5\n")) == {1: {kind.name: ("5.5",)}}


@pytest.mark.parametrize(
    "text",
    [
        "cylinder;piston [g]\n1;18,99 oz\n",
        "cylinder;piston;unit\n1;18,99;oz\n",
        "cylinder;part;reading;unit\n1;piston;18,99;oz\n",
        "cylinder;part;reading [oz]\n1;piston;18,99\n",
        "cylinder;part;reading [g];unit\n1;piston;18,99;oz\n",
    ],
)
def test_the_unit_nearest_to_the_reading_counts(sheet, text):
    read = sheet(text)
    assert texts(read) == {1: {"piston": ("18.99 oz",)}}
    assert read.readings[1]["piston"].grams[0] == pytest.approx(18.99 * 28.349523125, abs=1e-9)


def test_a_bare_number_is_in_the_jobs_unit(sheet):
    read = sheet("cylinder;piston\n1;18,99\n", SCALE._replace(mass="oz"))
    assert texts(read) == {1: {"piston": ("18.99",)}}
    assert read.readings[1]["piston"].grams[0] == pytest.approx(18.99 * 28.349523125, abs=1e-9)


@pytest.mark.parametrize(
    "text",
    [
        "cylinder;piston;piston\n1;538,4;538,6\n",
        "cylinder;piston 1;pin;piston 2\n1;538,4;;538,6\n",
        "cylinder;piston 1 [g];piston 2 [g]\n1;538,4;538,6\n",
        "cylinder;part;reading\n1;piston;538,4\n1;piston;538,6\n",
        "cylinder;part;reading 1;reading 2;reading 3\n1;piston;538,4;538,6;\n",
    ],
)
def test_repeats_come_by_column_or_by_row(sheet, text):
    assert texts(sheet(text)) == {1: {"piston": ("538.4", "538.6")}}


@pytest.mark.parametrize(
    ("cell", "other", "typed"),
    [
        ("538.4", "", "538.4"),
        ("538,4", "", "538.4"),
        ("538,412", "", "538.412"),  # thousands would be beyond the scale
        ("1,234", "112.1", "1234"),
        ("1.234", "112,1", "1234"),
        ("1,234", "112,1", "1.234"),
        ("1.234", "112.1", "1.234"),
        ("1.234", "", "1.234"),
        ("1,234.5", "", "1234.5"),
        ("1.234,5", "", "1234.5"),
        ("1 234,5", "", "1234.5"),
        ("1\u00a0234.5", "", "1234.5"),
        ("1'234.5", "", "1234.5"),
        ("+538.4", "", "+538.4"),
        (".5", "", ".5"),
        ("538.", "", "538."),
        ("0,125", "", "0.125"),
    ],
)
def test_decimal_and_thousands_marks_are_told_apart_by_the_whole_sheet(sheet, cell, other, typed):
    assert texts(sheet(f'cylinder;piston;pin\n1;"{cell}";{other}\n'))[1]["piston"] == (typed,)


@pytest.mark.parametrize(
    ("cell", "others"),
    [
        ("1,234", ()),
        ("1,234", ("538,4", "112.1")),
        ("1.234", ("538,4", "112.1")),
    ],
)
def test_a_mark_that_may_be_either_is_not_guessed(sheet, cell, others):
    rows = "".join(f"{n};{other}\n" for n, other in enumerate(others, start=2))
    found = faults(sheet(f"cylinder;piston\n1;{cell}\n{rows}"))
    assert len(found) == 1
    assert f"row 2, cylinder 1, piston: {cell} can be read as thousands or as a decimal" in found[0]


@pytest.mark.parametrize(
    ("cell", "said"),
    [
        ("2,5,1", "two decimal marks"),
        ("1,234,567", "two decimal marks"),
        ("5,38.4", "two decimal marks"),
        ("5.3,8", "two decimal marks"),
        ("41 43", "more than one number"),
        ("538 536", "beyond the scale"),
        ("4' 3", "more than one number"),
        ("538.4+538.6", "not a unit"),
        ("538.4+0.2", "not a unit"),
        ("=538.4", "not a number"),
        ("x", "not a number"),
        ("--", "not a number"),
        ("😀", "'😀' is not a number"),
        ("−538", "not a number"),
        ("-538", "not above zero"),
        ("0", "not above zero"),
        ("0,001", "below one step"),
        ("3000,1", "beyond the scale"),
        ("538,4 mm", "no unit of mass"),
        ("538,4 furlongs", "no unit of mass"),
        ("538,4 gr", "g or grain"),
        ("1e99999999999999999999", "out of reach"),
        ("1e-400", "out of reach"),
        ("nan", "not a number"),
        ("9" * 100_000, "out of reach"),
        ("x" * 100_000, "not a number"),
        ("." * 100_000, "two decimal marks"),
        ("1" + " " * 100_000 + "1", "more than one number"),
        ("1e" * 50_000, "not a unit"),
        ("\x1b[31m538", "not a number"),
    ],
    ids=lambda value: value[:14],
)
def test_a_cell_that_is_no_reading_is_named_in_one_short_line(sheet, cell, said):
    (found,) = faults(sheet(f'cylinder;piston\n1;"{cell}"\n'))
    assert found.startswith("row 2, cylinder 1, piston: ")
    assert said in found
    assert len(found) < 250
    assert found.isprintable()


@pytest.mark.parametrize("cell", ["0", "100", "-1", "1.5", "1,0", "one", "", "1 2"])
def test_a_cylinder_is_a_whole_number_from_1_to_99(sheet, cell):
    (found,) = faults(sheet(f"cylinder;piston\n{cell};538,4\n"))
    assert found.startswith("row 2, cylinder: ")
    assert found.endswith("allowed: 1 to 99")


@pytest.mark.parametrize(
    ("heading", "close"),
    [("pistn", "piston"), ("bering", "bearing"), ("big ends", "big end"), ("rod lable", "rod label")],
)
def test_an_unknown_heading_is_refused_with_the_one_it_resembles(sheet, heading, close):
    (found,) = faults(sheet(f"cylinder;pin;{heading}\n1;112;5\n"))
    assert found == f"row 1, column 3: '{heading}' is no known heading (did you mean {close}?)"


@pytest.mark.parametrize(
    ("header", "said"),
    [
        ("cylinder;note", "no column of readings"),
        ("cylinder;cylinder;piston", "the heading cylinder is there twice"),
        ("#;cylinder;piston", "the heading cylinder is there twice"),
        ("cylinder;pin;rod label;rod label", "the heading rod label is there twice"),
        ("cylinder;part;reading;part", "the heading part is there twice"),
        ("cylinder;part;note", "needs a reading column"),
        ("cylinder;piston;weight", "needs a part column"),
        ("cylinder;part;reading;piston", "has no column piston"),
        ("cylinder;part;reading;rod label", "has no column rod label"),
    ],
)
def test_a_heading_row_under_which_a_reading_could_get_lost_is_refused(sheet, header, said):
    read = sheet(f"{header}\n1;5;5;5\n")
    assert read.unread
    assert not read.readings
    assert said in faults(read)[0]


@pytest.mark.parametrize("text", ["", "\n\n", "piston;pin\n1;2\n", "# cylinder;piston\n1;538\n", "cylinder\n1\n"])
def test_a_sheet_without_a_heading_row_is_no_sheet(sheet, text):
    with pytest.raises(BadInput, match="no heading row"):
        sheet(text)


def test_an_unclosed_quote_is_told_where_it_opens_with_the_faults_before_it(sheet):
    read = sheet('cylinder;piston;note\n1;x;\n2;538,4;"open\n3;538,4;\n4;538,4;\n')
    assert read.unread
    assert [fault.split(":")[0] for fault in faults(read)] == ["row 2, cylinder 1, piston", "row 3"]
    assert "every quote closed" in faults(read)[1]


def test_a_quoted_cell_may_hold_a_line_end_and_the_rows_keep_their_place(sheet):
    (found,) = faults(sheet('cylinder;piston;note\n1;538,4;"two\nlines"\n2;x;\n'))
    assert found.startswith("row 4, cylinder 2, piston")


def test_the_same_cylinder_twice_is_named_with_both_rows(sheet):
    (found,) = faults(sheet("cylinder;piston\n1;538,4\n2;538,4\n1;538,5\n"))
    assert found == (
        "row 4, cylinder: 1 is in row 2, too; a second reading goes into a second column of its part; "
        "else leave one row out"
    )


@pytest.mark.parametrize("name", ["avg", "Avg.", "Mean", "average:"])
def test_a_row_that_a_spreadsheet_worked_out_is_left_out_with_a_word(sheet, name):
    found = sheet(
        f"#,Piston,Small,Big,Lock,Brgs\n1,538,171,452,3,46\n2,539,172,453,3,46\n{name},538.5,171.5,452.5,3,46\n"
    )
    assert set(texts(found)) == {1, 2}
    assert set(texts(found)[1]) == {"piston", "small_end", "big_end", "locks", "bearings"}
    assert found.notes == [f"row 4 of the weigh sheet, {name}, is no cylinder: left out"]


def test_a_decimal_comma_in_a_comma_sheet_is_refused_with_the_remedy(sheet):
    read = sheet("cylinder,piston\n1,538,4\n2,538.4\n")
    (found,) = faults(read)
    assert found.startswith("row 2: 3 columns under 2 headings")
    assert "decimal commas only with ; or tab" in found
    assert set(read.written) == {1, 2}


def test_more_readings_of_one_part_than_anybody_takes_are_refused(sheet):
    rows = "1;piston;538,4\n" * 21
    (found,) = faults(sheet(f"cylinder;part;reading\n{rows}"))
    assert found.startswith("row 22, cylinder 1, piston: more than 20 readings")


@pytest.mark.parametrize("label", ["R11", "größe 7", "=1+2", "x" * 300])
def test_a_label_is_kept_as_it_stands(sheet, label):
    read = sheet(f"cylinder;pin;rod label;piston label\n1;112,0;{label};\n")
    assert not read.faults
    assert read.labels == {1: {"rod": label}}


@pytest.mark.parametrize("label", ["\x1b[31mR1", "x" * 301, "a\tb"])
def test_a_label_that_a_job_file_would_not_take_is_refused(sheet, label):
    (found,) = faults(sheet(f'cylinder;pin;rod label\n1;112,0;"{label}"\n'))
    assert found.startswith("row 2, rod label: ")
    assert found.isprintable()


ELEVEN_FAULTS = """\
cylinder;piston;pin;rings;rod label
1;538,4;112,1;41,0;
1;538,4;112,1;41,0;
two;538,4;112,1;41,0;
3;;112 11;41,0;
4;-5;112,1;41,0;
5;538,4;112,1 mm;41,0;
6;538,4;112,1;41,0;R6;extra
7;99999;0,001;41,0;
8;538,4;1,2,3;41,0;
9;538,4;x;41,0;\x07
"""


def test_eleven_faults_are_eleven_lines_in_the_order_of_the_rows(sheet):
    found = faults(sheet(ELEVEN_FAULTS))
    wanted = [
        "row 3, cylinder: 1 is in row 2, too; a second reading goes into a second column of its part; else "
        "leave one row out",
        "row 4, cylinder: 'two' is no cylinder",
        "row 5, cylinder 3, pin: 112 11 is more than one number",
        "row 6, cylinder 4, piston: -5 is not above zero",
        "row 7, cylinder 5, pin: 'mm' is no unit of mass",
        "row 8: 6 columns under 5 headings",
        "row 9, cylinder 7, piston: 99999 is beyond the scale",
        "row 9, cylinder 7, pin: 0,001 is below one step of the scale",
        "row 10, cylinder 8, pin: 1,2,3 has two decimal marks",
        "row 11, rod label: ",
        "row 11, cylinder 9, pin: 'x' is not a number",
    ]
    assert len(found) == len(wanted)
    for line, start in zip(found, wanted, strict=True):
        assert line.startswith(start)


def test_a_sheet_of_a_hundred_thousand_bad_rows_is_answered_in_one_line(sheet):
    assert len(sheet("cylinder;piston\n" + "x;538\n" * 15_840).faults) == 15_840
    read = sheet("cylinder;piston\n" + "x;538\n" * 100_000)
    assert [str(fault) for fault in read.faults] == [
        "row 15842: goes on; allowed: a weigh sheet of at most 15840 rows"
    ]
    assert read.unread


@given(st.text(max_size=200) | st.text(alphabet="cylinder;piston,pin\n\t\"#'12. =", max_size=200))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
def test_any_text_is_a_sheet_with_its_faults_or_no_sheet(sheet, text):
    for head in ("", "cylinder;piston\n", "cylinder,part,reading\n"):
        try:
            read = sheet(head + text)
        except BadInput:
            continue
        assert all(str(fault).isprintable() for fault in read.faults)


def as_csv(parts: list[dict[str, Decimal]]) -> str:
    rows = [[str(n), *(str(own[kind]).replace(".", ",") for kind in FULL)] for n, own in enumerate(parts, start=1)]
    return "\n".join(";".join(row) for row in [["cylinder", *FULL], *rows])


def as_toml(parts: list[dict[str, Decimal]], share: Decimal) -> str:
    head = invented.text(
        invented.document(
            [],
            engine=invented.V8 | {"checked": ["stroke", "parts"]},
            scale={"resolution": 0.01, "capacity": 3000},
            bobweight={"share": float(share), "oil": 4.0, "checked": ["oil"]},
        )
    ).replace("cylinder = []", "")
    tables = [
        f"[[cylinder]]\nnumber = {n}\n" + "".join(f"{kind} = {own[kind]}\n" for kind in FULL)
        for n, own in enumerate(parts, start=1)
    ]
    return head + "\n" + "\n".join(tables)


def by_hand(parts: list[dict[str, Decimal]], share: Decimal) -> list[Decimal]:
    """Two cylinders to a throw, 1 and 2 on the first, and 4 g of oil."""
    gives = [
        own["big_end"]
        + own["bearings"]
        + share * sum(own[kind] for kind in ("piston", "pin", "locks", "rings", "small_end"))
        for own in parts
    ]
    return [gives[i] + gives[i + 1] + 4 for i in range(0, 8, 2)]


def both_ways(folder, parts, share):
    from truethrow.balance.job import job

    whole = as_toml(parts, share)
    path = folder / "weigh.csv"
    path.write_text(as_csv(parts))
    from_toml = bobweights(job.build(whole))
    from_sheet = bobweights(job.build(whole.split("[[cylinder]]", maxsplit=1)[0], "", path))
    return [[Decimal(repr(t.bobweight.value_g)) for t in found.throws] for found in (from_toml, from_sheet)]


EIGHT = [
    dict(zip(FULL, map(Decimal, row.split()), strict=True))
    for row in (
        "538.4 112.1 3.2 41.0 171.2 452.3 46.0",
        "538.9 112.0 3.1 41.3 170.7 451.8 46.1",
        "537.7 111.8 3.2 40.9 171.9 452.9 45.9",
        "539.2 112.3 3.3 41.1 171.0 450.4 46.0",
        "538.1 112.2 3.2 41.2 170.3 453.6 46.2",
        "536.8 111.9 3.2 41.0 171.5 452.2 46.0",
        "540.3 112.0 3.1 40.8 171.1 451.1 45.8",
        "538.6 112.1 3.2 41.0 172.4 452.7 46.1",
    )
]


@pytest.mark.parametrize("share", ["0.5", "0.48", "0.52"])
def test_eight_cylinders_weigh_the_same_in_csv_in_toml_and_by_hand(tmp_path, share):
    from_toml, from_sheet = both_ways(tmp_path, EIGHT, Decimal(share))
    assert from_toml == from_sheet == by_hand(EIGHT, Decimal(share))


def test_the_hand_calculation_itself_for_the_first_throw():
    # 452.3 + 46.0 + 865.9/2 + 451.8 + 46.1 + 866.0/2 + 4
    assert by_hand(EIGHT, Decimal("0.5"))[0] == Decimal("1866.15")


masses = st.builds(
    lambda digits, places: Decimal(digits).scaleb(-places),
    st.integers(100, 29_999),
    st.sampled_from([1, 2]),
)


@given(
    st.lists(st.fixed_dictionaries(dict.fromkeys(FULL, masses)), min_size=8, max_size=8),
    st.sampled_from(["0.5", "0.48", "0.52"]),
)
@settings(
    max_examples=40,
    deadline=None,
    database=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
def test_any_eight_cylinders_weigh_the_same_in_csv_in_toml_and_by_hand(tmp_path, parts, share):
    from_toml, from_sheet = both_ways(tmp_path, parts, Decimal(share))
    assert from_toml == from_sheet == by_hand(parts, Decimal(share))


def test_there_are_sixty_and_no_two_are_alike():
    sheets = [text for text, _ in (*typed_sheets.READ.values(), *typed_sheets.REFUSED.values())]
    assert len(sheets) == len({*sheets}) == 60


@pytest.mark.parametrize("name", typed_sheets.READ)
def test_a_sheet_as_people_type_it_is_read_right(name, tmp_path):
    text, weighs = typed_sheets.READ[name]
    (tmp_path / "weigh.csv").write_bytes(text.encode())
    sheet = weighsheet.read(tmp_path / "weigh.csv", Units())
    assert [str(fault) for fault in sheet.faults] == []
    found = {number: sheet.readings.get(number, {}) for number in sheet.written}
    assert {n: {kind: typed.grams for kind, typed in own.items()} for n, own in found.items()} == {
        n: {kind: pytest.approx(grams) for kind, grams in own.items()} for n, own in weighs.items()
    }


@pytest.mark.parametrize("name", typed_sheets.REFUSED)
def test_a_sheet_as_people_type_it_is_refused_with_the_one_line_that_mends_it(name):
    text, said = typed_sheets.REFUSED[name]
    try:
        (found,) = weighsheet.in_text(text, "weigh.csv", Units()).faults
    except BadInput as error:
        (found,) = error.faults
    assert said in str(found)


def test_rod_numbers_become_labels():
    sheet = weighsheet.in_text(typed_sheets.READ["rod numbers beside"][0], "weigh.csv", Units())
    assert sheet.labels == {1: {"rod": "R11"}, 2: {"rod": "R12"}}
    across = weighsheet.in_text("part;1;2\nRod no;R11;R12\nCrank End;452,3;452,1\n", "weigh.csv", Units())
    assert across.labels == sheet.labels
