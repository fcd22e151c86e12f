"""One page as one file, by its ending: for the browser, as PDF or as a spreadsheet."""

from __future__ import annotations

from pathlib import Path

from truethrow.balance.base import files
from truethrow.balance.base.errors import BadInput, Fault, shown_path
from truethrow.worksheets.cards.card import Card
from truethrow.worksheets.prints.html import as_html
from truethrow.worksheets.prints.layout import PAPERS, sheet
from truethrow.worksheets.prints.pdf import as_pdf

PAGES, SPREADSHEET = (".html", ".pdf"), (".xlsx",)


def check(option: str, path: Path | None, endings: tuple[str, ...]) -> None:
    """Before anything is worked out. Raises BadInput for a file of another ending."""
    if path is not None and path.suffix.lower() not in endings:
        allowed = f"a file that ends in {' or '.join(endings)}"
        raise BadInput([Fault(option, shown_path(path), allowed)])


def write(path: Path, page: Card, paper: str = "a4") -> None:
    """Raises NotSaved."""
    on = PAPERS[paper]
    match path.suffix.lower():
        case ".html":
            files.write_bytes(path, as_html(sheet(page, on)).encode("utf-8"))
        case ".pdf":
            files.write_bytes(path, as_pdf(sheet(page, on)))
        case _:
            from truethrow.worksheets.prints.spreadsheet import as_xlsx  # noqa: PLC0415

            files.write_bytes(path, as_xlsx([page], on))
