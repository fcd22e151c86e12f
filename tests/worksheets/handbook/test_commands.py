"""Commands as blocks of the handbook."""

from truethrow.worksheets.cards.card import CardTable, Lines, Typed
from truethrow.worksheets.handbook.commands import Command, blocks

ONE = Command(
    "At the bench", "truethrow a JOB", ("It does.", ("truethrow a my.toml",), "More."), (("JOB", "a file"),)
)


def test_a_command_is_its_usage_its_help_its_examples_and_what_it_takes():
    heading, said, typed, more, table = blocks([ONE])
    assert (heading.heading, heading.lines) == ("At the bench", ())
    assert said == Lines(("It does.",), "truethrow a JOB")
    assert typed == Typed(("truethrow a my.toml",))
    assert more == Lines(("More.",), "")
    assert isinstance(table, CardTable)
    assert table.rows == (("JOB", "a file"),)


def test_a_heading_is_told_once_for_its_commands():
    found = blocks([ONE, ONE._replace(usage="truethrow b"), ONE._replace(heading="Why")])
    assert [one.heading for one in found if isinstance(one, Lines) and not one.lines] == ["At the bench", "Why"]
