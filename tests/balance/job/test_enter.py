"""Entering a weigh sheet: blanks are filled, and not one other byte of the job file changes."""

from __future__ import annotations

import difflib
import tomllib
from decimal import Decimal

import invented
import loaded
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from truethrow.balance.base import files
from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.balance.job import job
from truethrow.balance.job.enter import enter

JOB = """\
# A launch.   Trailing blanks stay:   \n\
[job]
id   =  'launch-7'    # odd spacing

[scale]
resolution = 0.01

# the front one
[[cylinder]]    # one
number = 1
piston = ""     # bare
pin = [ ]
rings = 41.00
# weighed twice

# the rear one
[[cylinder]]
number = 2
pin = 112.10
labels = { rod = "R2" }   # stamped

[limits]
piston = 1.0
# the end
"""


@pytest.fixture
def bench(tmp_path):
    """Enter a sheet into a job file; gives the lines taken out, the lines put in, and the count."""
    path, sheet = tmp_path / "job.toml", tmp_path / "weigh.csv"

    def entered(text: str, rows: str) -> tuple[list[str], list[str], int]:
        before = text.encode()
        path.write_bytes(before)
        sheet.write_text(rows)
        try:
            count = enter(path, sheet).new
        except (BadInput, NotSaved):
            assert path.read_bytes() == before
            raise
        finally:
            assert sorted(tmp_path.iterdir()) == [path, sheet]
        after = path.read_bytes().decode()
        changed = list(difflib.ndiff(text.splitlines(keepends=True), after.splitlines(keepends=True)))
        out = [line[2:] for line in changed if line.startswith("- ")]
        return out, [line[2:] for line in changed if line.startswith("+ ")], count

    entered.path, entered.sheet = path, sheet
    return entered


def test_only_the_lines_of_the_blanks_change(bench):
    assert bench(JOB, "cylinder;piston;pin\n1;538,40;112,3\n2;;\n") == (
        ['piston = ""     # bare\n', "pin = [ ]\n"],
        ["piston = 538.40     # bare\n", "pin = 112.3\n"],
        2,
    )


def test_a_new_reading_stands_behind_the_last_of_its_cylinder(bench):
    out, put_in, count = bench(JOB, "cylinder;piston;locks\n1;;3,2\n2;538,40;3,1\n")
    assert (out, count) == ([], 3)
    assert put_in == ["locks = 3.2\n", "piston = 538.40\n", "locks = 3.1\n"]
    text = bench.path.read_text()
    assert "# weighed twice\nlocks = 3.2\n\n# the rear one\n" in text
    assert "# stamped\npiston = 538.40\nlocks = 3.1\n\n[limits]\n" in text


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_the_files_own_line_ends_are_kept(bench, end):
    bench(JOB.replace("\n", end), "cylinder;piston;locks\n1;538,40;3,2\n")
    expected = JOB.replace('""', "538.40").replace("# weighed twice\n", "# weighed twice\nlocks = 3.2\n")
    assert bench.path.read_bytes() == expected.replace("\n", end).encode()


@pytest.mark.parametrize(
    ("cell", "written"),
    [
        ("538,40", "538.40"),
        ("538.40", "538.40"),
        ("538", "538"),
        ("538,40 g", "538.40"),
        ("+538,40", "538.40"),
        ("538.", "538"),
        (",5", "0.5"),
        ("18,99 oz", '"18.99 oz"'),
        ("0.5384 kg", '"0.5384 kg"'),
    ],
)
def test_a_number_is_written_as_it_was_typed(bench, cell, written):
    _, put_in, _ = bench(JOB, f'cylinder;piston\n1;"{cell}"\n')
    assert put_in == [f"piston = {written}     # bare\n"]


def test_a_sheet_in_ounces_stays_in_ounces_and_one_in_the_jobs_unit_stays_bare(bench):
    _, put_in, _ = bench(JOB, "cylinder;piston [oz]\n1;18,99\n")
    assert put_in == ['piston = "18.99 oz"     # bare\n']
    in_oz = JOB.replace("[job]", '[job]\nmass_unit = "oz"')
    _, put_in, _ = bench(in_oz, "cylinder;piston [oz];pin [g]\n1;18,990;112,30\n")
    assert put_in == ["piston = 18.990     # bare\n", 'pin = "112.30 g"\n']


def test_repeats_become_a_list_each_as_typed(bench):
    _, put_in, count = bench(JOB, "cylinder;piston 1;piston 2;pin;pin\n1;538,40;538,4;3,95 oz;112\n")
    assert put_in == ["piston = [538.40, 538.4]     # bare\n", 'pin = ["3.95 oz", 112]\n']
    assert count == 2


