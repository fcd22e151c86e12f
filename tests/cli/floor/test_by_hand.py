"""What the terminal tells with a command to type, told at a screen where nobody types one."""

from __future__ import annotations

import books
import invented
import pytest

from truethrow.balance.book import jobs
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.book.open import open_book
from truethrow.balance.log.place import Snapshot
from truethrow.cli.floor.by_hand import marked_twice, remedy, to_do
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
            f"grind, the scale beside you: {GRIND}",
        ),
        (
            "match first: truethrow match launch",
            False,
            "match first (on its Build page)",
        ),
        ("no match waits; run: truethrow match launch", False, "no match waits (on its Build page)"),
        ("spin it: truethrow spin launch FRONT REAR", False, "spin it (on its Station page)"),
        ("close it: truethrow close launch", False, "close it (at the shop's computer: truethrow close launch)"),
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
        ("match again: truethrow match launch; or more", "match again (on its Build page)"),
        ("pick another name", "pick another name"),
        ("", ""),
    ],
)
def test_a_remedy_at_a_desk_is_no_command(told, to_hand):
    assert remedy(told) == to_hand


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
