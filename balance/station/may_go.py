"""What stands against drilling on, and against letting a crank go: signing it off."""

from __future__ import annotations

from collections.abc import Iterator

from truethrow.balance.base.amounts import ToldIn
from truethrow.balance.engine.lengths import listed
from truethrow.balance.station import surprise
from truethrow.balance.station.balancing import PLANES, Balancing
from truethrow.balance.station.inengine import by_the_spin
from truethrow.balance.station.members import Contradiction
from truethrow.balance.station.metal import changes
from truethrow.balance.station.mishaps import OF_THE_CRANK
from truethrow.balance.station.outlived import NoLonger, outlived
from truethrow.balance.station.proof import wrong
from truethrow.balance.station.reasons import Reason, Why
from truethrow.balance.station.spinning import Spin
from truethrow.balance.station.stationlog import is_test_canceled
from truethrow.balance.station.worth import not_worth

# What the sum in the engine says by itself.
OF_THE_SUM: frozenset[Why] = frozenset(("not inside", "not inside in engine"))
# Why known masses that agreed do so no more, behind what says that none has.
AGREED_BEFORE = " and the crank as it is: one did before the [crank] was edited, and it was off its supports since"
CANCELED_SINCE = " since the last one was canceled"
# A limit that is larger by less than this part is the same, worked out anew.
SAME_LIMIT = 1e-6


def withheld(state: Balancing) -> list[Reason]:
    """Why nothing is to be drilled by this station as it is; nothing where it may."""
    return list(reasons(state, to_sign=False)) or list(not_worth(state))


def reasons(state: Balancing, *, to_sign: bool) -> Iterator[Reason]:
    """What stands against drilling, or signing, whatever the spin found."""
    yield from _reasons(state, to_sign=to_sign)
    if to_sign and state.last and state.canceled:
        yield Reason("canceled", (state.last,), kinds=state.canceled)
    if to_sign and state.last and (looser := _looser(state, state.last)):
        yield Reason("looser", (state.last,), limits=looser)


def _reasons(state: Balancing, *, to_sign: bool) -> Iterator[Reason]:
    if state.in_doubt:
        yield Reason("damaged")
    if state.other_cranks:
        yield Reason("another crank", kinds=(*state.other_cranks, state.job.about.crank))
    if state.last is None:
        return
    # Before the bobweights are hung anew: they would be hung by the slip.
    if doubted := state.doubted:
        yield Reason("doubted", kinds=doubted)
    if state.last.record.digest != state.job.digest:
        yield Reason("rehung")
    elif state.rebuilt:
        yield Reason("rebuilt", (state.last,), kinds=tuple(one.throw for one in state.rebuilt))
    if state.is_edited:
        yield from _edited(state, state.last)
        return
    yield from _surprising(state, state.last)
    if unknown := state.members.unknown(state.last):
        yield Reason("no offset", (state.last,), kinds=unknown)
    if not state.apart and (unindexed := state.members.unindexed):
        yield Reason("unindexed", (state.last,), kinds=unindexed)
    if not state.apart:
        yield from (_contradicted(one, state.told_in) for one in state.members.contradicted)
    yield from _by_masses(state, to_sign=to_sign)
    if unanswered := state.unanswered or _hangs_otherwise(state, state.last):
        spin = unanswered[-1]
        looks = state.answers.slips_before(spin) or (_looks(state) if spin.number == state.last.number else ())
        yield Reason("unanswered", (spin,), looks=looks)


def _contradicted(found: Contradiction, told_in: ToldIn) -> Reason:
    """That members that are off brought something else than the job says when they were on."""
    if found.without is None:
        return Reason(
            "mended off", (found.with_it,), kinds=changes(*found.edited, told_in), named=listed(found.names)
        )
    brought = found.measured_gmm, found.told_gmm
    return Reason("contradicted", (found.with_it, found.without), kinds=found.names, brought_gmm=brought)


def _surprising(state: Balancing, last: Spin) -> Iterator[Reason]:
    """What the last spin shows that neither the work since the one before it nor a crank explains."""
    if surprise.is_still_turned(state):
        yield Reason("still turned", (last,))
    elif state.apart:
        yield _apart(state, last)
    elif surprise.is_implausible(state):
        looks = _looks(state) or tuple(map(str, surprise.unhung(state)))
        yield Reason("implausible", (last,), looks=looks)


