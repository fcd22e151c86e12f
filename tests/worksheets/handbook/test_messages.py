"""The messages that refuse something, read out of the program's sources."""

import ast
import re

import pytest

from truethrow.cli.handbook import program
from truethrow.worksheets.handbook import messages
from truethrow.worksheets.handbook.messages import Message
from truethrow.worksheets.words import what_to_do


@pytest.fixture(scope="module")
def said():
    return messages.messages(program())


def read(source):
    return list(messages._in(ast.parse(source)))


@pytest.mark.parametrize(
    ("source", "message"),
    [
        ('Fault("rod", "is bent", "a straight one")', Message("rod", "is bent", "allowed: a straight one")),
        ('Fault("", f"{shown(x)!r} is no part")', Message("", "… is no part", "")),
        (
            'Fault("rod", "bent" if c else "worn", remedy=f"run: truethrow check {job}")',
            Message("rod", "bent / worn", "run: truethrow check …"),
        ),
        ('wrong = "is late"\nFault("rod", wrong)', Message("rod", "is late", "")),
        ('raise NotSaved("nothing was written", path)', Message("", "nothing was written", "")),
        ('Fault("{a}".format(a=1), "two of " + "them")', Message("", "two of them", "")),
    ],
)
def test_a_message_is_told_as_far_as_it_is_written(source, message):
    assert read(source) == [message]


def test_a_name_that_is_set_anew_says_what_it_says_there():
    first, second = read(
        'def f():\n    why = "too long"\n    Fault("a", why)\n    why = "too short"\n    Fault("a", why)\n'
    )
    assert (first.wrong, second.wrong) == ("too long", "too short")


def test_what_is_one_or_the_other_is_told_once_each():
    (found,) = read('Fault("rod", "bent" if a else ("worn" if b else "bent"))')
    assert found.wrong == "bent / worn"


def test_what_the_program_refuses_is_there_with_what_to_do(said):
    """Messages that the tests of the command line hold to their words."""
    every = [one for own in said.by_heading.values() for one in own]
    assert any(one.do == "run: truethrow match …" and "no match is waiting" in one.wrong for one in every)
    assert any(one.where == "--sheet" and "can't be combined with hole or sum" in one.wrong for one in every)
    assert len(every) > 400
    assert said.unknown < len(every) / 3


def test_no_message_is_raised_that_the_handbook_does_not_read():
    """Whatever class of the program's own is raised with words is one that makes a message."""
    own, raised = set(), {}
    for path, name in messages._sources(program()):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef):
                own.add(node.name)
            match node:
                case ast.Raise(exc=ast.Call(func=ast.Name(id=by), args=[ast.Constant() | ast.JoinedStr(), *_])):
                    raised.setdefault(by, f"{name}:{node.lineno}")
    assert {by: at for by, at in raised.items() if by in own and by not in messages.MAKERS} == {}
    assert {"Refused", "NotSaved"} <= raised.keys()


def test_what_is_allowed_only_at_the_time_is_not_told_as_if_all_were():
    """A list that is filled in is …, a command that is made at the time comes along; what says nothing of either
    has nothing beside it, and the chapter says what to do then."""
    assert read('Fault("rod", "is none", ", ".join(names))') == [Message("rod", "is none", "allowed: …")]
    assert read('Fault("rod", "is none", remedy=to_run(x))') == [
        Message("rod", "is none", "the command to run comes with it")
    ]
    assert read('Fault("rod", "is none")') == [Message("rod", "is none", "")]


def test_every_room_that_refuses_something_has_a_heading(said):
    assert [*said.by_heading] == [heading for heading in messages.OF_ROOMS if heading in said.by_heading]
    assert len(said.by_heading) == len(messages.OF_ROOMS)


def test_no_message_has_a_name_of_the_code_in_it(said):
    for own in said.by_heading.values():
        for one in own:
            assert "{" not in one.said.replace("{ ", "").replace("{any}", "").replace("{number}", "")


@pytest.mark.parametrize(
    ("said", "do"),
    [
        ("is late; the book is as it was", what_to_do.NOT_CHANGED),
        ("no such file", what_to_do.LOOK_AT_THE_NAME),
        ("can't be combined with --why", what_to_do.LEAVE_ONE),
        ("is no model and is not written over; pick another name", what_to_do.ANOTHER_NAME),
        ("is late", what_to_do.ELSE),
    ],
)
def test_one_that_says_nothing_of_what_to_do_is_told_by_what_is_in_it(said, do):
    assert Message("rod", said, "").to_do == do
    assert Message("rod", said, "run: truethrow check").to_do == "run: truethrow check"


def test_an_option_to_type_is_not_told_as_what_is_allowed(said):
    """A limit is allowed; what to type comes as it is to be typed."""
    every = [one for own in said.by_heading.values() for one in own]
    assert [one for one in every if re.search(r"allowed: (such as |twice )?(--\w|truethrow )", one.do)] == []


@pytest.mark.parametrize(
    ("where", "do"),
    [
        ("", "allowed: a date such as 2027-01-15"),
        ("", "allowed: each at most once, in order, of: …"),
        ("THROW=MASS", "allowed: a throw and its mass: 1=1866.4"),
    ],
)
def test_what_names_only_what_was_typed_is_there_by_what_is_allowed(said, where, do):
    every = [one for own in said.by_heading.values() for one in own]
    assert [one for one in every if one.where == where and one.do == do and not re.search(r"\w", one.wrong)]


def test_every_row_of_the_table_has_what_to_do():
    rows = [
        row
        for block in messages.blocks(program())
        if getattr(block, "kind", getattr(block, "name", "")) == "messages"
        or getattr(block, "heads", ()) == messages.HEADS
        for row in block.rows
    ]
    assert len(rows) > 500
    assert all(do.strip() for _, do in rows)
