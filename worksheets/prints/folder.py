"""The folder of a job's cards: what is in it, and how it is written so that it holds whole files, only ours."""

from __future__ import annotations

import contextlib
import json
import os
import re
import shutil
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from truethrow.balance.base import dry_run, files
from truethrow.balance.base.errors import BadInput, Fault, NotSaved, reason, shown, shown_path
from truethrow.balance.base.program import made_by
from truethrow.balance.result.work import Result
from truethrow.worksheets.cards.card import KINDS, Card, CardKind
from truethrow.worksheets.data import station_sheet
from truethrow.worksheets.prints import pdf
from truethrow.worksheets.prints.html import as_html, with_fonts
from truethrow.worksheets.prints.layout import Paper, pictures, sheet
from truethrow.worksheets.prints.pdf import as_pdf
from truethrow.worksheets.prints.spreadsheet import as_xlsx

FIGURES = "figures.json"
DRAWINGS = "drawings"
# What tells a folder of ours: the first entry of its figures.json. The next one says whose cards they are.
MARK = ("made", "cards")
_START = re.compile(
    r'\s*\{{\s*"truethrow":\s*\{{[^{{}}]*\}},\s*"{}":\s*"{}",\s*"job":\s*\{{\s*"id":\s*(?=")'.format(*MARK)
)
MOST_READ = 4096  # of figures.json: any id, in whatever letters
_KIND = "|".join(KINDS)
_OURS = re.compile(rf"({_KIND})\.(html|pdf)|figures\.(json|xlsx)|station\.csv|{DRAWINGS}")
_OUR_DRAWINGS = re.compile(rf"({_KIND})-[a-z0-9-]+\.svg")
# What file managers and office programs leave in any folder that they show: nobody's work.
_LEFT_BEHIND = re.compile(r"\.DS_Store|\._.*|Thumbs\.db|desktop\.ini|\.~lock\..*#|~\$.*", re.IGNORECASE)
_NOT_IN_A_NAME = re.compile(r"[^a-z0-9]+")


def figures(cards: Sequence[Card], not_made: Mapping[CardKind, str], paper: Paper) -> dict[str, Any]:
    """The figures of all cards as plain data, each with its code."""
    return made_by() | {
        MARK[0]: MARK[1],
        "job": {
            "id": cards[0].job_id,
            "title": cards[0].job_title,
            "digest": cards[0].job_digest,
            "log": cards[0].head,
        },
        "date": cards[0].date,
        "paper": paper.name,
        "cards": {card.kind: {"code": card.code, "digest": card.digest, "data": card.data} for card in cards},
        "not_made": dict(not_made),
    }


