"""What stands against drilling on, and against letting a crank go: signing it off."""

from __future__ import annotations

from collections.abc import Iterator

from truethrow.balance.station.balancing import Balancing
from truethrow.balance.station.proof import wrong
from truethrow.balance.station.reasons import Reason


def withheld(state: Balancing) -> list[Reason]:
    """Why nothing is to be drilled by this station as it is; nothing where it may."""
    return list(reasons(state, to_sign=False))


def reasons(state: Balancing, *, to_sign: bool) -> Iterator[Reason]:
    """What stands against drilling, or signing, whatever the spin found."""
    if state.in_doubt:
        yield Reason("damaged")
    if state.last is None:
        return
    # Before the bobweights are hung anew: they would be hung by the slip.
    if doubted := state.doubted:
        yield Reason("doubted", kinds=doubted)
    if state.last.record.digest != state.job.digest:
        yield Reason("rehung")
    if state.is_edited:
        yield Reason("edited", (state.last,))
        return
    if state.apart:
        yield Reason("apart", (*reversed(state.apart), state.last))
    if state.tested and (kinds := wrong(state.tested[1])):
        yield Reason("disagrees", kinds=tuple(kinds))
    elif not state.is_proved and state.override(to_sign=to_sign) is None:
        yield Reason("unproved")
    if state.unanswered:
        yield Reason("unanswered", state.unanswered[-1:])


def is_inside(state: Balancing) -> bool:
    """Whether the last spin found both planes inside, and nothing stands against believing it."""
    return not against(state)


def against(state: Balancing, *, unproved: bool = False) -> list[Reason]:
    """What stands against a crank that may go; nothing where nothing does. unproved: but for a test mass."""
    if state.last is None:
        return [Reason("unspun")]
    found = []
    if state.since:
        found.append(Reason("drilled", holes=len(state.since)))
    if not state.is_edited:
        found += _not_inside(state)
    found += [one for one in reasons(state, to_sign=True) if not (unproved and one.why == "unproved")]
    return found


def _not_inside(state: Balancing) -> list[Reason]:
    assert state.last and state.in_engine
    found = []
    for one, ruled in zip(state.in_engine, state.verdicts_of(state.last), strict=True):
        if ruled != "inside":
            found.append(Reason("not inside", plane=one, verdict=ruled))
        elif one.verdict != "inside":
            found.append(Reason("not inside in engine", plane=one, verdict=one.verdict))
    return found


def holds(state: Balancing) -> bool:
    """Whether it is signed, and what was signed still is so."""
    return state.signed is not None and not against(state)


def not_signable(state: Balancing, *, unproved: bool = False) -> list[Reason]:
    """Why it cannot be signed off; nothing where it can. unproved: where no test mass has to agree."""
    if state.signed and holds(state):
        return [Reason("signed", signed=state.signed)]
    return against(state, unproved=unproved)
