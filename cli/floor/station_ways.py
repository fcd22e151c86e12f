"""What the commands tell as a command to type, for the station's page: where on the page it is done, or by whom
else; and what can be canceled there, or said to be in the crank."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.base.amounts import factor
from truethrow.balance.base.errors import TruethrowError
from truethrow.balance.base.units import LENGTH
from truethrow.balance.job.history import events_of
from truethrow.balance.job.undoing import CANCELABLE
from truethrow.balance.log.place import open_log
from truethrow.balance.log.records import STATION, LookedAt, struck_ids
from truethrow.balance.station import may_go, surprise
from truethrow.balance.station.next_steps import as_hand_says
from truethrow.balance.station.reasons import broken
from truethrow.cli.floor.by_hand import OF_BUILD
from truethrow.worksheets.pages.floor.station_state import Canceling, DidForm, InCrank, Way
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import station_screen_words as words
from truethrow.worksheets.words import station_words, undo_words

if TYPE_CHECKING:
    from truethrow.balance.crank.holes import Hole
    from truethrow.balance.log.place import Snapshot
    from truethrow.balance.log.records import Record
    from truethrow.balance.station.balancing import Balancing

_COMMAND = re.compile(r"(?:run: )?truethrow (?P<verb>[\w-]+)(?P<rest>[^;()]*)")
_BRACKETED = re.compile(rf" ?\({_COMMAND.pattern}\)")
_AT_THE_END = re.compile(rf"(?:^|[:,]? ){_COMMAND.pattern}")
MOST_TO_CANCEL = 12


class _Does(NamedTuple):
    """What a command does, on this page: in which view, or in which form; neither where it is done elsewhere."""

    here: str
    view: str = ""
    form: str = ""


# What a command does, by its verb.
_VIEWS = {
    "spin": _Does(words.UNDER["spin"], "spin"),
    "test-mass": _Does(words.UNDER["prove"], "prove"),
    "stack": _Does(words.UNDER["bobweights"], "bobweights"),
    "holes": _Does(words.UNDER["hole"], "hole"),
    "spins": _Does(words.UNDER["spins"], "spins"),
    "sign": _Does(words.UNDER["sign"], "sign"),
    "strike": _Does(words.UNDER["cancel"], "spins", "cancel"),
}
_ELSEWHERE = dict.fromkeys(("weigh", "enter", "confirm", "check"), words.AT_THE_BENCH)
_ELSEWHERE |= dict.fromkeys((*OF_BUILD, "trim"), words.ON_BUILD)
# The command for holes, by its option; one that is to be filled in before one that is ready.
_OF_HOLES = (
    ("ANGLE deg", _Does(words.UNDER["did"], "hole", "did")),
    ("--did", _Does(words.UNDER["did"], "hole", "offered")),
    ("--looked-at", _Does(words.UNDER["looked"], "hole", "looked")),
    ("--aim", _Does(words.BY_THE_OWNER)),
    ("--unproved", _Does(words.BY_THE_OWNER)),
)


def _does(verb: str, rest: str) -> _Does:
    if verb == "holes":
        return next((does for option, does in _OF_HOLES if option in rest), _VIEWS[verb])
    return _VIEWS.get(verb) or _Does(_ELSEWHERE.get(verb, words.BY_THE_OWNER))


def here(told: str) -> str:
    """A sentence of the commands, with the place on this page for each command that it names."""

    def where(found: re.Match[str]) -> str:
        return f" ({_does(found['verb'], found['rest']).here})"

    return _AT_THE_END.sub(where, _BRACKETED.sub(where, told)).strip()


def ways(told: Sequence[str], struck: frozenset[str] = frozenset()) -> tuple[Way, ...]:
    """The next steps as ways on this page, each with what its button opens: of several sets of holes that look
    drilled, each its own form. struck: the ids of what can be canceled here."""
    found: list[Way] = []
    for one in told:
        made = _way(one, struck)
        if made.form == "offered":
            made = replace(made, form=f"offered-{sum(each.form.startswith('offered') for each in found)}")
        found.append(made)
    return tuple(found)


def _way(told: str, struck: frozenset[str]) -> Way:
    found = [(_does(one["verb"], one["rest"]), one) for one in _COMMAND.finditer(told)]
    if not found or len({one["verb"] for _, one in found}) > 1:
        return Way(here(told))
    does, match = found[0]
    said = told[: match.start()].rstrip(" :,") or words.DO_IT.get(match["verb"], here(told))
    if not does.view:
        return Way(f"{said} ({does.here})")
    record = next((one for one in match["rest"].split() if one in struck), "")
    if does.form == "cancel" and (not record or len(found) > 1):
        return Way(said, does.view)
    return Way(said, does.view, does.form, record)


# What can be canceled


def cancelings(place: Snapshot, show: Display) -> tuple[Canceling, ...]:
    """The station's last records that count, the newest first."""
    log = open_log(place)
    struck = struck_ids(log.records)
    own = [one for one in log.records if is_of_the_station(one) and one.id not in struck]
    events = events_of(own[: -MOST_TO_CANCEL - 1 : -1], {})
    return tuple(
        Canceling(one.record.id, undo_words.without_id(one, show.told_in), one.record.by) for one in events
    )


def is_of_the_station(record: Record) -> bool:
    """Whether a record is one that a hand at the station may cancel."""
    return isinstance(record, (*STATION, LookedAt)) and isinstance(record, CANCELABLE)


# What was done and is not recorded


def did_form(state: Balancing, show: Display) -> DidForm | None:
    """What may be said to have been done; None for a crank that nobody told."""
    if state.job.crank is None:
        return None
    drills = (show.drill(one.diameter_mm) for one in state.profile.tools.drills)
    tools = tuple(f"{one} drill" for one in dict.fromkeys(drills))
    return DidForm(
        members=tuple(one.name for one in state.job.crank.members),
        tools=tools,
        spins=tuple(spin.number for spin in state.spins),
        reads_own=not state.instrument.reads_divisions,
    )


def in_crank(state: Balancing, show: Display) -> tuple[tuple[tuple[InCrank, ...], ...], int]:
    """The sets of holes that look drilled by the plan and are in no record, the likeliest first, and at which spin
    they were in the crank."""
    try:
        number, sets = surprise.not_recorded(state)
    except TruethrowError:
        return (), 0
    return tuple(tuple(_in_crank(state, one, show) for one in holes) for holes in sets), number


def _is_told_anew(phrase: str) -> bool:
    """Whether a phrase is how deep a hole is, or what its slug weighs, which a hand types."""
    return phrase.endswith(" deep") or phrase == "through" or phrase.startswith("MASS ")


def _in_crank(state: Balancing, hole: Hole, show: Display) -> InCrank:
    told = station_words.hole(hole, show, state.instrument)
    phrases = as_hand_says(state, hole).split(", ")
    said = ", ".join(one for one in phrases if not _is_told_anew(one))
    if hole.kind == "slug":
        return InCrank(told, said, "", state.told_in.scale, is_slug=True)
    unit = state.told_in.length
    return InCrank(told, said, f"{round(hole.depth_mm / factor(unit, LENGTH), 4):g}", unit)


def beyond(state: Balancing) -> tuple[str, ...]:
    """What was done that breaks a limit, and waits for whoever is qualified."""
    if may_go.holds(state):
        return ()
    return tuple(broken(*one, state.told_in) for one in state.beyond_limits)
