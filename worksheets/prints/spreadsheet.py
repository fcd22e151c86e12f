"""The cards' figures as a spreadsheet (xlsx): a sheet a table, numbers as numbers, and no text ever a formula."""

from __future__ import annotations

import io
import itertools
import re
import textwrap
from collections.abc import Iterator, Sequence
from datetime import datetime

from xlsxwriter import Workbook  # type: ignore[import-untyped]
from xlsxwriter.format import Format  # type: ignore[import-untyped]
from xlsxwriter.worksheet import Worksheet  # type: ignore[import-untyped]

from truethrow.worksheets.cards.card import (
    Bigs,
    Blank,
    Block,
    Card,
    CardTable,
    Cell,
    Chart,
    Figure,
    Halves,
    Marked,
    Stack,
    Tick,
    Tiles,
    Word,
    flat,
)
from truethrow.worksheets.prints.layout import Paper
from truethrow.worksheets.prints.texts import plain
from truethrow.worksheets.shown.turned import apart

_PAPERS = {"letter": 1, "a4": 9}  # as the file format counts them
LONGEST_NAME, LONGEST_TEXT, WIDEST = 31, 2_000, 60
LINE_PT = 15.0  # of a cell's text; a row of several lines is as high as all of them, in any program
LANDSCAPE_FROM = 110  # characters that stand beside each other on an upright page and can still be read
_NOT_IN_A_NAME = re.compile(r"[\[\]:*?/\\\x00-\x1f]")
_MARKS = ("circle", "square", "triangle", "diamond")
_FORMULA_STARTS = tuple("=+-@")


def as_xlsx(cards: Sequence[Card], paper: Paper) -> bytes:
    """All tables of some cards of one job; the same cards give the same bytes."""
    out = io.BytesIO()
    with Workbook(out, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}) as book:
        dates = {card.date for card in cards}
        book.set_properties({"title": plain(cards[0].job_id), "created": datetime.fromisoformat(max(dates))})
        book.set_size(2400, 1600)
        writer = _Writer(book, paper)
        writer.first(cards)
        for card in cards:
            for table in _tables(card.blocks):
                writer.table(card, table)
    return out.getvalue()


def _tables(blocks: Sequence[Block]) -> Iterator[CardTable]:
    for block in flat(blocks):
        if isinstance(block, CardTable):
            yield block
        elif isinstance(block, Tiles):
            yield _of_tiles(block)


def _of_tiles(tiles: Tiles) -> CardTable:
    """A row for each of the tiles' rows; boxes that are left to be written into on paper stay empty."""
    rows = [(tile.title, label, cells) for tile in tiles.tiles for label, cells in tile.rows]
    most = max((len(cells) for _, _, cells in rows), default=0)
    filled = tuple((title, label, *cells, *("",) * (most - len(cells))) for title, label, cells in rows)
    return CardTable("parts", ("part", "what", *("",) * most), filled)


