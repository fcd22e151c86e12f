"""What the terminal tells with a command to type, told at a screen where nobody types one."""

from __future__ import annotations

import books
import invented
import pytest

from truethrow.balance.base.errors import BadInput, Fault
from truethrow.balance.book import jobs
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.book.open import open_book
from truethrow.balance.log.place import Snapshot
from truethrow.cli.floor.by_hand import first_of, lines_of, marked_twice, remedy, to_do, told_of
from truethrow.worksheets.words.floor_words import GRIND

WEIGH = "weigh what is missing of cylinders 3, 4: truethrow weigh launch"


@pytest.mark.parametrize(
    ("told", "at_bench", "to_hand"),
    [
        (WEIGH, False, "weigh what is missing of cylinders 3, 4: touch here for its bench"),
        (WEIGH, True, "weigh what is missing of cylinders 3, 4"),
        (
            "grind, the scale beside you: truethrow weigh launch --grind",
            True,
            f"grind, the scale beside you: press {GRIND}",
        ),
        (
            "match first: truethrow match launch",
            False,
            "match first (on its Build page)",
        ),
        ("no match waits; run: truethrow match launch", False, "no match waits (on its Build page)"),
        ("spin it: truethrow spin launch FRONT REAR", False, "spin it (on its Station page)"),
        ("close it: truethrow close launch", False, "close it (at the shop's computer: truethrow close launch)"),
        (
            "truethrow spin launch FRONT REAR",
            False,
            "spin, and type what the display shows (on its Station page)",
        ),
        ("truethrow sign launch --by INITIALS", True, "sign (on its Station page)"),
        ("truethrow weigh launch", False, "weigh: touch here for its bench"),
        ("the job is done", False, "the job is done"),
        ("", True, ""),
    ],
)
def test_a_hand_is_told_what_to_touch_and_the_command_only_where_no_page_does_it(told, at_bench, to_hand):
    assert to_do(told, at_bench=at_bench) == to_hand


@pytest.mark.parametrize(
    ("told", "to_hand"),
    [
        (WEIGH, "weigh what is missing of cylinders 3, 4 (at its bench)"),
        ("match first: truethrow match launch", "match first (on its Build page)"),
        ("or, once it is ground: truethrow ground launch", "or, once it is ground (on its Build page)"),
        ("spin it: truethrow spin launch FRONT REAR", "spin it (on its Station page)"),
        (
            "hang (truethrow stack a.toml), and spin: truethrow spin a",
            "hang, and spin (on its Station page)",
        ),
        ("close it: truethrow close launch", "close it (at the shop's computer)"),
        ("the job is done", "the job is done"),
    ],
)
def test_at_a_desk_a_hand_is_told_which_page_does_it(told, to_hand):
    assert to_do(told, at_desk=True) == to_hand


@pytest.mark.parametrize(
    ("told", "to_hand"),
    [
        ("run: truethrow match launch", ""),
        ("match again: truethrow match launch; or more", "match again (on its Build page); or more"),
        ("pick another name", "pick another name"),
        ("", ""),
    ],
)
def test_a_remedy_at_a_desk_is_no_command(told, to_hand):
    assert remedy(told) == to_hand


OF_A_SLIP = (
    "piston P33: looks like a slip, so nothing is to be ground; weigh it once more: truethrow weigh launch, then "
    'type go piston P33; or, if it is right, truethrow confirm launch piston P33 --why "..." --by INITIALS'
)
TO_CANCEL = (
    "weigh it once more: truethrow weigh launch, then type go piston P33, then cancel the one that is wrong: "
    'truethrow strike launch ID --why "..." (truethrow history launch has its ID)'
)


@pytest.mark.parametrize(
    ("told", "at", "to_hand"),
    [
        (
            OF_A_SLIP,
            {"at_bench": True},
            "piston P33: looks like a slip, so nothing is to be ground; weigh it once more: press Go to; or, if "
            "it is right (on its Build page)",
        ),
        (
            OF_A_SLIP,
            {"at_bench": True, "at_grinder": True},
            "piston P33: looks like a slip, so nothing is to be ground; weigh it once more: press Back to "
            "weighing, then Go to; or, if it is right (on its Build page)",
        ),
        (
            TO_CANCEL,
            {"at_bench": True},
            "weigh it once more: press Go to, then cancel the one that is wrong: touch its reading here",
        ),
        (
            "they belong together, truethrow confirm a piston P1; truethrow confirm a piston P2",
            {},
            "they belong together (on its Build page)",
        ),
        (
            "is it this part, or was it ground? (truethrow ground launch)",
            {"at_bench": True},
            "is it this part, or was it ground? (on its Build page)",
        ),
        ("go on: truethrow weigh launch --grind", {"at_bench": True, "at_grinder": True}, "go on"),
    ],
)
def test_a_sentence_of_several_commands_keeps_all_that_it_says_but_them(told, at, to_hand):
    assert to_do(told, **at) == to_hand


def test_why_something_is_refused_names_no_folder_and_is_one_line():
    faults = [Fault("piston 3", "4500 g", "0.1 to 3000 g"), Fault("", "look", source="/srv/shop/station.toml")]
    told = told_of(BadInput(faults, "/srv/shop/launch.toml"))
    assert told == "launch.toml: piston 3: 4500 g; allowed: 0.1 to 3000 g\nstation.toml: look"
    assert first_of(told) == "launch.toml: piston 3: 4500 g; allowed: 0.1 to 3000 g (and 1 more)"
    assert told_of(BadInput(faults[:1], "launch.toml"), own="launch.toml").startswith("piston 3: ")
    assert first_of("") == ""


def test_an_option_that_is_refused_is_called_as_the_hand_fills_it_in():
    faults = [Fault("--by", "blank", "the initials of who signs"), Fault("--radius", "0 mm", "above 0")]
    assert lines_of(BadInput(faults)) == [
        "initials: blank; allowed: the initials of who signs",
        "radius: 0 mm; allowed: above 0",
    ]


def test_a_mark_that_another_open_job_of_the_book_has_is_told(tmp_path):
    with books.fresh(books.KINDS[0], tmp_path) as url:
        held = open_book(url)
        for job in ("one", "two"):
            made = invented.document(job={"id": job})
            for number, cylinder in enumerate(made["cylinder"], start=1):
                cylinder["labels"] = {"rod": f"R{number}", "piston": f"{job}{number}"}
            path = tmp_path / f"{job}.toml"
            path.write_text(invented.text(made), encoding="utf-8")
            jobs.add(held, jobs.from_file(path))
        (told,) = marked_twice(Snapshot(BookedJob(held, "two")))
        assert told.startswith("job one is open and has these, too: rod R1 (in its 1), ")
        assert told.endswith("; see which one has it (at the shop's computer: truethrow book part R1)")
    assert marked_twice(tmp_path / "job.toml") == ()
