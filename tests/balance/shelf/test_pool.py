"""The shelf's files: what a shop writes down, and every fault named."""

from __future__ import annotations

import invented
import pytest

from truethrow.balance.base.errors import BadInput
from truethrow.balance.shelf import pool
from truethrow.balance.shelf.pool import Part

TWO = {"layout": "inline-2", "stroke": 92.0, "rod_length": 155.0, "cylinder_spacing": 112.0}
TWIN = TWO | {"layout": "vtwin-90"}
GIVEN = {"locks": 3.2, "rings": 41.0, "bearings": 46.0}
RODS = "label,big end,small end\nR1,452.1,171.2\nR2,452.4,170.9\n"
PISTONS = "label,piston\nP1,538.4\nP2,539.1\n"
PINS = "label,pin\nN1,112.0\nN2,112.1\n"


@pytest.fixture
def load(tmp_path):
    """Write a job and some files of loose parts, and load them."""

    def made(*texts, engine=TWO, every=GIVEN, **tables):
        job = tmp_path / "job.toml"
        data = {"engine": engine, "every_cylinder": every} | tables
        document = {k: v for k, v in invented.document(**data).items() if k != "cylinder"}
        job.write_text(invented.text(document), encoding="utf-8")
        paths = []
        for number, text in enumerate(texts, start=1):
            paths.append(tmp_path / f"{number}.csv")
            paths[-1].write_text(text, encoding="utf-8")
        return pool.load(job, paths)

    return made


@pytest.fixture
def refused(load, tmp_path):
    """The faults of what is no shelf, the folder left out."""

    def lines(*texts, **more):
        with pytest.raises(BadInput) as caught:
            load(*texts, **more)
        return [line.replace(f"{tmp_path}/", "") for line in caught.value.lines()]

    return lines


@pytest.mark.parametrize(
    "rods",
    [
        RODS,
        "rod label;small end;big end;note\nR1;171,2;452,1;blue box\nR2;170,9;452,4;\n",
        "small end [g]\tlabel\tbig end [g]\n171,2\tR1\t452,1\n170,9\tR2\t452,4\n",
        "label,big end,small end,unit\nR1,0.4521,0.1712,kg\nR2,0.4524,0.1709,kg\n",
        "label,big end,small end\nR1,452.1 g,0.1712 kg\nR2,452.4,170.9\n",
        "label,big end,big end 2,small end\nR1,452.0,452.2,171.2\nR2,452.4,,170.9\n",
        "From the box under the bench\nlabel,big end,small end,rod total\nR1,452.1,171.2,623.3\nR2,452.4,170.9,\n",
    ],
)
def test_a_file_is_read_as_the_shop_wrote_it(load, rods):
    shelf = load(PINS, rods, PISTONS)
    assert shelf.pools["rod"] == (Part("rod", "R1", 452.1, 171.2), Part("rod", "R2", 452.4, 170.9))
    assert list(shelf.pools) == ["rod", "piston", "pin"]
    assert shelf.given_g == GIVEN
    assert shelf.most_engines == 1


def test_a_kind_on_the_shelf_stands_before_the_one_for_every_cylinder(load):
    shelf = load(RODS, PISTONS, PINS, "label,rings\nG1,40.9\nG2,41.1\n")
    assert "rings" not in shelf.given_g
    assert [part.reciprocating_g for part in shelf.pools["rings"]] == [40.9, 41.1]


def test_two_files_of_one_kind_are_one_pool(load):
    shelf = load(RODS, PISTONS, PINS, "label,piston\nP3,538.0\nP4,538.0\n")
    assert [part.label for part in shelf.pools["piston"]] == ["P1", "P2", "P3", "P4"]
    assert shelf.most_engines == 1


def test_banks_and_partners_are_read(load):
    pistons = "label,piston,bank\nP1,538.4,left\nP2,539.1,right\nP3,539.0,\nP4,538.8,\n"
    pins = "label,pin,fitted to\nN1,112.0,P2\nN2,112.1,\nN3,112.0,\nN4,112.0,\n"
    rods = RODS + "R3,452.0,171.0\nR4,452.0,171.1\n"
    shelf = load(rods, pistons, pins, engine=TWIN)
    assert [part.bank for part in shelf.pools["piston"]] == ["left", "right", "", ""]
    assert shelf.pools["pin"][0].together == "P2"
    assert shelf.most_engines == 2


