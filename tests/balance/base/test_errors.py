"""Faults in lines: whole, short, and without harm to a terminal."""

import pytest

from truethrow.balance.base.errors import (
    BadInput,
    Fault,
    ToWeigh,
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


def test_what_was_never_weighed_is_a_line_for_all_cylinders_that_lack_the_same():
    ends = [unseen(n, kind) for n in (1, 2, 3, 5, 6) for kind in ("pin", "small_end", "big_end")]
    other = [unseen(7, "pin"), unseen(8), unseen(4, "pin", "w.csv")]
    faults = [Fault("scale", "missing"), *ends, *other, Fault("a", "b")]
    weigh = "weigh them: truethrow weigh my.toml"
    assert BadInput(faults, "my.toml").lines() == [
        "my.toml: scale: missing",
        f"my.toml: missing: pin, both rod ends of cylinders 1-3, 5, 6; {weigh}",
        f"my.toml: missing: pin of cylinder 7; {weigh}",
        f"my.toml: missing: all parts of cylinder 8; {weigh}",
        f"w.csv: missing: pin of cylinder 4; fill them in, or {weigh}",
        "my.toml: a: b",
    ]


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
