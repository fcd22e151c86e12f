"""The demo's planning stage: parts and crank chosen, the crank ordered, what turned counterweights would take, and
a quote; each by its own command, as it would be typed, and its page laid down."""

from __future__ import annotations

import contextlib
import shlex
from collections.abc import Callable
from pathlib import Path

import typer

from truethrow.balance.base.errors import shown_path
from truethrow.cli import show
from truethrow.cli.common import check_show, job_named
from truethrow.cli.planning.candidates import candidates
from truethrow.cli.planning.order import order
from truethrow.cli.planning.quote import quote
from truethrow.cli.planning.what_if import what_if

# The crank is ordered for a bobweight at which drilling alone does, wherever in their range the parts weigh in.
SORT, TARGET, TURNED_TO = "slugs", "1806g", "89mm"
PAGES = ("candidates.pdf", "order.pdf", "quote.pdf")


def show_planning(folder: Path, show_in: str | None) -> None:
    """Four commands on the demo's files, which are put into a folder. Raises NotSaved."""
    from truethrow.balance import demo as example  # noqa: PLC0415

    check_show(show_in)
    choice, plan, station = example.planning_into(folder)
    sets, ordered, quoted = (folder / name for name in PAGES)
    job = job_named(str(plan))
    out = show.Screen()
    _step(
        out,
        ("candidates", choice, "--sort", SORT, "--station", station, "--out", sets),
        lambda: candidates(choice, sort=SORT, station=station, out=sets, show_in=show_in),
    )
    _step(
        out,
        ("order", plan, "--station", station, "--target", TARGET, "--out", ordered),
        lambda: order(job, station, target=TARGET, out=ordered, show_in=show_in),
    )
    _step(
        out,
        ("what-if", plan, "--turned-to", TURNED_TO, "--station", station),
        lambda: what_if(job, turned_to=TURNED_TO, station=station, show_in=show_in),
    )
    _step(
        out,
        ("quote", plan, "--prices", choice, "--station", station, "--target", TARGET, "--out", quoted),
        lambda: quote(job, prices=choice, station=station, target=TARGET, out=quoted, show_in=show_in),
    )
    out.heading("Laid down")
    out.line(f"{shown_path(folder)}: {', '.join((*example.PLANNING, *PAGES))}")
    out.line(f"Next: truethrow forecast {shlex.quote(str(plan))}", strong=True)


def _step(out: show.Screen, words: tuple[object, ...], command: Callable[[], None]) -> None:
    """One command, under the line that it would be typed as; its status is none of the demo's."""
    out.heading(f"truethrow {shlex.join(str(word) for word in words)}")
    with contextlib.suppress(typer.Exit):
        command()