def _hangs_otherwise(state: Balancing, last: Spin) -> tuple[Spin, ...]:
    """The last spin, where it does not read as the holes before it say, and it looks like bobweights, known masses
    or members that are not as they should be: a known mass that agrees does not rule that out, another spin is
    next."""
    if last not in state.answers.missing(last.number - 1):
        return ()
    return (last,) if any(one.kind in OF_THE_CRANK for one in surprise.looks(state)) else ()


def _apart(state: Balancing, last: Spin) -> Reason:
    """That the last spin reads as none of those before it, and what bobweights and members explain of it."""
    before = state.apart[0]
    changed = state.rehung(before)
    explains_gmm = max(map(abs, changed.gmm)) if changed else 0.0
    is_mounted = set(before.record.members) != set(last.record.members)
    named = "what was put on or taken off" if is_mounted else ""
    about = (*reversed(state.apart), last)
    return Reason("apart", about, looks=_looks(state), amount_gmm=explains_gmm, named=named)


def _by_masses(state: Balancing, *, to_sign: bool) -> Iterator[Reason]:
    """What known masses say against it, or have not said yet."""
    if state.reads_divisions:
        yield from _by_trials(state)
        return
    if state.tested and (kinds := wrong(state.tested[1])):
        yield Reason("disagrees", kinds=tuple(kinds))
    elif unlike := state.unlike:
        assert state.last
        if not state.untold and not surprise.is_still_turned(state):  # these say by themselves what to do first
            looks = tuple(map(str, surprise.looks_since(state, unlike)))
            yield Reason("unlike", (unlike, state.last), looks=looks)
    elif not state.is_proved and state.override(to_sign=to_sign) is None:
        before = CANCELED_SINCE if state.is_test_canceled else AGREED_BEFORE if state.agreed_before else ""
        yield Reason("unproved", named=before)
    if untold := state.untold:
        canceled = is_test_canceled(state.records, untold.turned[-1].id)
        yield Reason("turned", (untold,), named=CANCELED_SINCE if canceled else "")


def _by_trials(state: Balancing) -> Iterator[Reason]:
    """The same on a station that reads divisions. Nobody goes on without: nothing else tells what one of them is,
    nor which way its angles count."""
    found = state.calibration
    assert state.last
    if rough := [plane for plane in found.missing if plane in found.rough]:
        part = min(100.0, 100 * found.rough[rough[0]][1])
        yield Reason("rough trial", (state.last,), named=rough[0], part=part)
    elif found.missing:
        yield Reason("trials", (state.last,), named=found.missing[0])
    elif found.coefficients and found.coefficients.is_poor:
        yield Reason("not apart", (state.last,))
    elif found.fourth is None:
        yield Reason("fourth run", (state.last,))
    elif not found.is_proved:
        yield Reason("not foretold" if found.fourth.ended == "apart" else "rough fourth", (state.last,))


def _looser(state: Balancing, last: Spin) -> tuple[tuple[str, float, float], ...]:
    """The planes that are allowed more now than at the last spin, with how much then and now. [g·mm]"""
    return tuple(
        (plane, was, now)
        for plane, was, now in zip(PLANES, last.record.limits_gmm, state.limits_gmm, strict=False)
        if now > was * (1 + SAME_LIMIT)
    )


def _looks(state: Balancing) -> tuple[str, ...]:
    return tuple(map(str, surprise.looks(state)))


def _edited(state: Balancing, last: Spin) -> Iterator[Reason]:
    """That the last spin was read by another profile than today's: as long as nobody says what the edit was, that;
    else what somebody said; else it is the planes that have changed. Or that it is of the crank as it was."""
    if state.unsaid:
        yield Reason("edited", (last,), edit=(state.last_read_by, state.instrument))
    elif state.edits and state.seen.index(state.edits[-1].id) > state.seen.index(last.id):
        edit = state.edits[-1]
        why: Why = "mended" if edit.is_mend else "changed"
        yield Reason(why, (last,), edit=(edit.was, edit.now), signed=edit.record)
    elif not state.recut:
        yield Reason("moved", (last,))
    if recut := state.recut:
        yield Reason("recut", (last,), kinds=recut)


