"""A blank to fill in: a station's profile, a bench's, a crank's tables."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown, shown_path
from truethrow.balance.blanks.texts import NAMES
from truethrow.cli import asking, show


def _names(incomplete: str) -> list[str]:
    return [name for name in NAMES if name.startswith(incomplete)]


def blank(
    what: Annotated[
        str,
        typer.Argument(
            metavar="WHAT", help="station, bench, crank, candidates, prices or settings.", autocompletion=_names
        ),
    ] = "",
    file: Annotated[
        Path | None, typer.Argument(metavar="FILE", help="File to write, not there yet; without it, printed.")
    ] = None,
) -> None:
    """Write a blank: a station's or bench's profile, or a crank.

    Or candidates, a price list, or settings. Every key that it may have is in it, with what it means. What has to
    be known is blank, and refused until it is filled in; the rest are comments, to be uncommented where they
    apply. The tables of a crank (counterweights, damper, flexplate, holes that are there) go into its job file.

    \b
    truethrow blank station station.toml
    truethrow blank bench bench.toml
    truethrow blank crank
    truethrow blank candidates choice.toml
    truethrow blank prices prices.toml
    """
    from truethrow.balance.base import files  # noqa: PLC0415
    from truethrow.balance.blanks import texts  # noqa: PLC0415

    if not what and asking.can_ask():
        what = asking.ask(f"Of what ({', '.join(NAMES)})", _known, NAMES[0])
    text = texts.text(_known(what))
    if file is None:
        sys.stdout.write(text)
        return
    files.must_not_stand([file])
    files.create_text(file, text)
    out = show.Screen()
    out.line(f"Written: {shown_path(file)}")
    out.line(f"Next: {NEXT[what].format(shown_path(file))}", strong=True)


NEXT = {
    "station": "fill it in, then name it where a crank is spun: --station {0}",
    "bench": "fill it in, then name it where parts are weighed: --bench {0}",
    "candidates": "fill it in, then: truethrow candidates {0}",
    "prices": "fill it in, then: truethrow quote JOB --prices {0}",
    "settings": "fill it in; truethrow settings tells where it belongs, and what counts",
    "crank": "fill it in, one table for each counterweight, and put its tables into the job file",
}


def _known(what: str) -> str:
    if what in NAMES:
        return what
    raise BadInput([Fault("WHAT", f"{shown(what)!r} is not known" if what else "missing", ", ".join(NAMES))])
