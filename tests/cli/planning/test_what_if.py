"""What if, by its command: side by side, never taken for the job, and nothing of the job touched."""

import hashlib
import json

import pytest
from demo_shop import DemoShop


@pytest.fixture
def whole(tmp_path):
    """The launch, all of it weighed."""
    return DemoShop(tmp_path)


def everything(folder):
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_before_and_after_are_what_the_job_and_the_edited_job_say(whole):
    found = json.loads(whole.run("what-if", whole.file, "--share", "0.48", "--oil", "6", "--json")[1])["what_if"]
    now = json.loads(whole.run("hang", whole.file, "--json")[1])
    assert [t["hangs_g"] for t in found["now"]["bobweights"]["throws"]] == [
        t["hang_g"] for t in now["bobweights"]["throws"]
    ]
    text = whole.file.read_text(encoding="utf-8")
    whole.file.write_text(text.replace("share = 0.50", "share = 0.48").replace("oil = 4.0", "oil = 6.0"))
    edited = json.loads(whole.run("hang", whole.file, "--json")[1])
    then = found["then"]["bobweights"]
    assert [t["would_hang_g"] for t in then["throws"]] == [t["hang_g"] for t in edited["bobweights"]["throws"]]
    assert then["cost"] == edited["bobweights"]["cost"]
    shaken = json.loads(whole.run("shake", whole.file, "--json")[1])["shake"]
    assert found["then"]["shake"] == shaken


def test_nothing_is_recorded_and_no_byte_changes(whole, tmp_path):
    whole.spun()
    before = everything(tmp_path)
    digest = json.loads(whole.run("hang", whole.file, "--json")[1])["job"]["digest"]
    said = whole.run(
        *("what-if", whole.file, "--share", "0.48", "--part", "piston -12", "--turned-to", "89mm"),
        *("--station", whole.station, "--json"),
    )[1]
    assert everything(tmp_path) == before
    assert json.loads(said)["of_job"]["digest"] == digest
    assert "hang_g" not in json.loads(said)["what_if"]["then"]["bobweights"]


def test_every_table_is_headed_what_if_and_nothing_is_told_to_be_hung(whole):
    status, said = whole.run(
        "what-if", whole.file, "--part", "piston -12", "--turned-to", "89mm", "--station", whole.station
    )
    assert status == 1
    lines = said.splitlines()
    assert lines[0] == "What if: piston -12; counterweights turned to 89mm"
    assert "This is not the job: job launch-7 stays as it is, nothing is recorded" in said
    headed = [line for at, line in enumerate(lines[1:], start=1) if lines[at - 1] == ""]
    assert len(headed) == 6
    assert all(line.startswith("What-if: ") for line in headed)
    assert "Hang " not in said
    assert "would hang" in said
    assert "Next:" not in said
    assert lines[-1].startswith("Status 1: what if: outside:")


def test_from_the_last_spin_it_tells_the_stations_own_plan_and_the_one_with_the_change(whole):
    whole.spun()
    plan = json.loads(whole.at_station("holes", "--json"))
    found = json.loads(
        whole.run("what-if", whole.file, "--part", "piston 1 +2", "--station", whole.station, "--json")[1]
    )["what_if"]
    assert found["crank_was_spun"]
    now, then = found["now"]["crank"], found["then"]["crank"]
    assert now["holes"] + now["slugs"] == len(plan["plan"]["operations"]) > 0
    assert then["reads"] != now["reads"]
    assert "From the last spin and what was drilled since" in whole.run("what-if", whole.file, "--oil", "5")[1]


def test_a_crank_that_cannot_be_brought_inside_is_status_1(whole):
    status, said = whole.run("what-if", whole.file, "--turned-to", "80", "--station", whole.station)
    assert status == 1
    assert "no: OUTSIDE" in said
    assert "outside: the crank, whatever this shop drills" in said.splitlines()[-1]


def test_what_would_be_a_slip_is_told_as_one(whole):
    said = whole.run("what-if", whole.file, "--part", "piston P28 = 583")[1]
    assert "! Would look like a slip: piston P28 (sits in 1): 583.0 g is" in said


