"""What a bench profile remembers of its scale: put there by a command, or by a yes at the end of a session."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.cli import show
from truethrow.cli.common import by_whom
from truethrow.cli.profiles import bench_named

if TYPE_CHECKING:
    from truethrow.balance.base.files import KeptText
    from truethrow.balance.base.parts import Way
    from truethrow.balance.base.scatter import Scatter
    from truethrow.balance.weighing.remembering import Found

MOST_SCATTER_G, MOST_COUNT = 50.0, 1000


def remember(
    bench: Annotated[
        Path,
        typer.Argument(metavar="BENCH", parser=bench_named, help="Bench profile: a file, or its name."),
    ],
    session: Annotated[str, typer.Argument(metavar="SESSION", help="Which session found it.")],
    pan: Annotated[
        tuple[str, int] | None,
        typer.Option("--pan", metavar="MASS COUNT", help="Scatter on the pan, and of how many second weighings."),
    ] = None,
    rod_ends: Annotated[
        tuple[str, int] | None,
        typer.Option("--rod-ends", metavar="MASS COUNT", help="The same of rod ends on their support."),
    ] = None,
    by: Annotated[str, by_whom("Who says so, for the book.")] = "",
) -> None:
    """Remember in a bench profile how far its scale scatters.

    weigh tells the command at the end of a session with second weighings. What the profile knows is pooled with
    it, by the number of weighings; its comments stay. In the book it is the profile's next revision.

    \b
    truethrow remember bench.toml 3f2a9c01d4e5-7 --pan 0.0289g 3
    truethrow remember floor-1 3f2a9c01d4e5-7 --pan 0.0289g 3 --rod-ends 0.15g 2
    """
    from truethrow.balance.weighing.remembering import Found  # noqa: PLC0415

    given: dict[Way, tuple[str, int] | None] = {"pan": pan, "support": rod_ends}
    scatter = {way: _scatter(way, one) for way, one in given.items() if one is not None}
    if not scatter:
        raise BadInput([Fault("--pan or --rod-ends", "is needed", remedy="such as --pan 0.03g 4")])
    carry_out(bench, Found(session, scatter, ()), by)


def _scatter(way: Way, given: tuple[str, int]) -> Scatter:
    from truethrow.balance.base.amounts import reach  # noqa: PLC0415
    from truethrow.balance.base.scatter import Scatter  # noqa: PLC0415
    from truethrow.balance.base.units import MASS, NotAQuantity, parse, unit_of  # noqa: PLC0415

    option = "--pan" if way == "pan" else "--rod-ends"
    typed, count = given
    try:
        grams = parse(typed, MASS, "g")
    except NotAQuantity as error:
        raise BadInput([Fault(option, str(error), "a mass such as 0.03g")]) from None
    if not 0 <= grams <= MOST_SCATTER_G:
        allowed = reach(MASS, 0, MOST_SCATTER_G, unit_of(typed, MASS), zero="0")
        raise BadInput([Fault(option, f"{shown(typed)} is out of reach", allowed)])
    if not 1 <= count <= MOST_COUNT:
        raise BadInput([Fault(option, f"{count} second weighings", f"1 to {MOST_COUNT}")])
    return Scatter(grams, count, "repeats")


def carry_out(profile: Path | KeptText, new: Found, by: str = "") -> None:
    """Put it into the profile, and say what that knows now. Raises BadInput, NotSaved."""
    from truethrow.balance.base import files  # noqa: PLC0415
    from truethrow.balance.weighing import benchjob  # noqa: PLC0415
    from truethrow.balance.weighing.remembering import remembered_in  # noqa: PLC0415
    from truethrow.worksheets.words import bench_words as words  # noqa: PLC0415

    profile = _as_it_is_now(profile)
    text = files.read_text(profile)
    unit = benchjob.unit_of_profile(profile)
    known = benchjob.scatter_of_profile(profile)
    today = datetime.datetime.now(datetime.UTC).date()
    after = remembered_in(text, known, new, today, str(profile))
    if isinstance(profile, Path):
        files.write_text(profile, after.replace("\n", files.line_end(profile)), text)
    else:
        from truethrow.balance.book import profiles  # noqa: PLC0415
        from truethrow.balance.book.open import open_book  # noqa: PLC0415

        profiles.edit(open_book(create=False), "bench", profile.name, text, after, by)
    now = benchjob.scatter_of_profile(_as_it_is_now(profile))
    show.Screen().line(words.REMEMBERED_NOW.format(profile=profile, found=words.scatters(now, unit)))


def _as_it_is_now(profile: Path | KeptText) -> Path | KeptText:
    """A profile of the book, read again: another session may have added to it meanwhile."""
    if isinstance(profile, Path):
        return profile
    from truethrow.balance.book.profiles import find  # noqa: PLC0415

    return find("bench", profile.name)
