"""Few repeats are believed: a pair that agrees by chance, or none, and what the grinder would have been told.

Each story is told through the command line, and says in a line what a hand would have done wrong.
"""

from __future__ import annotations

import json
import re
import shlex
from pathlib import Path

import commands
import invented
import pytest
from typer.testing import CliRunner
from within import BadInput, NotSaved, app

UNKNOWN = {"resolution": 0.1, "capacity": 3000, "repeatability": None, "rod_end_repeatability": None}
PISTONS = {1: 538.0, 2: 538.4, 3: 538.6, 4: 538.2, 5: 538.1, 6: 538.5, 7: 538.3, 8: 538.4}
FAR = {1: 537.0, 2: 538.4, 3: 539.6, 4: 538.2, 5: 537.5, 6: 539.1, 7: 538.0, 8: 538.9}
PADS = {"piston": 6.0, "pin": 0.0, "big_end_pad": {"at": -48.0, "most": 9.0}}


class Shop:
    """One job, and the commands that its people give."""

    def __call__(self, command, stdin=""):
        done = CliRunner().invoke(app, shlex.split(command), input=stdin)
        if isinstance(done.exception, BadInput | NotSaved):
            return 2, "\n".join(done.exception.lines())
        assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
        return done.exit_code, done.output

    def verdicts(self):
        return {s["quantity"]: s["verdict"] for s in json.loads(self("check job.toml --json")[1])["spreads"]}

    def does_as_told(self, said, reads):
        """Weigh what a sentence asks for, as it says. reads: what the scale shows of a cylinder."""
        asked = re.search(r"truethrow weigh job.toml, then type ((?:go [a-z ]+ \d+(?:, )?)+)", said)[1].split(", ")
        typed = [line for go in asked for line in (go, reads(int(go.split()[-1])))]
        assert self("weigh job.toml", "".join(f"{line}\n" for line in typed))[0] == 0
        return asked


@pytest.fixture
def shop(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)

    def make(pistons, **tables):
        data = invented.document(invented.cylinders(piston=pistons), **({"scale": UNKNOWN, "trim": PADS} | tables))
        (tmp_path / "job.toml").write_text(invented.text(data), encoding="utf-8")
        return Shop()

    return make


def test_nothing_is_inside_by_a_scatter_that_nobody_looked_at(shop):
    """The builder would have let the set go: nobody had put one part on the scale twice."""
    job = shop(PISTONS, limits={"piston": 1.2})
    assert job.verdicts()["piston"] == "too close to call"
    said = job("check job.toml")[1]
    assert "How far loads on the pan and of rod ends scatter is only assumed" in said
    assert job.does_as_told(said, lambda n: f"{PISTONS[n]}") == ["go piston 1", "go piston 3"]
    assert job.verdicts()["piston"] == "inside"
    said = job("check job.toml")[1]
    assert "loads of rod ends scatter is only assumed" in said
    assert "too close to call" not in said


def test_a_declared_scatter_counts_for_its_own_way_of_weighing(shop):
    """What the scale does with a piston on its pan would have passed rod ends that nobody weighed twice."""
    limits = {"piston": 1.2, "big_end": 1.2}
    job = shop(PISTONS, limits=limits, scale=UNKNOWN | {"repeatability": 0.03, "repeatability_from": 9})
    verdicts = job.verdicts()
    assert (verdicts["piston"], verdicts["big_end"]) == ("inside", "too close to call")


def test_metal_is_not_cut_for_the_uncertainty_alone(shop):
    """The grinder would have taken half a gram more off every piston, only because nobody weighed one twice."""
    job = shop(FAR, limits={"piston": 1.0})
    status, said = job("trim job.toml")
    assert (status, "take " in said) == (1, False)
    assert "metal would be cut for the ± alone; weigh a second time first piston 1, piston 3" in said
    status, refused = job("ground job.toml")
    assert status == 2
    assert "a second time first piston 1, piston 3: truethrow weigh job.toml, then type go piston" in refused
    assert json.loads(job("history job.toml --json")[1])["records"] == []
    job.does_as_told(said, lambda n: f"{FAR[n]}")
    plan = json.loads(job("trim job.toml --json")[1])["trim"]
    assert plan["parts"]
    assert next(s["verdict"] for s in plan["after"] if s["quantity"] == "piston") == "inside"
    assert job("ground job.toml")[0] == 0


def test_one_bad_repeat_is_named_and_not_spread_over_every_verdict(shop):
    """Three of four spreads would have been too close to call, and no word of which part to weigh again."""
    twice = {n: [grams, grams] for n, grams in PISTONS.items() if n < 7}
    job = shop(PISTONS | twice | {4: [538.2, 536.2]}, limits={"piston": 2.5, "pin": 0.6})
    assert job.verdicts() | {"pin": "inside"} == job.verdicts()
    slips = json.loads(job("check job.toml --json")[1])["slips"]
    assert [(s["check"], s["cylinder"]) for s in slips] == [("repeats", 4)]
    said = job("check job.toml")[1]
    assert "piston 4: 2 readings are 2.0 g apart (538.2, 536.2 g); weigh it again" in said
    assert "too close to call" not in said
    scatter = json.loads(job("check job.toml --json")[1])["job"]["repeatability"]["on_the_pan"]
    assert scatter == {"standard_g": 0.0289, "freedom": 5, "factor": 2.6486, "known": "repeats"}


