"""The profiles of the shop's stations and benches in its book."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown, shown_path
from truethrow.cli import show
from truethrow.cli.book.shared import By, Url, opened
from truethrow.cli.common import Json
from truethrow.cli.dry_run import can_be_dry
from truethrow.cli.plain_help import Program

if TYPE_CHECKING:
    from truethrow.balance.book.profiles import Kind

app = Program(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="""Profiles of stations and benches.

    Kept with every text that they had.

    Where a command takes a profile's file it takes the name, too: --station floor-1, --bench b2.""",
)
Name = Annotated[str, typer.Argument(metavar="NAME", help="What it is called in the book.")]


@app.command("add")
@can_be_dry
def add(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A station's or a bench's profile (TOML).")],
    name: Annotated[str, typer.Option("--name", metavar="NAME", help="What it is called in the book.")],
    by: By = "",
    book: Url = None,
) -> None:
    """Keep a profile in the book, or what it says now.

    Each edit is another revision; the ones before it stay. A job that was spun by another revision asks what the
    edit was: truethrow profile.

    \b
    truethrow book profile add station.toml --name floor-1 --by AB
    """
    from truethrow.balance.book import profiles  # noqa: PLC0415

    kind = _kind_of(file)
    made, is_new = profiles.keep(opened(book, create=True), kind, name, file, by)
    told = f"The {kind} {made.name} is at revision {made.revision}"
    out = show.Screen()
    out.line(f"{told}." if is_new else f"{told}, which says the same.")
    uses = (
        f"spin JOB --station {shlex.quote(name)}"
        if kind == "station"
        else f"weigh JOB --bench {shlex.quote(name)}"
    )
    out.line(f"Next: name it where it is used: truethrow {uses}", strong=True)


def _kind_of(file: Path) -> Kind:
    """Whose profile a file is. Raises BadInput for one that makes no sense."""
    from truethrow.balance.base import files  # noqa: PLC0415
    from truethrow.balance.job.jobfile import parse_toml  # noqa: PLC0415
    from truethrow.balance.station import stationfile  # noqa: PLC0415
    from truethrow.balance.weighing import benchjob  # noqa: PLC0415

    raw = parse_toml(files.read_text(file), str(file))
    if "bench" in raw:
        benchjob.must_be_a_profile(file)
        return "bench"
    if not raw:
        raise BadInput([Fault("", "says nothing", "a station's profile, or a bench's")], str(file))
    stationfile.load(file)
    return "station"


@app.command("list")
def listed(json: Json = False, book: Url = None) -> None:
    """List the profiles, each as it is now."""
    from truethrow.balance.book import profiles  # noqa: PLC0415

    found = profiles.kept(opened(book))
    if json:
        show.as_json({"profiles": [one._asdict() for one in found]})
        return
    out = show.Screen()
    if not found:
        out.line("No profile is kept yet: truethrow book profile add FILE --name NAME")
        return
    columns = ["kind", "name", "revision", "since (UTC)", "by"]
    rows = [
        [one.kind, shown(one.name), str(one.revision), one.at[:16].replace("T", " "), shown(one.by)]
        for one in found
    ]
    out.table(columns, rows, words=("kind", "name", "since (UTC)", "by"))


@app.command("show")
def show_one(
    name: Name,
    kind: Annotated[str, typer.Option("--kind", metavar="station|bench", help="Which kind.")] = "station",
    revision: Annotated[
        int | None, typer.Option("--revision", metavar="N", help="As it was then; else as it is now.")
    ] = None,
    into: Annotated[
        Path | None, typer.Option("--into", metavar="FILE", help="A file that is not there yet; else the screen.")
    ] = None,
    book: Url = None,
) -> None:
    """Show a profile as it is kept, or as it was.

    \b
    truethrow book profile show floor-1 --revision 2
    """
    from truethrow.balance.base import files  # noqa: PLC0415
    from truethrow.balance.book import profiles  # noqa: PLC0415

    chosen = next((one for one in profiles.KINDS if one == kind), None)
    if chosen is None:
        raise BadInput([Fault("--kind", repr(shown(kind)), ", ".join(profiles.KINDS))])
    found = profiles.document(opened(book), chosen, name, revision)
    out = show.Screen()
    if into is None:
        for line in found.plain.rstrip("\n").split("\n"):
            out.raw(line)
        return
    files.must_not_stand([into])
    files.write_bytes(into, found.as_bytes())
    out.line(f"Written: {shown_path(into)}")