class _Writer:
    """One workbook on its way: the formats and the sheets' names that it has so far."""

    def __init__(self, book: Workbook, paper: Paper) -> None:
        self._book, self._paper = book, paper
        self._formats: dict[tuple[tuple[str, object], ...], Format] = {}
        self._names: set[str] = set()

    def first(self, cards: Sequence[Card]) -> None:
        """What the file is about, and every card's big figures."""
        sheet = self._sheet("job")
        widths = _Widths()
        head = [
            ("job", cards[0].job_id),
            ("title", cards[0].job_title),
            *([("about", cards[0].about)] if cards[0].about else []),
            ("readings", cards[0].job_digest),
            *([("log", cards[0].head)] if cards[0].head else []),
            ("date", cards[0].date),
        ]
        for row, (label, text) in enumerate(head):
            self._text(sheet, row, 0, label, "head")
            self._text(sheet, row, 1, text, "line")
            widths.see(0, label)
        row = len(head) + 1
        for column, label in enumerate(("card", "figure", "", "", "code")):
            self._text(sheet, row, column, label, "head")
        for card in cards:
            row += 1
            for column, text in ((0, card.kind), (4, card.code)):
                self._text(sheet, row, column, text)
                widths.see(column, text)
            for big in (big for block in card.blocks if isinstance(block, Bigs) for big in block.bigs):
                row += 1
                for column, cell in enumerate((big.label, big.cell, big.below), start=1):
                    self._cell(sheet, row, column, cell)
                    widths.see(column, _text_of(cell))
        self._finish(sheet, widths, None)

    def table(self, card: Card, table: CardTable) -> None:
        sheet = self._sheet(f"{card.kind} {table.name}")
        widths = _Widths()
        self._text(sheet, 0, 0, f"{card.job_id} · {card.kind} · {card.date} · {card.digest}", "line")
        self._text(sheet, 1, 0, table.caption, "head")
        for column, head in enumerate(table.heads):
            is_number = any(isinstance(row[column], Figure | Marked | Halves) for row in table.rows)
            self._text(sheet, 2, column, head, "head right" if is_number else "head left")
            widths.see(column, head)
        for row, cells in enumerate(table.rows, start=3):
            for column, cell in enumerate(cells):
                self._cell(sheet, row, column, cell)
                widths.see(column, _text_of(cell))
        for row, cells in enumerate(table.rows, start=3):
            if (lines := widths.lines([_text_of(cell) for cell in cells])) > 1:
                sheet.set_row(row, lines * LINE_PT)
        sheet.freeze_panes(3, 0)
        if table.chart is not None:
            self._chart(sheet, table.chart, len(table.rows) + 5, widths)
        self._finish(sheet, widths, 2)

    def _chart(self, sheet: Worksheet, chart: Chart, top: int, widths: _Widths) -> None:
        """Its figures below the table, and below them what is drawn of them. top: its first row."""
        self._text(sheet, top, 0, f"{chart.caption} [{chart.unit}]", "head")
        for column, line in enumerate((chart.along, *chart.lines)):
            self._text(sheet, top + 1, column, line.head, "head right")
            widths.see(column, line.head)
            for row, figure in enumerate(line.figures, start=top + 2):
                self._cell(sheet, row, column, figure)
        rows = top + 2, top + 1 + len(chart.along.figures)
        drawn = self._book.add_chart({"type": "line"})
        marks = itertools.cycle(_MARKS)
        for column, line in enumerate(chart.lines, start=1):
            drawn.add_series(
                {
                    "name": plain(line.head),
                    "categories": [sheet.get_name(), rows[0], 0, rows[1], 0],
                    "values": [sheet.get_name(), rows[0], column, rows[1], column],
                    # Told apart on a copy without color.
                    "line": {"color": "black", "dash_type": "dash" if line.is_limit else "solid"},
                    "marker": {"type": "none" if line.is_limit else next(marks)},
                }
            )
        drawn.set_title({"name": plain(chart.caption)})
        drawn.set_x_axis({"name": plain(chart.along.head)})
        drawn.set_y_axis({"name": chart.unit, "min": 0})
        drawn.set_legend({"position": "bottom"})
        sheet.insert_chart(rows[1] + 2, 0, drawn)

    def _sheet(self, wanted: str) -> Worksheet:
        """A sheet by a name that is legal and not yet taken."""
        legal = _NOT_IN_A_NAME.sub(" ", plain(wanted)).strip("' ") or "table"
        name, count = legal[:LONGEST_NAME].rstrip("' "), 1
        while name.casefold() in self._names or name.casefold() == "history":
            count += 1
            name = f"{legal[: LONGEST_NAME - 1 - len(str(count))].rstrip()} {count}"
        self._names.add(name.casefold())
        made: Worksheet = self._book.add_worksheet(name)
        return made

    def _cell(self, sheet: Worksheet, row: int, column: int, cell: Cell) -> None:
        match cell:
            case Figure():
                self._figure(sheet, row, column, cell, "")
            case Marked(figure, mark):
                self._figure(sheet, row, column, figure, mark)
            case Halves():
                self._text(sheet, row, column, cell.text, "figure")
            case Blank():
                sheet.write_blank(row, column, None, self._format(_TEXTS["blank"]))
            case Word(text, weight):
                self._text(sheet, row, column, text, weight)
            case _:
                self._text(sheet, row, column, _text_of(cell))

    def _figure(self, sheet: Worksheet, row: int, column: int, figure: Figure, mark: str) -> None:
        """A number in full, in the unit that is shown, and a format that shows of it what the card does."""
        shown = figure.shown
        number = "0." + "0" * shown.places if shown.places else "0"
        around = (f"{mark} {figure.before}" if mark else figure.before, f"{shown.behind}{figure.behind}")
        before, behind = ('"{}"'.format(text.replace('"', "")) if text else "" for text in around)
        sheet.write_number(
            row,
            column,
            shown.number,
            self._format({"num_format": f"{before}{number}{behind}", "valign": "vcenter"}),
        )

    def _text(self, sheet: Worksheet, row: int, column: int, text: str, form: str = "text") -> None:
        """A text as a text, whatever it starts with; nothing where there is none."""
        safe = apart(plain(text)[:LONGEST_TEXT])
        if safe:
            quoted = {"quote_prefix": True} if safe.startswith(_FORMULA_STARTS) else {}
            sheet.write_string(row, column, safe, self._format(_TEXTS[form] | quoted))

    def _format(self, properties: dict[str, object]) -> Format:
        form = tuple(properties.items())
        if form not in self._formats:
            self._formats[form] = self._book.add_format(properties)
        return self._formats[form]

    def _finish(self, sheet: Worksheet, widths: _Widths, head: int | None) -> None:
        widths.apply(sheet)
        sheet.set_paper(_PAPERS[self._paper.name])
        sheet.fit_to_pages(1, 0)
        sheet.set_margins(left=0.8, right=0.4, top=0.4, bottom=0.6)
        sheet.set_footer("&L&A&Rpage &P of &N")
        if widths.total > LANDSCAPE_FROM:
            sheet.set_landscape()
        if head is not None:
            sheet.repeat_rows(head)


