"""What a hand at the station does next, as a value: for a screen that offers one thing at a time. The same that
next_steps tells in words, with the command for it; a test holds the two together."""

from __future__ import annotations

from typing import Literal, TypeAlias

from truethrow.balance.station import may_go
from truethrow.balance.station.balancing import Balancing
from truethrow.balance.station.next_steps import A_MASS_TELLS, SPIN_AGAIN, unbuilt
from truethrow.balance.station.reasons import Reason, Why

# Weigh the built bobweights, spin, spin with known masses on, do one operation of the plan, sign; signed: it is;
# look: something that only a person can tell, or that the station does not do.
Work: TypeAlias = Literal["bobweights", "spin", "prove", "hole", "sign", "signed", "look"]

_A_SPIN_TELLS: frozenset[Why] = frozenset(
    (
        *("recut", "rebuilt", "average", "still turned"),
        *("no offset", "unindexed", "contradicted", "mended off", "unanswered"),
    )
)
_MASSES_TELL: frozenset[Why] = frozenset(("disagrees", "unlike", "turned"))


def at_hand(state: Balancing) -> Work:
    """What comes next at the station, whatever else waits at the bench."""
    if may_go.holds(state):
        return "signed"
    if state.beyond_limits or may_go.withheld(state):
        return _to_go_on(state)
    if state.last is None:
        return "bobweights" if unbuilt(state) else "spin"
    if state.since and (state.halted or not state.to_do):
        return "spin"
    if state.to_do:
        return "hole"
    return "sign" if may_go.is_inside(state) else _to_go_on(state)


def _to_go_on(state: Balancing) -> Work:
    """What has to be done first about what keeps a hole or a signature back."""
    reasons = [*may_go.reasons(state, to_sign=True), *may_go.withheld(state)]
    return _by(state, reasons[0]) if reasons else "look"


def _by(state: Balancing, reason: Reason) -> Work:
    """What a reason asks for."""
    why = reason.why
    if why == "implausible" and state.is_proved:
        return "spin"
    if why in SPIN_AGAIN or why in _A_SPIN_TELLS:
        return "spin"
    return "prove" if why in A_MASS_TELLS or why in _MASSES_TELL else "look"