@pytest.mark.parametrize("rows", ["1;538,40;538,5;R1", "1;538;;R1", "1;538,40;18,99 oz;", "3;538,40;5;R3"])
def test_entering_a_sheet_twice_changes_nothing_the_second_time(bench, rows):
    sheet = f"cylinder;piston;piston;rod label\n{rows}\n"
    bench(JOB, sheet)
    once = bench.path.read_text()
    assert once != JOB
    assert bench(once, sheet) == ([], [], 0)


def test_a_cylinder_that_the_file_lacks_is_added_at_the_end_of_the_cylinders(bench):
    out, put_in, count = bench(JOB, "cylinder;piston;rod label\n3;538,40;R3\n")
    assert (out, count) == ([], 1)
    assert [line for line in put_in if line.strip()] == [
        *("[[cylinder]]\n", "number = 3\n", "piston = 538.40\n", 'labels = {rod = "R3"}\n'),
    ]
    assert bench.path.read_text().endswith("[limits]\npiston = 1.0\n# the end\n")


def test_a_job_without_cylinders_gets_them(bench):
    head = JOB.split("# the front one", maxsplit=1)[0]
    bench(head, "cylinder;piston\n2;538,5\n1;538,40\n")
    assert bench.path.read_text().startswith(head)
    assert tomllib.loads(bench.path.read_text())["cylinder"] == [
        {"number": 1, "piston": 538.4},
        {"number": 2, "piston": 538.5},
    ]


@pytest.mark.parametrize(
    ("labels", "result"),
    [
        ("", {"rod": "R1"}),
        ("labels = {}\n", {"rod": "R1"}),
        ("labels = { pin = 'P' }  # mark\n", {"pin": "P", "rod": "R1"}),
        ("labels.pin = 'P'\n", {"pin": "P", "rod": "R1"}),
        ("[cylinder.labels]\npin = 'P'\n", {"pin": "P", "rod": "R1"}),
        ("[cylinder.labels]\npin = 'P'\n# own\n\n# next\n", {"pin": "P", "rod": "R1"}),
        ('labels = { rod = "" }\n', {"rod": "R1"}),
    ],
)
def test_labels_are_added_wherever_the_file_keeps_them(bench, labels, result):
    text = JOB.replace("# weighed twice\n", labels)
    bench(text, "cylinder;piston;rod label\n1;538,40;R1\n")
    first = tomllib.loads(bench.path.read_text())["cylinder"][0]
    assert first == {"number": 1, "piston": 538.4, "pin": [], "rings": 41.0, "labels": result}
    for remark in (line.split("#")[1] for line in text.splitlines() if "#" in line):
        assert f"#{remark}\n" in bench.path.read_text()


def test_every_contradiction_is_told_at_once_and_nothing_is_written(bench):
    with pytest.raises(BadInput) as caught:
        bench(JOB, "cylinder;piston;pin;rings;rod label\n1;538,40;;41,1;R1\n2;538,5;112,2;;R3\n")
    assert [str(fault) for fault in caught.value.faults] == [
        "cylinder 1, rings: the sheet reads 41.1, the job file 41.00; "
        "allowed: one of them; mend the other by hand",
        "cylinder 2, pin: the sheet reads 112.2, the job file 112.10; "
        "allowed: one of them; mend the other by hand",
        "cylinder 2, rod label: the sheet has 'R3', the job file 'R2'; "
        "allowed: one of them; mend the other by hand",
    ]


@pytest.mark.parametrize("standing", ["112.1", '"112.10 g"', '"0.1121 kg"', "[112.1]"])
def test_the_same_reading_in_other_words_is_no_contradiction(bench, standing):
    same = JOB.replace("pin = 112.10", f"pin = {standing}")
    assert bench(same, "cylinder;pin\n2;112,100\n") == ([], [], 0)


@pytest.mark.parametrize("standing", ["112.2", "[112.1, 112.1]", '"x"', "true", "{}", "[[1]]"])
def test_whatever_else_stands_there_is_a_contradiction(bench, standing):
    with pytest.raises(BadInput, match="cylinder 2, pin: the sheet reads"):
        bench(JOB.replace("pin = 112.10", f"pin = {standing}"), "cylinder;pin\n2;112,1\n")


