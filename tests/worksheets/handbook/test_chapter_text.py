"""A chapter's marks, and the blocks that they become."""

import pytest

from truethrow.worksheets.cards.card import CardTable, Chapter, Lines, Typed
from truethrow.worksheets.handbook import chapter_text
from truethrow.worksheets.handbook.handbook import CHAPTERS

TEXT = """# A title

A first line
goes on, with `code` and {{hang}}.

## A heading

- one
  and more of it
- **two**

| a | b |
|---|---|
| 1 | 2 |

## What is typed

```sh
truethrow demo

  more
```

[[part of it]]
"""


def made(text=TEXT):
    parts = {"part": lambda what: (Lines((what,)),)}
    return list(chapter_text.blocks("name", text, {"hang": "1864.8 g"}, parts))


def test_each_mark_is_a_block():
    title, first, items, table, heading, typed, part = made()
    assert title == Chapter("A title", "name")
    assert first.lines == ("A first line goes on, with code and 1864.8 g.",)
    assert (items.heading, items.lines) == ("A heading", ("– one and more of it", "– two"))
    assert isinstance(table, CardTable)
    assert (table.heads, table.rows) == (("a", "b"), (("1", "2"),))
    assert (heading.heading, heading.lines) == ("What is typed", ())
    assert typed == Typed(("truethrow demo", "", "  more"))
    assert part.lines == ("of it",)


@pytest.mark.parametrize("wrong", ["{{nothing}}", "[[nothing]]"])
def test_what_there_is_none_of_is_refused(wrong):
    with pytest.raises(KeyError):
        made(f"# A title\n\n{wrong}\n")


@pytest.mark.parametrize("name", CHAPTERS)
def test_every_chapter_begins_with_its_title_and_leaves_no_mark(name):
    text = chapter_text.text(name)
    assert text.startswith(f"# {chapter_text.title(text)}\n")
    assert chapter_text.title(text)


def test_every_text_is_in_the_handbook():
    from importlib import resources

    there = {path.name for path in resources.files(chapter_text.__package__).joinpath("chapters").iterdir()}
    assert there == {f"{name}.md" for name in CHAPTERS}
