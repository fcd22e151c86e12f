"""Whatever a file or a word of a command turns into, a command ends with 0, 1 or 2 and no fault of its own.

`pytest -n 0 -s --whole` does 20,000 and prints what came of them."""

from __future__ import annotations

import random
import shutil
import sys
import time
import traceback
from collections import Counter

import pytest
from demo_shop import FIRST, MASS, DemoShop
from planned import CLEAR, ESTIMATE
from typer.testing import CliRunner
from within import BadInput, NotSaved, app

JOB, SHEET, LOG = "launch.toml", "launch-weigh.csv", "launch.readings.jsonl"
OTHERS = ["--pin", "120", "--locks", "2", "--rings", "25", "--bearings", "40"]
STATION = ("--station", "station.toml")
COMMANDS = [
    ("work", JOB),
    ("work", JOB, "--json"),
    ("work", "pump.toml"),
    ("check", JOB, "--sheet", SHEET),
    ("hang", JOB),
    ("trim", JOB),
    ("trim", JOB, "--json"),
    ("enter", JOB, SHEET),
    ("enter", "pump.toml", SHEET),
    ("confirm", JOB, "piston", "P33", "--why", "weighed again", "--by", "AB"),
    ("ground", JOB, "piston", "P28", "--by", "AB"),
    ("ground", JOB, "rod", "3", "--took", "1.2", "--at", "big end"),
    ("match", JOB, "--seconds", "0.2"),
    ("replace", JOB, "rod", "3"),
    ("shelf", JOB, "shelf-pistons.csv", "shelf-rods.csv", "shelf-pins.csv", "--seconds", "0.2"),
    ("send", JOB, "--out", "made.csv"),
    ("compare", "launch-weigh.csv", JOB),
    ("stack", JOB, *STATION),
    ("target", JOB, *STATION, "2200"),
    ("spin", JOB, *STATION, "6.1@203", "5.0@169"),
    ("test-mass", JOB, *STATION, "1@2", "3@4"),
    ("test-mass", JOB, *STATION, *MASS),
    ("holes", JOB, *STATION),
    ("holes", JOB, *STATION, "--did", "1 front, 137 deg, 20 mm deep"),
    ("spins", JOB, *STATION, "--json"),
    ("profile", JOB, *STATION),
    ("sign", JOB, *STATION, "--by", "AB"),
    ("sure", JOB),
    ("share", JOB),
    ("shake", JOB, "--at", "5000"),
    ("history", JOB),
    ("history", JOB, "--json"),
    ("strike", JOB, "--last"),
    ("damaged", JOB),
    ("crank", JOB, "K7", "--by", "AB"),
    ("close", JOB, "--by", "AB", "--why", "done"),
    ("tally", "v8-90-crossplane", "--piston", "520", "--big-end", "450", "--small-end", "150", *OTHERS),
    ("new", "v8-90-crossplane", "made.toml"),
    ("member", JOB, *STATION),
    ("convert", JOB, *STATION),
]
PLANNED = [
    ("forecast", "plan.toml"),
    ("forecast", "plan.toml", "--json"),
    ("shake", "plan.toml"),
    ("sure", "plan.toml"),
    ("hang", "plan.toml"),
    ("turn", "plan.toml", "--to", "86mm"),
    ("turn", JOB, "--to", "86mm", "--counterweight", "1 front"),
    ("turn", JOB, "--to", "89.7", *STATION, "--counterweight", "1 front"),
    ("clearance", "plan.toml"),
    ("clearance", "plan.toml", "--turned-to", "86", "--drawing", "made.svg"),
    ("what-if", "plan.toml", "--part", "piston -12", "--share", "0.48", "--oil", "5"),
    ("what-if", JOB, "--part", "rod R30 = 450 + 170", "--turned-to", "89.7", *STATION),
]
HOSTILE = [
    *(
        "nan",
        "inf",
        "-inf",
        "1e308",
        "-1e308",
        "1e-320",
        "0",
        "-0",
        "-1",
        "1e9",
        "9" * 400,
        "0x10",
        "1_0",
        "1,5",
        "",
    ),
    *(
        " ",
        '""',
        "''",
        "[]",
        "{}",
        "[[]]",
        "true",
        "null",
        "\x00",
        "\x1b[2J",
        "\ufeff",
        "\u202e",
        "é",
        "\U0001f600",
    ),
    *(
        "=1+1",
        "../..",
        "/dev/null",
        "-",
        "--",
        "--json",
        "@",
        "1@",
        "@1",
        "1@2@3",
        "1@1e308",
        "[" * 200,
        "a.b." * 60,
    ),
    *(
        "\n",
        "\r",
        "12 g",
        "12 furlongs",
        "3/0",
        "1/2 in",
        "2 lb 3 oz",
        "1e400 g",
        "piston",
        "rod total",
        "99",
        "P33",
    ),
]


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """A job with readings, a slip confirmed, a test mass and a spin."""
    folder = tmp_path_factory.mktemp("given") / "shop"
    folder.mkdir()
    made = DemoShop(folder)
    made("spin", "--station", folder / "station.toml", *FIRST)
    made("test-mass", "--station", folder / "station.toml", *MASS)
    text = made.file.read_text(encoding="utf-8").replace('id = "launch-7"', 'id = "launch-8"')
    (folder / "plan.toml").write_text(
        text.replace("[every_cylinder]", f"{ESTIMATE}{CLEAR}\n[every_cylinder]"), encoding="utf-8"
    )
    return folder


