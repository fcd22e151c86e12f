"""What if: a job as it stands beside the same job with something else, and nothing of it recorded."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from truethrow.balance.base.errors import BadInput, Fault
from truethrow.balance.log.place import Place, source_of
from truethrow.cli import show
from truethrow.cli.common import Job, Json, ProfileIfAny, Sheet, Show, display_of, tell_way_on, worked
from truethrow.cli.planning.lathe import Names, crank_by_now
from truethrow.cli.profiles import if_any

if TYPE_CHECKING:
    from pathlib import Path

    from truethrow.balance.base.files import KeptText
    from truethrow.balance.crank.holes import Tools
    from truethrow.balance.crank.turning import Turned
    from truethrow.balance.result.work import Result
    from truethrow.balance.running.changes import ChangedCrank, Changes
    from truethrow.balance.running.what_if import WhatIf
    from truethrow.balance.station.by_now import ByNow, Reading
    from truethrow.balance.station.stationfile import StationProfile
    from truethrow.worksheets.shown.display import Display


def what_if(
    job: Job,
    share: Annotated[str | None, typer.Option("--share", metavar="SHARE", help="Another share, 0 to 1.")] = None,
    oil: Annotated[
        str | None, typer.Option("--oil", metavar="MASS", help="Another oil allowance a throw.")
    ] = None,
    part: Annotated[
        list[str] | None,
        typer.Option(
            "--part",
            metavar="CHANGE",
            help="'piston -12', 'pin 3 = 118.2', 'rod 7 = 620 + 190' (big + small end); repeatable.",
        ),
    ] = None,
    turned_to: Annotated[
        str | None, typer.Option("--turned-to", metavar="RADIUS", help="Counterweights turned to this radius.")
    ] = None,
    counterweight: Names = None,
    member: Annotated[
        list[str] | None,
        typer.Option(
            "--member",
            metavar="CHANGE",
            help="'damper = 900 at 30': another offset, in g·mm or as 1.2 oz in, at degrees from its keyway; "
            "'new damper': one that replaces another, by its name.",
        ),
    ] = None,
    station: ProfileIfAny = None,
    sheet: Sheet = None,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Show what a change would do, before anything is touched.

    Side by side, as it is and as it would be: bobweights and what would hang, what that leaves in the planes,
    spreads, what shakes, what the crank would read, and with the station's profile the holes and the heavy metal
    that it would take. Several changes count together. Nothing is recorded or written, and nothing is hung, ground
    or drilled by it.

    \b
    truethrow what-if my.toml --share 0.48 --part "piston -12"
    truethrow what-if my.toml --part "rod 7 = 620 + 190" --oil 5
    truethrow what-if my.toml --turned-to 86mm --station station.toml
    """
    result = worked(job, sheet, show_in, given=True, estimated=True)
    from truethrow.balance.running import changes as asked  # noqa: PLC0415 (numpy, once the job is known to be sound)
    from truethrow.worksheets.words import what_if_words as words  # noqa: PLC0415

    changes = asked.read(
        result.job,
        share=share,
        oil=oil,
        parts=part or (),
        turned_to=turned_to,
        counterweights=counterweight or (),
        members=member or (),
    )
    would = worked_out(job, result, changes, station)
    if json:
        from truethrow.worksheets.data import what_if_data  # noqa: PLC0415

        data = what_if_data.what_if(
            would.found, changes, would.cranks, would.turned, is_spun=would.is_spun, stale=would.stale
        )
        show.as_json({"of_job": {"id": result.job.id, "digest": result.job.digest}, "what_if": data})
    else:
        tell(out := show.Screen(), would, changes, display_of(result, show_in))
        tell_way_on(out, job)
    show.end(words.why_outside(would.found, would.cranks[1] if would.cranks else None), quiet=json)


