"""The bobweight of a matched set from the weights on paper."""

from __future__ import annotations

import json
import tomllib

import pytest
from commands import on_a_terminal

# Ends the questions, should there be more of them than answers.
ENOUGH = "\x04" * 3

WEIGHTS = {"piston": 520, "pin": 120, "locks": 2, "rings": 25, "small-end": 150, "big-end": 450, "bearings": 40}


def options(**changed):
    given = WEIGHTS | {name.replace("_", "-"): value for name, value in changed.items()}
    return [word for name, value in given.items() for word in (f"--{name}", value)]


def test_a_scale_too_coarse_for_the_usual_limits_adds_up_all_the_same(run):
    status, out, err = run("tally", "v8-90-crossplane", *options(rings=26), "--step", "2")
    assert (status, err) == (0, "")
    assert "Hang 1798 g on every throw" in out


def test_what_is_wrong_with_a_weight_that_was_given_once_is_said_once(run):
    status, out, _ = run("tally", "v8-90-crossplane", *options(small_end=450, big_end=150))
    assert (status, out.count("look swapped")) == (1, 1)
    assert "! every cylinder, rod, big end and small end: 150.0, 450.0 g look swapped" in out


def test_the_sum_is_shown_line_by_line(run, tmp_path):
    """490 g that turn and 817 g that go up and down in a cylinder: 2 × (490 + 0.5 × 817) = 1797.0 g."""
    status, out, err = run("tally", "v8-90-crossplane", *options())
    assert (status, err) == (0, "")
    told = {line.split("  ")[0]: line.split() for line in out.splitlines() if line}
    assert told["big end"][2:] == ["450.0", "×", "2", "900.00"]
    assert told["piston"][1:] == ["520.0", "×", "2", "×", "0.5", "520.00"]
    assert told["bobweight"][-1] == "1797.00"
    assert "Hang 1797.0 g on every throw" in out
    assert not list(tmp_path.iterdir())


def test_it_is_kept_as_a_job_that_says_the_same(run, tmp_path):
    status, out, _ = run("tally", "v8-90-crossplane", *options(locks=0), "--save", "my.toml")
    assert status == 0
    assert "Written: my.toml. Next: truethrow hang my.toml" in out
    assert "Hang 1795.0 g on every throw" in run("hang", "my.toml").out
    before = (tmp_path / "my.toml").read_bytes()
    assert run("tally", "v8-90-crossplane", *options(), "--save", "my.toml").status == 2
    assert (tmp_path / "my.toml").read_bytes() == before
    assert tomllib.loads(before.decode())["job"]["id"] != "v8-90-crossplane"


@pytest.mark.parametrize(
    ("job_id", "said"),
    [
        ("a\nb", "--id: "),
        ("V12/9", "--id: 'V12/9' has a / in it; allowed: "),
        ("x.toml", "--id: 'x.toml' ends like"),
    ],
)
def test_an_id_that_no_command_could_call_is_refused_before_a_job_has_it(run, tmp_path, job_id, said):
    for words in (("tally", "inline-3", *options(), "--save", "my.toml"), ("new", "inline-3", "my.toml")):
        status, _, err = run(*words, "--id", job_id)
        assert status == 2 and err.startswith(said), err
        assert not list(tmp_path.iterdir())


def test_a_machine_is_told_the_same(run):
    told = json.loads(run("tally", "inline-3", *options(), "--oil", "3", "--json").out)
    assert (told["bobweight_g"], told["hang_g"], told["cylinders_a_throw"]) == (901.5, 901.5, 1)
    assert sum(line["adds_g"] for line in told["lines"]) + told["oil_g"] == 901.5


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"piston": ""}, "missing: --piston; allowed: a mass each, 0 for what the engine has not"),
        ({"pin": 0}, "--pin: 0 g; allowed: a mass above 0"),
        ({"pin": "6,385"}, "--pin: 6,385 can be read as thousands or as a decimal"),
        ({"share": 2}, "--share: 2 is out of reach; allowed: 0 to 1"),
        ({"share": "half"}, "--share: 'half'"),
        ({"rings": "heavy"}, "--rings: "),
        ({"unit": "mm"}, "--unit: 'mm' is no unit of mass"),
        ({"piston": "-5"}, "--piston: -5 is not above zero"),
    ],
)
def test_what_is_wrong_is_told_in_one_line(run, changed, said):
    status, out, err = run("tally", "v8-90-crossplane", *options(**changed))
    assert (status, out) == (2, "")
    assert err.splitlines()[0].startswith(said)


def test_decimal_commas_fractions_and_pounds_are_read(run):
    given = options(piston="1 lb 2 1/2 oz", pin="120,5", rings="7/8 oz")
    told = json.loads(run("tally", "v8-90-crossplane", *given, "--json").out)
    weighs = {line["kind"]: line["grams"] for line in told["lines"]}
    assert weighs["piston"] == pytest.approx(18.5 * 28.349523125)
    assert weighs["pin"] == 120.5
    assert weighs["rings"] == pytest.approx(0.875 * 28.349523125)


def test_a_share_is_read_as_a_hand_writes_it(run):
    for typed in (".52", "0,52"):
        assert json.loads(run("tally", "inline-3", *options(), "--share", typed, "--json").out)["share"] == 0.52


def test_ends_that_are_exchanged_are_told(run):
    status, out, _ = run("tally", "v8-90-crossplane", *options(small_end=450, big_end=150))
    assert status == 1
    assert "look swapped" in out


def test_at_a_terminal_it_asks_for_all_of_it(tmp_path):
    typed = "\n".join(
        ["", "520", "120", "2", "heavy", "25", "150", "450", "40", "", "", "my.toml", "2217", "", "\x04" * 3]
    )
    status, out = on_a_terminal(["tally"], tmp_path, typed)
    assert status == 0, out
    assert "Piston [g]:" in out
    assert "Hang 1797.0 g on every throw" in out
    assert tomllib.loads((tmp_path / "my.toml").read_text())["job"]["id"] == "2217"


def test_at_a_terminal_it_asks_only_for_what_is_not_given(tmp_path):
    given = [str(word) for word in options(pin="", piston="")]
    status, out = on_a_terminal(["tally", "inline-4", *given], tmp_path, f"520\n120\n\n\n\n{ENOUGH}")
    assert status == 0, out
    assert "Rings" not in out
    assert "898.50" in out
    assert not list(tmp_path.iterdir())


def test_left_at_a_question_nothing_is_written(tmp_path):
    status, out = on_a_terminal(["tally"], tmp_path, f"\n520\n{ENOUGH}")
    assert status == 2
    assert "the questions were left; nothing was written" in out