def spoiled(raw: bytes, chance: random.Random) -> bytes:
    """A file with something done to it, once to three times."""
    for _ in range(chance.choice((1, 1, 2, 3))):
        lines = raw.split(b"\n")
        at = chance.randrange(len(raw) + 1)
        one = chance.randrange(len(lines))
        match chance.randrange(9):
            case 0 if raw:
                raw = raw[:at] + bytes([chance.randrange(256)]) + raw[at + 1 :]
            case 1:
                raw = raw[:at] + raw[at + chance.randint(1, 60) :]
            case 2:
                raw = raw[:at]
            case 3:
                raw = b"\n".join([*lines[:one], lines[chance.randrange(len(lines))], *lines[one:]])
            case 4:
                raw = b"\n".join(lines[:one] + lines[one + 1 :])
            case 5:
                raw = raw[:at] + chance.choice(HOSTILE).encode() + raw[at:]
            case _:
                raw = b"\n".join([*lines[:one], changed(lines[one], chance), *lines[one + 1 :]])
    return raw


def changed(line: bytes, chance: random.Random) -> bytes:
    """A line of which one word or number is another."""
    words = line.split(b" ") if b" " in line else line.split(b",")
    if not words:
        return line
    at = chance.randrange(len(words))
    words[at] = chance.choice(HOSTILE).encode()
    return (b" " if b" " in line else b",").join(words)


def told(words: list[str]) -> tuple[int, str]:
    """How a command ended, and the trace of a fault of its own."""
    done = CliRunner().invoke(app, words, input="y\n\n\n")
    error = done.exception
    if error is None or isinstance(error, SystemExit):
        return done.exit_code, ""
    if isinstance(error, BadInput | NotSaved):
        return 2, ""
    return 3, "".join(traceback.format_exception(error)[-8:])


# Found by the whole run: a key of 120 names in a job that is written into, and a name that no folder takes.
FOUND = (11141, 18786)


def test_no_command_fails_by_itself(shop, tmp_path, monkeypatch, as_many):
    play(COMMANDS, (*FOUND, *range(as_many(20_000, sample=118))), shop, tmp_path, monkeypatch)


def test_no_plan_fails_by_itself(shop, tmp_path, monkeypatch, as_many):
    play(PLANNED, range(as_many(2_000, sample=40)), shop, tmp_path, monkeypatch)


def play(commands, seeds, shop, tmp_path, monkeypatch):
    """One of the commands a seed, its words or one of its files spoiled."""
    monkeypatch.setenv("TRUETHROW_BOOK", f"sqlite:///{tmp_path / 'no.book'}")
    sources = {path.name: path.read_bytes() for path in shop.iterdir()}
    folder, ended, longest, faults = tmp_path / "shop", Counter(), (0.0, 0, []), {}
    for seed in seeds:
        chance = random.Random(seed)
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir()
        words = list(chance.choice(commands))
        touched = {JOB, LOG, SHEET, *words} & sources.keys()
        hit = chance.choice([*sorted(touched), ""])
        for name, raw in sources.items():
            (folder / name).write_bytes(spoiled(raw, chance) if name == hit else raw)
        if not hit or chance.random() < 0.2:
            at = chance.randrange(1, len(words) + 1)
            words[at : at + chance.randint(0, 1)] = [chance.choice(HOSTILE)]
        monkeypatch.chdir(folder)
        start = time.process_time()
        status, trace = told(words)
        longest = max(longest, (time.process_time() - start, seed, words))
        ended[status] += 1
        if trace:
            faults.setdefault(trace.splitlines()[-1], f"seed {seed}, {words}, {hit} spoiled:\n{trace}")
    sys.stdout.write(f"\n{dict(ended)}; the longest took {longest[0]:.1f} s: seed {longest[1]}, {longest[2]}\n")
    assert not faults, "\n".join(faults.values())
    assert set(ended) == {0, 1, 2}