def test_a_bad_reading_beside_it_does_not_hide_that_a_reading_agrees(bench):
    bad = JOB.replace("pin = 112.10", 'pin = 112.10\nlocks = "x"')
    assert bench(bad, "cylinder;pin\n2;112,1\n") == ([], [], 0)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[job]\nid = 'a'\n", "job.toml: scale, resolution: missing"),
        ("[scale]\nresolution = 0.01\n[cylinder]\nnumber = 1\n", "job.toml: cylinder: .* no list of tables"),
        ("cylinder = [1, 2]\n[scale]\nresolution = 0.01\n", "job.toml: cylinder: .* no list of tables"),
        ("cylinder = 'x'\n[scale]\nresolution = 0.01\n", "job.toml: cylinder: .* no list of tables"),
        ("cylinder = [{number = 1}]\n[scale]\nresolution = 0.01\n", "job.toml: cylinder: .* one inline list"),
        ("cylinder = []\n[scale]\nresolution = 0.01\n", "job.toml: cylinder: .* one inline list"),
        (JOB.replace('{ rod = "R2" }', '"R2"'), "job.toml: cylinder 2, labels: R2 is not a table"),
        ("[job", "job.toml: not TOML"),
        ("scale = 1\n", "job.toml: scale: 1 is not a table"),
    ],
)
def test_a_job_file_that_cannot_take_readings_says_so(bench, text, said):
    with pytest.raises(BadInput, match=said):
        bench(text, "cylinder;piston\n1;538,40\n")


def test_the_faults_of_the_sheet_are_told_and_nothing_is_written(bench):
    with pytest.raises(BadInput) as caught:
        bench(JOB, "cylinder;piston;pin\n1;538,40;x\ntwo;5;5\n2;;112,2\n")
    lines = caught.value.lines()
    assert len(lines) == 3
    assert all(line.startswith(f"{bench.sheet}: ") for line in lines)


def test_a_cylinder_that_the_layout_does_not_have_is_not_entered(bench):
    text = invented.text(invented.document(parts=[])).replace("cylinder = []", "")
    with pytest.raises(BadInput, match="cylinder 9: not in this layout; allowed: 1, 2, 3"):
        bench(text, "cylinder;piston\n9;538,4\n")


def test_a_job_changed_meanwhile_is_left_alone(bench, monkeypatch):
    monkeypatch.setattr(files, "line_end", lambda path: path.write_text("mine now\n") and "\n")
    bench.path.write_text(JOB)
    bench.sheet.write_text("cylinder;piston\n1;538,4\n")
    with pytest.raises(NotSaved, match="changed by someone else"):
        enter(bench.path, bench.sheet)
    assert bench.path.read_text() == "mine now\n"


masses = st.builds(lambda digits: str(Decimal(digits).scaleb(-2)), st.integers(100, 99_999))


@given(st.lists(st.tuples(masses, masses), min_size=8, max_size=8), st.sets(st.integers(1, 8)))
@settings(
    max_examples=30,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
def test_a_job_with_its_sheet_entered_is_the_job_with_the_sheet_beside_it(bench, rows, absent):
    fixed = {k: v for k, v in invented.PARTS.items() if k not in ("piston", "pin")}
    parts = [{"number": n, "piston": "", **fixed} for n in range(1, 9) if n not in absent]
    engine = invented.V8 | {"checked": ["parts"]}
    data = invented.document(parts, every_cylinder=fixed, engine=engine)
    text = invented.text(data).replace("cylinder = []", "")
    sheet = "cylinder;piston;pin\n" + "".join(f"{n};{a};{b}\n" for n, (a, b) in enumerate(rows, start=1))
    bench(text, sheet.replace(".", ","))
    assert job.load(bench.path) == job.build(text, "", bench.sheet)
    assert job.load(bench.path).digest == job.build(text, "", bench.sheet).digest


def test_stations_that_enter_at_once_lose_nothing(tmp_path):
    """Eight sheets of one reading each, entered by eight processes at the same time."""
    job = tmp_path / "job.toml"
    data = {name: table for name, table in invented.document().items() if name != "cylinder"}
    job.write_text(invented.text(data), encoding="utf-8")
    for number in range(1, 9):
        sheet = f"cylinder;piston\n{number};{530 + number}\n"
        (tmp_path / f"{number}.csv").write_text(sheet, encoding="utf-8")
    program = "import sys; from pathlib import Path; from truethrow.balance.job.enter import enter; "
    program += "enter(Path(sys.argv[1]), Path(sys.argv[2]))"
    stations = [loaded.Process("-c", program, job, tmp_path / f"{number}.csv") for number in range(1, 9)]
    assert [station.communicate() for station in stations] == [("", "")] * 8
    assert [station.returncode for station in stations] == [0] * 8
    entered = tomllib.loads(job.read_text(encoding="utf-8"))["cylinder"]
    assert {c["number"]: c["piston"] for c in entered} == {n: 530 + n for n in range(1, 9)}