def contents(
    cards: Sequence[Card],
    not_made: Mapping[CardKind, str],
    paper: Paper,
    result: Result | None,
    fonts: Path | None = None,
) -> dict[str, bytes]:
    """Every file of the folder by its name. result: of the job's work, for the station's sheet, where there is
    one and nothing is missing for it; fonts: a folder with more of them for the PDFs. Raises NotSaved where a card
    cannot be drawn."""
    data = figures(cards, not_made, paper)
    made = {FIGURES: (json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode("utf-8")}
    for card in cards:
        laid_out = sheet(card, paper)
        made[f"{card.kind}.html"] = as_html(laid_out).encode("utf-8")
        made[f"{card.kind}.pdf"] = as_pdf(laid_out, fonts)
        made |= _drawings(card)
    made["figures.xlsx"] = as_xlsx(cards, paper)
    if result is not None and result.left is not None:
        made["station.csv"] = station_sheet.to_csv(station_sheet.rows(result)).encode("utf-8")
    return made


def not_shown(cards: Sequence[Card], paper: Paper, fonts: Path | None) -> str:
    """The letters of all cards for which there is no font, each once."""
    return "".join(dict.fromkeys("".join(pdf.not_shown(sheet(card, paper), fonts) for card in cards)))


def write(folder: Path, made: Mapping[str, bytes]) -> list[str]:
    """Put these files into a folder of ours, or a new one: all are written beside it first, so that a full disk
    leaves it as it was; then each takes its place whole. What such a folder held before and is not made any more
    goes: an old card among new ones would be worked from. The names of what went.

    Raises BadInput for a folder that holds anything else, NotSaved where it cannot be written."""
    before = _ours(folder)
    name = shown_path(folder)
    if dry_run.is_on():
        for file, content in made.items():
            dry_run.not_written(str(folder / file), content)
        return sorted(before - made.keys())
    try:
        files.private_folder(folder.parent)
        staged = Path(tempfile.mkdtemp(dir=folder.parent, prefix=f".{folder.name[:32]}."))
    except OSError as error:
        raise NotSaved(f"{reason(error)}; nothing was written", name) from None
    try:
        (staged / DRAWINGS).mkdir()
        for file, content in made.items():
            _stage(staged / file, content, shown_path(folder / file))
        files.private_folder(folder / DRAWINGS)
        # The figures first: they are what tells the folder, should anything stop us here.
        for file in sorted(made, key=lambda each: each != FIGURES):
            (staged / file).replace(folder / file)
        gone = sorted(before - made.keys())
        for file in gone:
            (folder / file).unlink(missing_ok=True)
        with contextlib.suppress(OSError):  # no drawings were made: the folder need not be there
            (folder / DRAWINGS).rmdir()
        return gone
    except OSError as error:
        raise NotSaved(f"{reason(error)}; not all of it was written", name) from None
    finally:
        shutil.rmtree(staged, ignore_errors=True)


def _stage(path: Path, content: bytes, name: str) -> None:
    """Write a file where nobody looks yet. name: where it is to be, which is the one that a person knows."""
    try:
        files.write_bytes(path, content)
    except NotSaved as error:
        raise NotSaved(error.told, name) from None


def must_be_ours(folder: Path, job_id: str) -> None:
    """Raise BadInput for a folder that anything else is in, or another job's cards, before any card is made."""
    if _ours(folder) and (other := _job_in(folder / FIGURES)) != job_id:
        fault = f"holds the cards of another job ({shown(other)}); nothing was written"
        raise BadInput([Fault("--into", fault, f"a folder of its own for {shown(job_id)}")], str(folder))


def _ours(folder: Path) -> set[str]:
    """The names of what stands in a folder of cards. Raises BadInput for a folder that is none."""
    if not os.path.lexists(folder):
        return set()
    if not folder.is_dir():
        raise BadInput([Fault("--into", "is no folder", "a folder, or none yet")], str(folder))
    try:
        found = _names(folder)
        drawings = _names(folder / DRAWINGS) if DRAWINGS in found else set()
    except OSError as error:
        raise BadInput([Fault("--into", reason(error), "a folder")], str(folder)) from None
    foreign = [name for name in found if not _OURS.fullmatch(name)]
    foreign += [f"{DRAWINGS}/{name}" for name in drawings if not _OUR_DRAWINGS.fullmatch(name)]
    if foreign or (found and _job_in(folder / FIGURES) is None):
        first = shown(min(foreign, default=min(found, default="")))
        fault = f"holds what is no card of ours ({first}); nothing was written"
        raise BadInput([Fault("--into", fault, "an empty folder, or one that truethrow cards made")], str(folder))
    return {name for name in found if name != DRAWINGS} | {f"{DRAWINGS}/{name}" for name in drawings}


def _names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir() if not _LEFT_BEHIND.fullmatch(path.name)}


def _job_in(path: Path) -> str | None:
    """The job of a file that starts as our figures do, None for any other. Only its start is read: it is ours to
    write, and may be large."""
    try:
        with path.open("rb") as file:
            start = file.read(MOST_READ).decode("utf-8", errors="replace")
        mark = _START.match(start)
        return str(json.JSONDecoder().raw_decode(start, mark.end())[0]) if mark else None
    except (OSError, ValueError):
        return None


def _drawings(card: Card) -> dict[str, bytes]:
    """The card's drawings as files, by names that every system takes."""
    made: dict[str, bytes] = {}
    for picture in pictures(card.blocks):
        stem = f"{card.kind}-{_NOT_IN_A_NAME.sub('-', picture.name.lower()).strip('-')[:60] or 'drawing'}"
        name, count = stem, 1
        while f"{DRAWINGS}/{name}.svg" in made:
            count += 1
            name = f"{stem}-{count}"
        made[f"{DRAWINGS}/{name}.svg"] = with_fonts(picture.svg).encode("utf-8")
    return made