class _Widths:
    """How wide the columns of one sheet must be, in characters."""

    def __init__(self) -> None:
        self._widest: dict[int, int] = {}

    def see(self, column: int, text: str) -> None:
        self._widest[column] = min(WIDEST, max(self._widest.get(column, 6), len(plain(text))))

    def apply(self, sheet: Worksheet) -> None:
        for column, widest in self._widest.items():
            sheet.set_column(column, column, widest + 2)

    def lines(self, texts: Sequence[str]) -> int:
        """How many lines a row's texts take, one more than it seems where it is several: types differ in width."""
        most = max(len(textwrap.wrap(plain(text), self._widest[at])) for at, text in enumerate(texts))
        return most + (most > 1)

    @property
    def total(self) -> int:
        return sum(self._widest.values())


def _text_of(cell: Cell) -> str:
    match cell:
        case Figure() | Halves() | Word():
            return cell.text
        case Marked(figure, mark):
            return f"{mark} {figure.text}"
        case Tick(done):
            return "done" if done else ""
        case Stack(texts):
            return " ".join(texts)
        case Blank():
            return ""
        case _:
            return cell


_LINE = {"text_wrap": False, "valign": "vcenter", "num_format": "@"}
_TEXTS: dict[str, dict[str, object]] = {
    # Set off from a figure that stands right beside them.
    "text": _LINE | {"text_wrap": True, "indent": 1},
    "plain": _LINE | {"text_wrap": True, "indent": 1},
    "line": _LINE,
    "head": _LINE | {"bold": True},
    "head left": _LINE | {"bold": True, "indent": 1},
    "head right": _LINE | {"bold": True, "align": "right"},
    "figure": _LINE | {"align": "right"},
    "framed": _LINE | {"bold": True, "indent": 1, "border": 2},
    "inverse": _LINE | {"bold": True, "indent": 1, "bg_color": "#000000", "font_color": "#FFFFFF"},
    "blank": {"border": 1},
}