FAULTY = {
    "label twice": (
        (RODS, PISTONS + "P1,538.0\n", PINS),
        ["2.csv: piston P1: 2 parts of one label; allowed: each part's own among its kind"],
    ),
    "label twice over two files": (
        (RODS, PISTONS, PINS, "label,pin\nN2,112.5\n"),
        ["3.csv, 4.csv: pin N2: 2 parts of one label; allowed: each part's own among its kind"],
    ),
    "mixed kinds": (
        (RODS, PISTONS, "label,pin,piston\nN1,112.0,538.0\n"),
        ["3.csv: row 1: columns of pins and pistons in one file; allowed: one kind of part a file"],
    ),
    "no such kind": (
        (RODS, PISTONS),
        ["job.toml: pin: missing; allowed: a file of pins, or a reading in [every_cylinder]"],
    ),
    "too few": (
        (RODS, PISTONS, "label,pin\nN1,112.0\n"),
        ["job.toml: pins: 1 on the shelf; allowed: 2 or more for one engine"],
    ),
    "unknown bank": (
        (RODS, "label,piston,bank\nP1,538.4,port\nP2,539.1,\n", PINS),
        ["job.toml: piston P1: bank port is not in this layout; allowed: line"],
    ),
    "unknown partner": (
        (RODS, PISTONS, "label,pin,together\nN1,112.0,P9\nN2,112.1,\n"),
        ["job.toml: pin N1, together: 'P9' is no piston of the shelf; allowed: a piston's label"],
    ),
    "partner taken": (
        (RODS, PISTONS, "label,pin,together\nN1,112.0,P2\nN2,112.1,P2\n"),
        ["job.toml: pin N2, together: piston P2 has another one; allowed: one pin a piston"],
    ),
    "beyond the scale": (
        (RODS, "label,piston\nP1,5384\nP2,539.1\n", PINS),
        ["2.csv: row 2, piston P1: 5384 is beyond the scale; allowed: a mass, 0.1 to 3000 g"],
    ),
    "no number": (
        ("label,big end,small end\nR1,452.1,heavy\nR2,452.4,170.9\n", PISTONS, PINS),
        ["1.csv: row 2, rod R1, small end: 'heavy' is not a number; allowed: a mass, 0.1 to 3000 g"],
    ),
    "blank": (
        ("label,big end,small end\nR1,452.1,\nR2,452.4,170.9\n", PISTONS, PINS),
        ["1.csv: row 2, rod R1, small end: blank; allowed: a mass, 0.1 to 3000 g"],
    ),
    "no label": (
        (RODS, "label,piston\n,538.4\nP2,539.1\n", PINS),
        ["2.csv: row 2, label: blank; allowed: the mark on the part, its own among its kind"],
    ),
    "empty file": (
        (RODS, "", PINS),
        [
            "2.csv: no heading row; allowed: a row of headings, one of them label",
        ],
    ),
    "headings only": (
        (RODS, "label,piston\n", PINS),
        [
            "2.csv: no row under the headings; allowed: one row a part, of pistons",
        ],
    ),
    "one end": (
        ("label,big end\nR1,452.1\n", PISTONS, PINS),
        ["1.csv: row 1: no column small end; allowed: rods have one"],
    ),
    "unknown heading": (
        (RODS, "label,pistn\nP1,538.0\n", PINS),
        ["2.csv: row 1, column 2: 'pistn' is no known heading (did you mean piston?)"],
    ),
    "a decimal comma between commas": (
        (RODS, "label,piston\nP1,538,4\nP2,539.1\n", PINS),
        ["2.csv: row 2: 3 columns under 2 headings"],
    ),
    "another's label": (
        (RODS, PISTONS, "pin,piston label\n112.0,P1\n"),
        ["3.csv: row 1: the heading piston label in a file of pins; allowed: label, and together for the piston"],
    ),
    "together with pistons": (
        (RODS, "label,piston,together\nP1,538.4,P2\nP2,539.1,\n", PINS),
        ["2.csv: row 1: a column together in a file of pistons; allowed: with pins or ring sets"],
    ),
    "an open quote": (
        (RODS, 'label,piston\n"P1,538.4\nP2,539.1\n', PINS),
        ["2.csv: row 2: unexpected end of data; allowed: every quote closed"],
    ),
}


