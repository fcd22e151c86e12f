"""A quote for the customer."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown_path
from truethrow.balance.log.place import Place, folder_of, is_standard_input, open_log
from truethrow.cli import page_out, show
from truethrow.cli.common import (
    NOT_NAMED,
    Job,
    Json,
    ProfileIfAny,
    Sheet,
    Show,
    display_of,
    lives_on,
    tell_way_on,
    worked,
)
from truethrow.cli.in_folder import price_lists_in
from truethrow.cli.planning.order import target_of
from truethrow.cli.profiles import if_any

if TYPE_CHECKING:
    from truethrow.balance.base.files import KeptText
    from truethrow.balance.station.balancing import Balancing
    from truethrow.balance.station.stationfile import StationProfile


def quote(
    job: Job = NOT_NAMED,
    prices: Annotated[
        Path | None,
        typer.Option(
            "--prices",
            metavar="FILE",
            help="The shop's price list (TOML), or a file of candidates that has one. Without it: the one beside "
            "the job.",
        ),
    ] = None,
    station: ProfileIfAny = None,
    target: Annotated[
        str | None,
        typer.Option(
            "--target",
            metavar="MASS",
            help="The bobweight that the maker of a crank balanced it for, 0 for bare: what holes and slugs are "
            "counted by until it is spun.",
        ),
    ] = None,
    sheet: Sheet = None,
    out: page_out.Out = None,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Show what the shop's work on a job costs.

    Counted from the job as far as it has come, and priced by the shop's list: parts weighed, cuts, spins, holes,
    slugs and hours. What is measured or done is a figure; what rests on estimates is a range; what nobody can know
    yet is told, and in no total. What was assumed and what may change it is told. No tax is made up. Status 1
    where the shop's tools do not bring the crank inside, or readings are to be looked at again.

    \b
    truethrow blank prices prices.toml
    truethrow quote my.toml --prices prices.toml --target 1850
    truethrow quote my.toml --out quote.pdf
    """
    from truethrow.balance.planning import prices as price_list  # noqa: PLC0415
    from truethrow.balance.planning import quoting  # noqa: PLC0415
    from truethrow.balance.result import plans  # noqa: PLC0415
    from truethrow.worksheets.data import quote_data, result_data  # noqa: PLC0415

    page_out.check_endings(out)
    result = worked(job, sheet, show_in, given=True, estimated=True)
    listed = prices if prices is not None else _beside(job)
    priced = price_list.load(listed)
    target_g = None if target is None else target_of(target, result.job, bare=True)
    lives_on()
    profile = _profile(job, station)
    has_log = not is_standard_input(job)
    found = quoting.quote(
        result,
        open_log(job).records if has_log else (),
        priced,
        state=_state(job, profile, is_estimated=bool(result.job.estimated)) if has_log else None,
        standing=plans.standing(job) if has_log else None,
        tools=profile and profile[1].tools,
        target_g=target_g,
        source=str(listed),
    )
    display = display_of(result, show_in)
    if out is not None:
        from truethrow.worksheets.pages.quote_page import quote_page  # noqa: PLC0415

        page_out.write(lambda day: quote_page(result, found, display, day), out, quiet=json)
    if json:
        show.as_json({"job": result_data.job(result), "quote": quote_data.quote(found)})
    else:
        from truethrow.cli.planning import quote_tables as tables  # noqa: PLC0415

        has_tools = profile is not None and bool(profile[1].tools.drills)
        tables.quote(screen := show.Screen(), result, found, display, has_tools=has_tools)
        tell_way_on(screen, job)
    from truethrow.worksheets.words import quote_words  # noqa: PLC0415

    show.end(quote_words.outside(found), quiet=json)


def _beside(job: Place) -> Path:
    """The only price list of the job's folder, which is told."""
    folder = folder_of(job)
    found = price_lists_in(folder) if folder is not None else []
    if len(found) != 1:
        wrong = "missing, and no price list lies beside the job"
        if found:
            wrong = f"which one is it? beside the job lie {' and '.join(shown_path(one) for one in found)}"
        begin = "name one, or begin one: truethrow blank prices prices.toml"
        raise BadInput([Fault("--prices", wrong, remedy=begin)])
    sys.stderr.write(f"Prices: {shown_path(found[0])}, beside the job.\n")
    return found[0]


def _profile(job: Place, named: Path | KeptText | None) -> tuple[Path | KeptText, StationProfile] | None:
    """The station's profile, named or found by itself, which is told; None where there is none."""
    from truethrow.balance.station import stationfile  # noqa: PLC0415

    found = if_any(job, named)
    return None if found is None else (found, stationfile.load(found, ()))


def _state(
    job: Place, profile: tuple[Path | KeptText, StationProfile] | None, *, is_estimated: bool
) -> Balancing | None:
    """Where the job is at the station; None where it was not spun, or nobody says on which."""
    from truethrow.balance.log.records import Spun  # noqa: PLC0415
    from truethrow.balance.station import balancing  # noqa: PLC0415

    if profile is None or is_estimated or not any(isinstance(one, Spun) for one in open_log(job).records):
        return None
    return balancing.load(job, profile[0])
