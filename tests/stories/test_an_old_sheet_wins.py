"""An old sheet wins: a piston was weighed again at the bench, and yesterday's sheet is still beside the job.

What a hand would have done wrong: hang, grind and print by the sheet's figure, not by the last one.
"""

from __future__ import annotations

import json

import invented
import pytest
from typer.testing import CliRunner
from within import BadInput, app

WITH_A_SHEET = (
    ("work",),
    ("hang",),
    ("check",),
    ("trim",),
    ("match",),
    ("send", "--out", "-"),
    ("cards",),
)


class Shop:
    def __init__(self, folder, **tables):
        self.job = folder / "launch.toml"
        self.job.write_text(invented.text(invented.document(**tables)), encoding="utf-8")
        self.sheet = folder / "old.csv"

    def weighed(self, *lines):
        self("weigh", stdin="".join(f"{line}\n" for line in lines))

    def __call__(self, command, *more, stdin=None):
        done = CliRunner().invoke(app, [command, str(self.job), *more], input=stdin)
        if isinstance(done.exception, BadInput):
            return 2, done.exception.lines()
        assert isinstance(done.exception, SystemExit | None), done.exception
        return done.exit_code, done.stdout

    def with_sheet(self, command, *more):
        return self(command, *more, "--sheet", str(self.sheet))

    def last_record(self):
        return json.loads(self("history", "--json")[1])["records"][-1]["id"]


@pytest.fixture
def shop(tmp_path):
    return Shop(tmp_path)


@pytest.mark.parametrize("command", WITH_A_SHEET)
def test_a_sheet_that_is_older_than_the_log_is_refused_and_names_both_figures(shop, command):
    shop.weighed("go 3 piston", "539.1")
    record = shop.last_record()
    shop.sheet.write_text("cylinder;piston\n3;538,4\n", encoding="utf-8")
    status, said = shop.with_sheet(*command)
    assert status == 2
    where = f"{shop.sheet}: cylinder 3, piston: "
    assert said[0] == f"{where}the sheet reads 538.4, the log 539.1 (record {record})"
    assert len(said) == 2 and f"truethrow strike {shop.job} RECORD" in said[1]
    assert not shop.job.with_name("launch-station.csv").exists()
    assert not shop.job.with_name("launch-cards").exists()


@pytest.mark.parametrize("command", WITH_A_SHEET)
def test_a_sheet_that_says_something_else_than_the_job_file_is_refused(shop, command):
    shop.sheet.write_text("cylinder,piston,rings\n3,538.6,41.0\n", encoding="utf-8")
    status, said = shop.with_sheet(*command)
    assert status == 2
    assert said[0] == f"{shop.sheet}: cylinder 3, piston: the sheet reads 538.6, the job file 538.4"
    assert len(said) == 2 and "mend the job file by hand" in said[1]


def test_each_way_out_works(shop):
    shop.weighed("go 3 piston", "539.1")
    shop.sheet.write_text("cylinder,piston\n3,538.4\n", encoding="utf-8")
    assert shop.with_sheet("hang")[0] == 2
    assert shop("hang")[0] != 2, "the sheet left out"
    assert shop("strike", shop.last_record(), "--why", "wrong piston")[0] == 0
    assert shop.with_sheet("hang")[0] != 2, "the sheet was right, and the file says so"


def test_what_a_reading_for_every_cylinder_says_is_held_against_the_sheet_too(tmp_path):
    parts = [{k: v for k, v in one.items() if k != "locks"} for one in invented.cylinders()]
    shop = Shop(tmp_path, parts=parts, every_cylinder={"locks": 3.2})
    shop.sheet.write_text("cylinder,locks\n3,3.4\n", encoding="utf-8")
    status, said = shop.with_sheet("check")
    assert (status, said[0]) == (2, f"{shop.sheet}: cylinder 3, locks: the sheet reads 3.4, the job file 3.2")


@pytest.mark.parametrize(
    ("reads", "sheet"),
    [
        (["453.6"], "cylinder;piston\n3;453,60\n"),
        (["538.4", "538.6"], "cylinder,piston,piston\n3,538.6,538.4\n"),
        (["453.59237 g"], "cylinder,piston [oz]\n3,16\n"),
    ],
)
def test_the_same_figures_are_no_contradiction_however_they_are_written(tmp_path, reads, sheet):
    data = invented.cylinders(piston={3: reads if len(reads) > 1 else reads[0]})
    shop = Shop(tmp_path, parts=data, scale={"resolution": 0.00001, "capacity": 3000})
    without = json.loads(shop("hang", "--json")[1])
    shop.sheet.write_text(sheet, encoding="utf-8")
    status, said = shop.with_sheet("hang", "--json")
    assert status != 2
    assert json.loads(said) == without, "and the digest is the same"


def test_repeats_that_the_sheet_does_not_have_are_a_contradiction(tmp_path):
    shop = Shop(tmp_path, parts=invented.cylinders(piston={3: [538.4, 538.6]}))
    shop.sheet.write_text("cylinder,piston\n3,538.4\n", encoding="utf-8")
    status, said = shop.with_sheet("check")
    assert (status, said[0].split(": ", 2)[2]) == (2, "the sheet reads 538.4, the job file 538.4, 538.6")


def test_another_label_is_a_contradiction(tmp_path):
    parts = invented.cylinders()
    parts[2]["labels"] = {"rod": "R3"}
    shop = Shop(tmp_path, parts=parts)
    shop.sheet.write_text("cylinder,rod label,piston\n3,R4,538.4\n", encoding="utf-8")
    status, said = shop.with_sheet("trim")
    assert (status, said[0].split(": ", 1)[1]) == (
        2,
        "cylinder 3, rod label: the sheet has 'R4', the job file 'R3'",
    )


def test_a_sheet_of_what_nobody_weighed_otherwise_works_as_before(tmp_path):
    parts = [{k: v for k, v in one.items() if k != "piston"} for one in invented.cylinders()]
    shop = Shop(tmp_path, parts=parts)
    rows = "".join(f"{n},538.4\n" for n in range(1, 9))
    shop.sheet.write_text(f"cylinder,piston\n{rows}", encoding="utf-8")
    assert shop("hang")[0] == 2, "the pistons are in the sheet alone"
    assert shop.with_sheet("hang")[0] == 0