def is_inside(state: Balancing) -> bool:
    """Whether the last spin found both planes inside, and nothing stands against believing it."""
    return not against(state)


def against(state: Balancing, *, unproved: bool = False) -> list[Reason]:
    """What stands against a crank that may go; nothing where nothing does. unproved: but for a test mass. A limit
    that was loosened since takes back nothing that is signed: it was signed by the one of its day."""
    found = _against(state, unproved=unproved)
    is_looser = any(one.why == "looser" for one in found)
    return [one for one in found if one.why != "looser"] if is_looser and holds(state) else found


def _against(state: Balancing, *, unproved: bool = False) -> list[Reason]:
    if state.last is None:
        return [Reason("unspun")]
    found = []
    if state.since:
        found.append(Reason("drilled", holes=len(state.since)))
    if state.beyond_limits:
        found.append(Reason("broken", breaks=state.beyond_limits))
    if not state.is_edited:
        found += _not_inside(state)
    found += [one for one in reasons(state, to_sign=True) if not (unproved and one.why == "unproved")]
    return found


def besides_the_sum(state: Balancing) -> list[Reason]:
    """Why nobody may go by the sum in the engine, however small it is, but for what made a sign-off void; nothing
    where what was signed still is so."""
    if holds(state):
        return []
    told = void(state)
    return [one for one in against(state) if one.why not in OF_THE_SUM and one not in told]


def _not_inside(state: Balancing) -> list[Reason]:
    assert state.last
    if not state.last.is_told:
        return []  # nobody knows yet what the station's divisions are: that is a reason of its own
    if state.in_engine is None:
        verdicts, missing = state.verdicts_of(state.last), state.members.missing(state.last)
        planes = by_the_spin(state.last, state.limits_gmm, verdicts, missing)
        open_ = [Reason("not inside", plane=one, verdict=one.verdict) for one in planes if one.verdict != "inside"]
        return [*open_, Reason("not placed", (state.last,), named=listed(state.not_placed))]
    found = []
    for one, ruled in zip(state.in_engine, state.verdicts_of(state.last), strict=True):
        if ruled != "inside" and state.for_these_parts is None:
            found.append(Reason("not inside", plane=one, verdict=ruled))
        elif one.verdict != "inside":
            found.append(Reason("not inside in engine", plane=one, verdict=one.verdict))
    return found


def holds(state: Balancing) -> bool:
    """Whether it is signed, and what was signed still is so."""
    return state.signed is not None and not void(state)


def as_it_counts(state: Balancing) -> Balancing:
    """Where the loop stands for whoever is shown it: of a crank that is signed, and still is so, by the profile
    that it was signed by; of any other by the profile as it is."""
    return state.as_signed if holds(state) else state


def no_longer(state: Balancing) -> NoLonger | None:
    """The last signature, where it counts no more, with every reason; None where it does, or nobody signed."""
    if state.signed is None:
        return outlived(state.records)
    return NoLonger(state.signed, tuple(why)) if (why := void(state)) else None


def void(state: Balancing) -> list[Reason]:
    """Why what was signed is so no more; nothing where it is. Asked of the profile that it was signed by, whatever
    the shop's profile says today: only who says in this job that it had been wrong takes that back."""
    if state.signed is None:
        return list(ended.why) if (ended := outlived(state.records)) else []
    if mends := [edit for edit in state.edits_since_signed if edit.is_mend]:
        edit = mends[-1]
        return [Reason("wrong", edit=(edit.was, edit.now), signed=edit.record)]
    return [one for one in _against(state.as_signed) if one.why != "looser"]


def not_signable(state: Balancing, *, unproved: bool = False) -> list[Reason]:
    """Why it cannot be signed off; nothing where it can. unproved: where no test mass has to agree."""
    if state.signed and holds(state):
        return [Reason("signed", signed=state.signed)]
    return against(state, unproved=unproved)