def test_a_part_weighed_again_after_a_trade_is_a_repeat(shop):
    """Two weighings of one piston, before and after it changed places, would have counted for nothing."""
    job = shop(FAR, limits={"piston": 1.0}, match={"move": ["piston"], "apart": [["piston P1", "cylinder 1"]]})
    text = Path("job.toml").read_text(encoding="utf-8")
    labelled = text.replace("number = 1\n", 'number = 1\nlabels = { piston = "P1" }\n', 1)
    Path("job.toml").write_text(labelled, encoding="utf-8")
    job("weigh job.toml", "go piston P1\n537.0\n")
    job("match job.toml --seconds 1")
    assert job("accept job.toml")[0] == 0
    assert "P1 (weighed in 1, goes in 1)" not in job("check job.toml")[1]
    assert job("weigh job.toml", "go piston P1\n537.1\n")[0] == 0
    scatter = json.loads(job("check job.toml --json")[1])["job"]["repeatability"]["on_the_pan"]
    assert (scatter["known"], scatter["freedom"]) == ("repeats", 2)  # the job file's, and two of the bench


def test_what_was_weighed_twice_before_it_was_ground_still_speaks_for_the_scale(shop):
    """Everything would have had to be weighed twice again after each round of grinding."""
    job = shop(FAR | {1: [537.0, 537.1], 3: [539.6, 539.6], 6: [539.1, 539.1]}, limits={"piston": 1.0})
    before = json.loads(job("check job.toml --json")[1])["job"]["repeatability"]["on_the_pan"]
    parts = json.loads(job("trim job.toml --json")[1])["trim"]["parts"]
    plan = {part["cylinder"]: part["expect_g"]["piston"] for part in parts}
    assert job("ground job.toml piston 3 piston 6")[0] == 0
    assert job("weigh job.toml", f"{plan[3]}\n{plan[6]}\n")[0] == 0
    assert json.loads(job("check job.toml --json")[1])["job"]["repeatability"]["on_the_pan"] == before


def test_nobody_weighs_twice_for_ever(shop):
    """Each new job would have had to weigh parts twice on a scale that the shop has known for years."""
    profile = Path("bench.toml")
    profile.write_text("[bench]\n", encoding="utf-8")
    job = shop(PISTONS, limits={"piston": 1.2})
    typed = "".join(f"go piston {n}\n{PISTONS[n]}\ngo piston {n}\n{PISTONS[n]}\n" for n in (1, 3, 5))
    said = job("weigh job.toml --bench bench.toml", typed)[1]
    assert "how far this scale scatters: on the pan 0.029 g (of 3 second weighings)" in said
    (command,) = re.findall("To remember that for other jobs: truethrow (.+)", said)
    assert job(command) == (0, "bench.toml remembers: on the pan 0.029 g (of 3 second weighings)\n")
    kept = profile.read_text(encoding="utf-8")
    assert 'repeatability = "0.02887 g"\nrepeatability_from = 3\nrepeatability_on = 20' in kept
    assert job(command)[0] == 2  # a session counts once
    assert profile.read_text(encoding="utf-8") == kept

    Path("job.readings.jsonl").unlink()
    job = shop(PISTONS, limits={"piston": 1.2})
    assert job.verdicts()["piston"] == "too close to call"
    said = job("weigh job.toml --bench bench.toml")[1].splitlines()
    at = next(
        at for at, line in enumerate(said) if line.startswith("bench.toml knows how far this scale scatters")
    )
    assert "put this under [scale] in the job:" in said[at]
    text = Path("job.toml").read_text(encoding="utf-8")
    Path("job.toml").write_text(text.replace("[scale]\n", "\n".join(["[scale]", *said[at + 1 : at + 3], ""])))
    assert job.verdicts()["piston"] == "inside"


def test_what_is_too_close_to_call_is_not_told_as_nothing_to_trim(tmp_path):
    """A scale of 0.5 g, nothing weighed twice, 0.5 g apart of 2 g allowed."""
    path = tmp_path / "job.toml"
    scale = {"resolution": 0.5, "capacity": 3000, "repeatability": None, "rod_end_repeatability": None}
    parts = invented.cylinders(piston={3: 539.0})
    path.write_text(invented.text(invented.document(parts, limits={"piston": 2.0}, scale=scale)), encoding="utf-8")
    said = commands.run("trim", path).out
    assert "Nothing to trim yet: too close to call: piston." in said
    assert "second weighing of" in said and "truethrow weigh" in said and "then type go" in said
