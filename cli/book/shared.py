"""What the commands of the book share: the words of their arguments, and the book itself."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.cli.common import by_whom

if TYPE_CHECKING:
    from truethrow.balance.book.opened import Book

Url = Annotated[
    str | None, typer.Option("--book", metavar="URL", help="The book; else TRUETHROW_BOOK, else your own.")
]
By = Annotated[str, by_whom("Who does it.")]


def opened(url: str | None, *, create: bool = False) -> Book:
    from truethrow.balance.book.open import open_book  # noqa: PLC0415

    return open_book(url, create=create)
