"""Eight pistons, eight rods and a scale: a bobweight asks for no stroke, and a set that is not whole has none.

What a hand would have done wrong: invent a stroke to get the number, and hang it; or hang the mean of the seven
cylinders that were weighed.
"""

from __future__ import annotations

import invented
import pytest
from commands import run

MASSES = {"layout": "v8-90-crossplane"}
# 490 g that turn and 817 g that go up and down in each cylinder: by hand, 2 × (490 + 0.5 × 817) = 1797.0 g.
PARTS = {
    "piston": 520.0,
    "pin": 120.0,
    "locks": 2.0,
    "rings": 25.0,
    "small_end": 150.0,
    "big_end": 450.0,
    "bearings": 40.0,
}


def job(folder, *, lost=(), parts=PARTS, **tables):
    cylinders = [{"number": n, **parts} for n in range(1, 9)]
    for number, kind in lost:
        del cylinders[number - 1][kind]
    path = folder / "my.toml"
    given = {"engine": MASSES, "bobweight": {"share": 0.5}} | tables
    path.write_text(invented.text(invented.document(cylinders, **given)), encoding="utf-8")
    return path


@pytest.fixture
def my(tmp_path):
    return job(tmp_path, limits={"piston": 1.0, "big_end": 1.0, "bobweight": 2.0})


def test_the_bobweight_of_masses_alone(my):
    status, out, _ = run("hang", my)
    assert status == 0
    assert "Hang 1797.0 g on every throw (the mean)." in out
    assert out.count("1797.00") == 4
    asked, *following = out[out.index("To see the unbalance") :].splitlines()
    assert asked == (
        "To see the unbalance in the planes, the station's sheet and what shakes, fill in stroke and "
        f"cylinder_spacing (or throw_positions) in [engine] of {my}."
    )
    assert all(line.startswith("Next: ") for line in following if line)


@pytest.mark.parametrize(
    "words",
    [("hang", "--json"), ("check",), ("check", "--picture"), ("trim",), ("weigh",), ("sure",), ("layouts",)],
)
def test_what_needs_masses_alone_answers(my, words):
    command, *more = words
    status, out, err = run(command, my, *more)
    assert (status, err) == (0, "")
    assert out


@pytest.mark.parametrize(
    ("words", "asked"),
    [
        (("work",), "stroke and cylinder_spacing (or throw_positions)"),
        (("send",), "stroke and cylinder_spacing (or throw_positions)"),
        (("shake", "--at", "3000"), "stroke, cylinder_spacing (or throw_positions) and rod_length"),
        (("share", "--at", "3000"), "stroke, cylinder_spacing (or throw_positions) and rod_length"),
    ],
)
def test_what_needs_a_length_asks_for_it_in_one_line_and_writes_nothing(my, words, asked):
    command, *more = words
    before = sorted(my.parent.iterdir())
    status, out, err = run(command, my, *more)
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert f"fill in {asked} in [engine] of {my}" in err
    assert sorted(my.parent.iterdir()) == before


def test_the_cards_that_need_no_length_are_made_and_the_others_say_what_they_need(my):
    status, out, _ = run("cards", my, "--into", my.parent / "cards")
    assert status == 0
    assert "bobweight card" in out
    assert "bench card" in out
    assert not (my.parent / "cards" / "station.csv").exists()
    assert "No report card: engine: stroke and cylinder_spacing missing; to see" in out


def test_a_rod_is_not_trimmed_without_its_length(tmp_path):
    my = job(tmp_path, limits={"big_end": 1.0}, lost=[(1, "big_end")])
    my.write_text(my.read_text().replace("number = 1\n", "number = 1\nbig_end = [455.0, 455.0]\n"))
    status, _, err = run("trim", my)
    assert status == 2
    assert "rod_length missing; to see what to take off a rod and what shakes, fill in rod_length" in err
    status, _, err = run("ground", my, "rod", "1", "--took", "1.2", "--at", "big end")
    assert (status, "rod_length missing" in err) == (2, True)
    lengthened = my.read_text().replace("[engine]", "[engine]\nrod_length = 155")
    my.write_text(lengthened)
    assert "at the big-end pad" in run("trim", my).out


def test_one_missing_reading_hides_the_figure_to_hang_and_not_the_others(tmp_path):
    my = job(tmp_path, lost=[(3, "pin"), (6, "rings")], limits={"piston": 1.0, "big_end": 1.0})
    status, out, err = run("hang", my)
    assert status == 2
    assert "Nothing to hang yet: cylinders 3, 6 not all weighed." in out
    assert "Hang " not in out
    assert out.count("898.50") == 6
    assert out.count("1797.00") == 2
    assert err.splitlines() == [
        f"{my}: missing: pin of cylinder 3 and rings of cylinder 6; weigh them: truethrow weigh {my}"
    ]
    status, out, _ = run("check", my)
    assert status == 2
    told = {line.split("  ")[0] for line in out.splitlines()}
    assert {"piston", "big end", "rotating"} <= told
    assert told.isdisjoint({"pin", "rings", "reciprocating", "bobweight"})
    for command in ("work", "send", "trim"):
        assert run(command, my).status == 2
    assert run("hang", my, "--json").out.count("hang_g") == 0
    assert sorted(path.name for path in tmp_path.iterdir()) == ["my.toml"]
