"""Sets of parts and cranks, side by side."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.cli import page_out, show
from truethrow.cli.common import Json, ProfileIfAny, Show, check_show, lives_on
from truethrow.cli.profiles import found_beside
from truethrow.cli.progress import Bar

if TYPE_CHECKING:
    from truethrow.balance.crank.holes import Tools
    from truethrow.balance.planning.candidates import Candidates


def candidates(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="File of candidates (TOML).")],
    sort: Annotated[
        str | None,
        typer.Option(
            "--sort",
            metavar="FIGURE",
            help="What matters: bobweight, reciprocating, pull, bolt, speed, force, couple, metal, slugs, holes "
            "or price; without it, what the file says.",
        ),
    ] = None,
    station: ProfileIfAny = None,
    out: page_out.Out = None,
    xlsx: page_out.Xlsx = None,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Show sets of parts and cranks side by side.

    One file has the engine, sets of parts by the catalog or weighed, and cranks with their makers' target
    bobweights. Of every set with every crank: bobweight, what goes up and down and pulls, load per rod bolt, what
    shakes, metal to take, slugs and holes to expect by the plan that the station makes, and the price where the
    file has prices. Which mass's doubt could change the order is named. The drills and slugs are the file's own,
    else those of the station's profile.

    \b
    truethrow blank candidates choice.toml
    truethrow candidates choice.toml
    truethrow candidates choice.toml --sort slugs --xlsx choice.xlsx
    """
    from truethrow.balance.planning import candidates as files  # noqa: PLC0415
    from truethrow.balance.planning import comparing  # noqa: PLC0415
    from truethrow.worksheets.data import candidates_data  # noqa: PLC0415
    from truethrow.worksheets.shown.display import Display  # noqa: PLC0415

    if sort is not None and sort not in files.BY:
        raise BadInput([Fault("--sort", f"{shown(sort)!r} is not known", ", ".join(files.BY))])
    check_show(show_in)
    page_out.check_endings(out, xlsx)
    found = files.load(file)
    tools = tools_of(found, station, file)
    matters = sort or found.by
    lives_on()
    with Bar() as bar:
        worked = comparing.candidates(found.pairs, tools, found.prices, lambda part: bar.show("candidates", part))
        order = comparing.ranked(worked, matters)
    display = Display.of(found.pairs[0].job, show_in)
    if out is not None or xlsx is not None:
        from truethrow.worksheets.pages.candidates_page import candidates_page  # noqa: PLC0415

        page_out.write(lambda day: candidates_page(found, order, matters, display, day), out, xlsx, quiet=json)
    if json:
        show.as_json(candidates_data.candidates(found, order, matters))
    else:
        from truethrow.cli.planning import candidates_tables as tables  # noqa: PLC0415

        screen = show.Screen()
        tables.candidates(screen, found, order, matters, display, has_tools=tools is not None)
        layout = found.pairs[0].job.engine
        made = f"truethrow new {layout.layout_name} my.toml" if layout.is_named else "truethrow new"
        screen.line(f"Next: a job of the set you choose: {made}; then truethrow next my.toml", strong=True)
    raise typer.Exit(show.FINE)


def tools_of(found: Candidates, station: object, file: Path) -> Tools | None:
    """The shop's drills and slugs: of the profile that is named, else the file's own, else of the profile that
    which_station finds."""
    from truethrow.balance.station import stationfile  # noqa: PLC0415

    if station is None and found.tools is not None:
        return found.tools
    profile = station if station is not None else found_beside(file)
    return None if profile is None else stationfile.load(profile, ("drill",)).tools  # type: ignore[arg-type]