def test_a_part_that_no_such_part_weighs_is_doubted_before_any_figure(whole):
    lines = whole.run("what-if", whole.file, "--part", "piston P28 = 583")[1].splitlines()
    doubt = next(at for at, line in enumerate(lines) if line.startswith("! Would look like a slip"))
    assert doubt < next(at for at, line in enumerate(lines) if line.startswith("What-if: "))


MEMBERS = """
[[crank.external]]
name = "damper"
at = -80.0
radius = 70.0
thickness = 22.0
keyway = 0
offset = { unbalance = 900, angle = 0, uncertainty = 30 }

[[crank.external]]
name = "new damper"
at = -80.0
radius = 70.0
thickness = 22.0
keyway = 0
offset = { unbalance = 4900, angle = 0, uncertainty = 30 }
replaces = "damper"

# The readings"""


def test_a_damper_that_replaces_another_is_swapped_in(whole):
    """4,000 g·mm more at throw 1's angle, 80 mm ahead of the front plane and 336 mm between the planes: front
    4000 · 416 / 336 = 4952, rear 4000 · 80 / 336 = 952 the other way."""
    text = whole.file.read_text(encoding="utf-8")
    whole.file.write_text(text.replace("\n# The readings", MEMBERS), encoding="utf-8")
    said = whole.run("what-if", whole.file, "--member", "new damper", "--station", whole.station, "--json")[1]
    found = json.loads(said)["what_if"]
    now, then = (found[side]["crank"]["reads"] for side in ("now", "then"))
    assert found["changes"] == ["new damper"]
    assert [now[plane]["unbalance_gmm"] for plane in ("front", "rear")] == [0, 0]
    assert then["front"]["unbalance_gmm"] == pytest.approx(4000 * 416 / 336, abs=0.1)
    assert then["rear"]["unbalance_gmm"] == pytest.approx(4000 * 80 / 336, abs=0.1)
    assert then["rear"]["crank_angle_deg"] == pytest.approx(180)
    assert found["then"]["crank"]["holes"] + found["then"]["crank"]["slugs"] > 0


def test_estimates_will_do_and_say_so(estimated, shop):
    status, said = shop.run("what-if", estimated, "--part", "piston -12")
    assert status == 0
    assert "! ESTIMATE: not weighed yet" in said
    assert "Would hang 1837.2 g on every throw (the mean), not 1849.2 g as now." in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "what if: nothing is changed; say what: --share, --oil, --part, --turned-to, --member"),
        (("--share", "half"), "--share: half; allowed: a number, 0 to 1"),
        (("--part", "piston P28 -600"), "piston P28 (sits in 1) would weigh -61.9 g; allowed: 0.1 to 50000 g"),
        (("--turned-to", "40"), "40 mm; allowed: between its inner radius, 52 mm, and its rim, 90 mm"),
        (("--turned-to", "86", "--counterweight", "9"), "9 is none of the job's; allowed: 1 front"),
        (("--member", "damper = 900 at 30"), "damper is no damper or flexplate of the job; allowed: none"),
        (("--oil", "5", "--show", "furlongs"), "--show: 'furlongs' is not known"),
    ],
)
def test_what_makes_no_sense_is_one_line_with_status_2(whole, words, said):
    status, told = whole.run("what-if", whole.file, *words)
    assert status == 2
    assert said in told
    assert len(told.splitlines()) == 1


def test_for_holes_the_job_needs_a_crank_and_a_tolerance(whole):
    text = whole.file.read_text(encoding="utf-8")
    whole.file.write_text(text.replace("grade = 6.3", "# none"), encoding="utf-8")
    status, said = whole.run("what-if", whole.file, "--oil", "5", "--station", whole.station)
    assert status == 2
    assert "has no tolerance; allowed: a limit or a grade" in said
    assert whole.run("what-if", whole.file, "--oil", "5")[0] == 1
    whole.file.write_text(text[: text.index("[crank]")] + text[text.index("# The readings") :], encoding="utf-8")
    assert "crank: missing" in whole.run("what-if", whole.file, "--oil", "5", "--station", whole.station)[1]
    said = whole.run("what-if", whole.file, "--oil", "5")[1]
    assert "crank's planes" not in said