@pytest.mark.parametrize("name", FAULTY)
def test_each_fault_is_named(refused, name):
    texts, expected = FAULTY[name]
    found = refused(*texts)
    assert len(found) == len(expected)
    for one, line in zip(found, expected, strict=True):
        assert one.startswith(line)


def test_all_faults_come_at_once(refused):
    found = refused(
        "label,big end,small end\nR1,452.1,heavy\nR2,,170.9\n",
        "label,piston\nP1,5384\nP2,538.0\nP2,538.1\n",
        every={"locks": 3.2},
    )
    assert len(found) == 5
    assert any(line.startswith("2.csv: piston P2: 2 parts") for line in found)
    assert {line.split(":")[0] for line in found} == {"job.toml", "1.csv", "2.csv"}
    assert "job.toml: bearings: missing; allowed: a reading in [every_cylinder]" in found


def test_a_rod_that_does_not_close_is_told(refused):
    rods = "label,big end,small end,rod total\nR1,452.1,171.2,625.0\nR2,452.4,170.9,623.4\n"
    found = refused(rods, PISTONS, PINS, limits={"closure": 0.5})
    said = "1.csv: row 2, rod R1, rod total: 625 g is 1.7 g from its two ends together"
    assert found == [f"{said}; allowed: 0.5 g, the job's closure"]


def test_too_few_for_a_bank_are_told(refused):
    pistons = "label,piston,bank\nP1,538.4,left\nP2,539.1,left\n"
    found = refused(RODS, pistons, PINS, engine=TWIN)
    assert found == [
        "job.toml: pistons: 2 for bank left, 0 for bank right, 0 for any; "
        "allowed: 1 for bank left, 1 for bank right"
    ]


def test_partners_of_two_banks_are_told(refused):
    pistons = "label,piston,bank\nP1,538.4,left\nP2,539.1,right\n"
    pins = "label,pin,bank,together\nN1,112.0,right,P1\nN2,112.1,,\n"
    (line,) = refused(RODS, pistons, pins, engine=TWIN)
    assert line == "job.toml: pin N1, together: bank right, its piston's is left; allowed: the same bank"


def test_a_kind_that_the_engine_is_without_is_told(refused):
    found = refused(RODS, PISTONS, PINS, engine=TWO | {"without": ["pin"]})
    assert found == ["job.toml: pin: the engine is declared without it"]


def test_what_stays_together_sits_on_one_bank(load):
    """A pin that is bound to a bank binds its piston, and a piston its pin."""
    pistons = "label,piston,bank\nP1,538.4,\nP2,539.1,right\n"
    pins = "label,pin,bank,together\nN1,112.0,left,P1\nN2,112.1,,P2\n"
    shelf = load(RODS, pistons, pins, engine=TWIN)
    assert {part.label: part.bank for part in shelf.pools["piston"]} == {"P1": "left", "P2": "right"}
    assert {part.label: part.bank for part in shelf.pools["pin"]} == {"N1": "left", "N2": "right"}


def test_banks_that_parts_bring_along_are_counted(refused):
    pistons = "label,piston,bank\nP1,538.4,\nP2,539.1,left\n"
    pins = "label,pin,bank,together\nN1,112.0,left,P1\nN2,112.1,,\n"
    assert any("pistons: 2 for bank left" in line for line in refused(RODS, pistons, pins, engine=TWIN))


def test_what_a_keeper_has_is_a_pool_too_but_not_of_a_kind_that_is_the_same_everywhere(tmp_path):
    job, rods = tmp_path / "job.toml", tmp_path / "rods.csv"
    document = invented.document(engine=TWO, every_cylinder=GIVEN | {"pin": 112.0})
    job.write_text(invented.text({k: v for k, v in document.items() if k != "cylinder"}), encoding="utf-8")
    rods.write_text(RODS, encoding="utf-8")
    pistons = [Part("piston", f"P{n}", 0.0, 538.4) for n in (1, 2)]
    found = pool.load(job, [rods], [*pistons, Part("pin", "N1", 0.0, 112.0)], "the stock")
    assert {kind: len(parts) for kind, parts in found.pools.items()} == {"rod": 2, "piston": 2}
    with pytest.raises(BadInput, match="rod R1: 2 parts of one label"):
        pool.load(job, [rods], [*pistons, Part("rod", "R1", 452.1, 171.2)], "the stock")
