"""Faults in lines: whole, short, and without harm to a terminal."""

import pytest

from truethrow.balance.base.errors import (
    BadInput,
    Fault,
    ToWeigh,
    cylinders,
    reason,
    says,
    shown,
    shown_path,
    who_and_why,
)


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ("538.4 g", "538.4 g"),
        ("x" * 40, "x" * 40),
        ("x" * 41, "x" * 40 + "…"),
        ("\x1b[31mred", "\\x1b[31mred"),
        (10**5000, "int too large to show"),
    ],
    ids=["plain", "as long as may be", "too long", "escape", "digits"],
)
def test_a_value_is_shown_as_typed_in_one_short_line(value, said):
    assert shown(value) == said


def test_a_fault_says_where_what_what_is_allowed_and_what_to_do_as_far_as_it_is_known():
    assert (
        str(Fault("rod 3, big end", "4500 g", "0.1 to 3000 g")) == "rod 3, big end: 4500 g; allowed: 0.1 to 3000 g"
    )
    assert str(Fault("", "no match is waiting", remedy="run: truethrow match launch.toml")) == (
        "no match is waiting; run: truethrow match launch.toml"
    )
    assert str(Fault("bank \x07", "twice")) == "bank \\x07: twice"


def test_each_fault_has_a_line_with_its_own_file_or_the_one_at_hand():
    caught = BadInput([Fault("scale", "missing"), Fault("row 2", "'x'", source="weigh.csv")], "launch.toml")
    assert caught.lines() == ["launch.toml: scale: missing", "weigh.csv: row 2: 'x'"]
    assert str(caught) == "\n".join(caught.lines())


def unseen(cylinder, kind="", source=""):
    to_weigh = ToWeigh("missing", cylinder, kind, "my.toml")
    return Fault(f"cylinder {cylinder}", "missing", source=source, to_weigh=to_weigh)


def test_what_was_never_weighed_is_one_line_a_file():
    ends = [unseen(n, kind) for n in (1, 2, 3, 5, 6) for kind in ("pin", "small_end", "big_end")]
    other = [unseen(7, "pin"), unseen(8), unseen(4, "pin", "w.csv")]
    faults = [Fault("scale", "missing"), *ends, *other, Fault("a", "b")]
    weigh = "weigh them: truethrow weigh my.toml"
    assert BadInput(faults, "my.toml").lines() == [
        "my.toml: scale: missing",
        "my.toml: missing: pin of cylinders 1-3, 5-7 and both rod ends of cylinders 1-3, 5, 6 and all parts of "
        f"cylinder 8; {weigh}",
        f"w.csv: missing: pin of cylinder 4; fill them in, or {weigh}",
        "my.toml: a: b",
    ]


def test_what_is_wrong_in_the_same_way_in_several_places_is_one_line():
    same = [Fault(f"rod {n}", "cut since", remedy="weigh it again: truethrow weigh my.toml") for n in range(1, 11)]
    two = [Fault("pin 1", "0 g", "above 0"), Fault("pin 2", "0 g", "above 0")]
    assert BadInput([*same, *two]).lines() == [
        "rod 1; rod 2; rod 3; rod 4; rod 5; rod 6; rod 7; rod 8 and 2 more: cut since; weigh it again: truethrow "
        "weigh my.toml",
        "pin 1: 0 g; allowed: above 0",
        "pin 2: 0 g; allowed: above 0",
    ]


@pytest.mark.parametrize(
    ("numbers", "said"),
    [
        ([3], "cylinder 3"),
        ([2, 1], "cylinders 1, 2"),
        (range(1, 9), "cylinders 1-8"),
        ([1, 3, 4, 5], "cylinders 1, 3-5"),
    ],
)
def test_cylinders_in_a_row_are_told_as_a_run(numbers, said):
    assert cylinders(numbers) == said


def test_one_part_that_was_never_weighed_is_told_as_any_other_fault():
    assert BadInput([unseen(3, "pin")]).lines() == ["cylinder 3: missing"]


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (FileNotFoundError(2, "No such file or directory"), "no such file"),
        (IsADirectoryError(21, "Is a directory"), "is a folder, not a file"),
        (PermissionError(13, "Permission denied"), "not permitted"),
        (OSError(28, "No space left on device"), "no space left on device"),
        (OSError(), "oserror"),
    ],
)
def test_what_the_system_says_is_said_in_the_shops_words(error, said):
    assert reason(error) == said


def test_a_path_is_shown_in_full():
    assert shown_path("/shop/" + "x" * 200 + "\n.toml") == "/shop/" + "x" * 200 + "\\x0a.toml"


@pytest.mark.parametrize(
    ("text", "it_does"),
    [
        *[(text, False) for text in ("", "...", " – ", "REASON", "<reason>", " Initials ", "a word of  why…")],
        *[(text, True) for text in ("2nd scale", "秤", "AB", "the reason is in the customer's letter")],
    ],
)
def test_a_reason_says_something_beyond_what_a_remedy_has_in_its_place(text, it_does):
    assert says(text) == it_does


@pytest.mark.parametrize(
    ("by", "why", "said"),
    [
        ("AB", "looked at it", []),
        ("INITIALS", "looked at it", ["--by: 'INITIALS' is nobody; allowed: the initials of who signs"]),
        (" ", "looked at it", ["--by: blank; allowed: the initials of who signs"]),
        ("AB", "", ["--why: blank; allowed: a word of why"]),
        (
            "",
            "...",
            [
                "--by: blank; allowed: the initials of who signs",
                "--why: '...' says nothing; allowed: a word of why",
            ],
        ),
    ],
)
def test_a_word_of_somebodys_has_initials_and_a_reason(by, why, said):
    assert [str(fault) for fault in who_and_why(by, why, "who signs", "a word of why")] == said