class Would(NamedTuple):
    """A job beside itself. cranks: what the crank reads and takes, as it is and as it would be; None where nobody
    knows; turned: its counterweights that would be; is_spun, stale: whether it was, and why that no longer counts;
    has_tools: whether the shop's drills are known."""

    found: WhatIf
    cranks: tuple[Reading, Reading] | None
    turned: Sequence[Turned]
    is_spun: bool
    stale: str
    has_tools: bool


def worked_out(job: Place, result: Result, changes: Changes, station: Path | KeptText | None) -> Would:
    """A job that was worked through, beside itself with changes. station: the profile that was named, None where
    nobody named one. Raises BadInput for what cannot be."""
    from truethrow.balance.result.unbalance import allowed_gmm  # noqa: PLC0415
    from truethrow.balance.running import changes as asked  # noqa: PLC0415 (numpy)
    from truethrow.balance.running.what_if import what_if as beside  # noqa: PLC0415
    from truethrow.balance.station import stationfile  # noqa: PLC0415

    can_plan = result.job.crank is not None and None not in allowed_gmm(result.job)
    found_at = if_any(job, station, ("drill",)) if can_plan else station
    profile = stationfile.load(found_at, ("drill",)) if found_at is not None else None
    tools = profile.tools if profile is not None else None
    found = beside(result, asked.changed(result.job, changes))
    now, crank = _crank_by_now(job, found, changes, profile)
    return Would(
        found,
        _readings(now, crank, found, tools) if now and crank else None,
        crank.turned if crank else (),
        now is not None and now.reads is not None,
        now.stale if now is not None else "",
        tools is not None,
    )


def tell(out: show.Screen, would: Would, changes: Changes, display: Display) -> None:
    """All of it, as tables."""
    from truethrow.cli.planning import what_if_tables as tables  # noqa: PLC0415

    tables.parts(out, would.found, changes, display)
    if would.cranks:
        tables.crank(
            out,
            would.cranks,
            would.turned,
            display,
            has_tools=would.has_tools,
            is_spun=would.is_spun,
            stale=would.stale,
        )


def _crank_by_now(
    job: Place, found: WhatIf, changes: Changes, profile: StationProfile | None
) -> tuple[ByNow | None, ChangedCrank | None]:
    """The crank as it is, and as it would be; None for a job without one. Raises BadInput for what cannot be
    turned, and where holes are asked for and the job has no crank or no tolerance."""
    from truethrow.balance.running.changes import changed_crank  # noqa: PLC0415

    made, has_tools = found.now.result.job, profile is not None
    if made.crank is None and not has_tools:
        return None, None
    if made.station.planes_mm is None and not (has_tools or changes.of_crank):
        return None, None
    now = crank_by_now(made, job, profile)
    if has_tools and now.leaves_gmm is None:
        raise BadInput([Fault("station", "has no tolerance", "a limit or a grade")], source_of(job))
    return now, changed_crank(now.crank, changes, now.drilled, made.told_in())


def _readings(
    now: ByNow, crank: ChangedCrank, found: WhatIf, tools: Tools | None
) -> tuple[Reading, Reading] | None:
    """What the crank reads for what hangs now, and what it would then; None where nobody knows how bobweights act
    in the planes."""
    from truethrow.balance.station.by_now import Reading, planned, would_read  # noqa: PLC0415

    made = found.now.result.job
    hung_g, then_g = ([t.hung_g for t in side.result.bobweights.throws] for side in found)
    readings = []
    sides = (now, now.crank, hung_g, ()), (now.swapped(crank.swapped), crank.crank, then_g, crank.acts)
    for mounted, own_crank, own_g, acts in sides:
        planes = would_read(now, made, hung_g, own_g, acts)
        if planes is None:
            return None
        has_drills = tools is not None and bool(tools.drills)
        plan = planned(mounted, own_crank, tools, planes, made) if tools is not None and has_drills else None
        readings.append(Reading(planes, plan))
    return readings[0], readings[1]
