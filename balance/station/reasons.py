"""Why nothing is to be drilled, or a crank is not to be signed, by a station as it is: values, and the sentence of
each in one place. A refusal to drill or to sign says the same as screen and card."""

from __future__ import annotations

import cmath
import math
from typing import TYPE_CHECKING, Literal, NamedTuple

from truethrow.balance.base.amounts import ABOUT_GMM
from truethrow.balance.base.errors import shown
from truethrow.balance.log.log import when
from truethrow.balance.station.revisions import what_changed
from truethrow.balance.station.stationlog import since_spin

if TYPE_CHECKING:
    from collections.abc import Sequence

    from truethrow.balance.base.amounts import ToldIn
    from truethrow.balance.base.readings import Verdict
    from truethrow.balance.correction.breaches import Breach
    from truethrow.balance.log.records import Record
    from truethrow.balance.station.inengine import InEngine
    from truethrow.balance.station.spin import Instrument
    from truethrow.balance.station.spinning import Spin
    from truethrow.balance.station.stationlog import HoleRecord

# Against drilling and signing. damaged: a line of the station's in the log; another crank: the marks of those that
# were spun or drilled, and the one in the job; rehung: the last spin had other bobweights, or parts, than the job
# has now; rebuilt: bobweights were weighed since it; doubted: a reading that looks like a slip, of a part; edited:
# the profile since the last spin, and nobody said what that was; mended, changed: what somebody said; moved: the
# planes; recut: the crank's metal, by the job; apart: spins of a crank to which nothing was done; still turned:
# the fixture at the last spin, typed as one as it stands; implausible: the last spin, of any crank; disagrees: the
# last test mass; no offset: of members that were off, nobody knows what they bring; unindexed: members may sit
# otherwise on the crank than declared; contradicted: members that are off brought something else than the job
# says; mended off: the job was edited of such; unproved: no test mass agreed; unlike: one did, and spins since
# then read otherwise; turned: none agreed with the fixture turned; unanswered: the holes, by the crank. Against
# drilling alone (worth). blind: the station, for so small a tolerance; average: more runs first; noise: what holes
# would change; little: what the plan takes off. Against going on with a plan that was begun. lost: it cannot be
# told any more; thin: the rest would leave too thin a wall; unplanned: something was done that is not in it.
# Against what was signed. wrong: the profile that it was signed by; to weigh: parts of it are to be weighed again;
# spun after, drilled after, sign canceled, rest canceled: a record ended it (outlived). Against signing alone.
# canceled: a spin, a hole or a test mass, since the last spin that counts; looser: the tolerance, since the last
# spin; unspun: nothing was read yet; drilled: holes since the last spin; broken: what was done breaks a limit of
# the crank, and nobody qualified looked at it; not placed: lengths are not declared by which a bobweight acts in
# the planes; not inside: a plane, by the spin; not inside in engine: with what hanging leaves; signed: it is
# already.
Why = Literal[
    "damaged",
    "another crank",
    "rehung",
    "rebuilt",
    "doubted",
    "edited",
    "mended",
    "changed",
    "moved",
    "recut",
    "apart",
    "still turned",
    "implausible",
    "no offset",
    "unindexed",
    "contradicted",
    "mended off",
    "disagrees",
    "unproved",
    "unlike",
    "turned",
    "unanswered",
    "trials",
    "rough trial",
    "not apart",
    "fourth run",
    "not foretold",
    "rough fourth",
    "blind",
    "average",
    "noise",
    "little",
    "lost",
    "thin",
    "unplanned",
    "wrong",
    "to weigh",
    "spun after",
    "drilled after",
    "sign canceled",
    "rest canceled",
    "canceled",
    "looser",
    "unspun",
    "drilled",
    "broken",
    "not placed",
    "not inside",
    "not inside in engine",
    "signed",
]

# The fields are a Reason's, and spin: the number of the last one that it is about; before: of those before it.
SAID: dict[Why, str] = {
    "damaged": "a line of the log was damaged, so the last spin is in doubt: drill nothing; spin again",
    "another crank": (
        "the crank's mark in [about] was changed since it was spun, drilled or signed ({kinds}): drill nothing, "
        "and no signature counts, until the mark is put back or somebody says that it is the same crank"
    ),
    "rehung": "the job is not as it was at the last spin: hang its bobweights and spin again",
    "rebuilt": (
        "a bobweight was weighed after spin {spin} (throw {kinds}): hang it and spin again, or say that it hung "
        "there"
    ),
    "doubted": "what hangs rests on what looks like a slip: {kinds}",
    "edited": (
        "the station's profile was edited since spin {spin} ({kinds}): say whether it had been wrong, or the "
        "station was changed today"
    ),
    "mended": "the profile had been wrong ({kinds}), says {by}: spin again, then hang a test mass",
    "changed": (
        "the station was changed since spin {spin} ({kinds}), says {by}: spin again, then hang a test mass"
    ),
    "moved": "the job's planes have changed since spin {spin}: spin again, then hang a test mass",
    "recut": (
        "the [crank] in the job is not as it was at spin {spin} ({kinds}): what was read then is of the crank as "
        "it was; drill nothing by it, spin again"
    ),
    "apart": (
        "spin {spin} reads otherwise than spin {before}, and nothing was done to the crank "
        "between{hanging}{looks}: spin again, until a spin agrees with one before it"
    ),
    "still turned": (
        "spin {spin} looks like the fixture was still turned, and the spin was typed without --turned: its own "
        "part would count twice, and another spin would only say the same; drill nothing, sign nothing: turn it "
        "back and spin again, or make runs both ways (not turned, then --turned)"
    ),
    "implausible": "spin {spin} reads more than a crank can have{looks}: drill nothing",
    "no offset": (
        "{kinds} was off the crank at spin {spin}, and nobody knows what it brings: spin with it on, or tell its "
        "offset in the [crank]"
    ),
    "unindexed": (
        "nothing shows that {kinds} sits on the crank where its keyway or dowel is declared; half a turn off, it "
        "would bring the reverse of its offset: drill nothing before one spin without it and one with it, nothing "
        "else done between"
    ),
    "contradicted": (
        "{kinds} was on at spin {before} and off at spin {spin}: by these two it brings {brought}, by the job "
        "{told}. It sat otherwise than declared, or its figures in the [crank] are wrong: drill nothing, sign "
        "nothing, before it is put on as declared and spun again, or its figures are put right"
    ),
    "mended off": (
        "the figures of {named} in the [crank] are not as at spin {spin}, the last with it on ({kinds}), and it "
        "is off now: drill nothing, sign nothing, before it is put on and spun again, or the edit is put back"
    ),
    "disagrees": "the last test mass does not agree with the profile: {kinds}",
    "unproved": "no test mass has agreed with the station's profile as it is now{named}",
    "unlike": (
        "spin {spin} reads otherwise than spin {before}, which the known masses were held against, and nothing "
        "was done to the crank between{looks}: see to it; then known masses have to agree again"
    ),
    "turned": (
        "the fixture was turned at spin {spin}, and no known mass has agreed with it turned{named}: were those "
        "angles counted from the fixture instead of throw 1, the crank's part and the fixture's would be "
        "exchanged; drill nothing, sign nothing"
    ),
    "unanswered": (
        "spin {spin} doesn't match the holes drilled{looks}: don't drill; was a hole drilled that is not "
        "recorded, or another than recorded? If not, check with a known mass first"
    ),
    "trials": (
        "the station reads divisions, and nobody knows yet what one is at this speed with these bobweights: a "
        "trial mass on the {named} plane alone tells"
    ),
    "rough trial": (
        "the trial mass on the {named} plane moved the reading too little: its coefficient is known to "
        "{part:.0f} %, 10 % at most tell; hang a heavier one"
    ),
    "not apart": (
        "the trial masses move both planes nearly alike, so they are not told apart: see where they sat and which "
        "pickup is which, and hang them again, farther apart along the crank or heavier"
    ),
    "fourth run": (
        "the trial masses cannot tell which way the station counts its angles: drill nothing before a run with "
        "both at once, each moved by a quarter of a turn"
    ),
    "not foretold": (
        "the run with both trial masses at once does not read as foretold: a mass, its place or a figure was "
        "another than typed, or something was moved; cancel what was wrong (truethrow strike), or spin as it is "
        "and hang each again"
    ),
    "rough fourth": "the run with both trial masses at once would read so either way: hang heavier ones",
    "blind": (
        "the station can't prove the tolerance of the {named} plane, {tolerance}: it is sure to ± "
        "{amount} at best; drill nothing by it: another station, or another limit agreed with the customer"
    ),
    "average": (
        "spin {spin} is too close to call: drill nothing; make {number} runs in one go, so that they are averaged"
    ),
    "noise": (
        "too close to call, and what drilling would change, {amount}, is less than the station can "
        "tell, ± {beside}: drill nothing; more runs don't help: another station, or another limit agreed "
        "with the customer"
    ),
    "little": ("{number} holes would leave {beside} of {amount}: drill nothing; what would help: {kinds}"),
    "lost": "the plan that was begun cannot be told any more, what it was made from has changed",
    "thin": "what was really drilled leaves too thin a wall to the rest",
    "unplanned": "something was done to the crank that is not in the plan, which says nothing of what is left now",
    "broken": "{kinds}: whoever is qualified has to look at it",
    "wrong": "the profile that it was signed by had been wrong ({kinds}), says {by}, record {signed.id}",
    "to weigh": "parts of the job are to be weighed again",
    "spun after": "{named} came after it, {at}{who}",
    "drilled after": "a hole was recorded after it, {at}{who}",
    "sign canceled": "it was canceled, {at}{who}",
    "rest canceled": "{named} that it rests on was canceled, {at}{who}",
    "canceled": "{kinds} was canceled since spin {spin}: spin again before signing",
    "looser": "the tolerance is looser than at spin {spin} ({kinds}): spin again before signing",
    "unspun": "there is no spin yet",
    "drilled": "{done}: spin again",
    "not placed": (
        "what a bobweight that is off brings to the planes rests on {named} in [engine], which the job does not "
        "have; the spin alone is not signed"
    ),
    "not inside": "{plane.plane} plane as spun: {read} of the crank{members}, {verdict}; tolerance {limit}",
    "not inside in engine": (
        "{plane.plane} plane: {also}with what hanging leaves, {leaves} of the crank, it is {whole} {turns}, "
        "{verdict}{assumed}; tolerance {limit}"
    ),
    "signed": "signed already by {by}, record {signed.id}",
}


# What does not agree by a test mass, where its kind alone does not say it.
_DISAGREES = {
    "either": "zero, or sense and zero",
    "differ": "one mass with another",
    "alone": "sense or zero",
    "rough": "the change is not known well enough",
    "half": "two at once did not, and one plane alone does",
    "exchanged": "the two masses are exchanged",
    "crossed": "one plane with the other",
}


# What breaks a limit of the crank, by its kind: of a hole, what is and what is allowed.
_BROKEN = {
    "outside": (
        "at the crank's {degrees:.1f}° the [crank] has no metal of {member}: the angle is wrong, or the [crank] is"
    ),
    "deep": "{found} deep to the tip, {limit} at most",
    "low": "down to a radius of {found}, below {limit} there may be fillets or oil ways",
    "wall": "leaves {found} of metal beside it, {limit} at least",
    "overlap": "runs into another hole: it took less than is reckoned",
}


def broken(hole: HoleRecord, found: Sequence[Breach], told_in: ToldIn) -> str:
    """Which limits something that was done breaks."""
    said = (
        _BROKEN[one.why].format(
            found=told_in.measured(one.found_mm),
            limit=told_in.measured(one.limit_mm),
            degrees=one.found_mm,
            member=hole.hole.member,
        )
        for one in found
    )
    return f"{hole.hole.member} at the crank's {hole.hole.angle_deg:.1f}° (record {hole.id}): {'; '.join(said)}"


class Reason(NamedTuple):
    """One reason. about: the spins that it is about, the last one last; kinds: what does not agree by a test mass,
    or the parts in doubt; holes: how many were done; plane, verdict: which is not inside, and what it is; signed:
    the record that says so, of a signature or an edit, or that ended one; looks: what may have happened, in words;
    named: a plane; number: of runs to make, or of holes; amount_gmm, beside_gmm: what the sentence of its kind
    holds against each other; part: of a trial mass, how well it is known, in percent; edit: the instrument before
    an edit and after it; limits: planes with their tolerance then and now; breaks: what breaks limits of the
    crank; brought_gmm: what members brought by two spins, and bring by the job."""

    why: Why
    about: tuple[Spin, ...] = ()
    kinds: tuple[str, ...] = ()
    holes: int = 0
    plane: InEngine | None = None
    verdict: Verdict | None = None
    signed: Record | None = None
    looks: tuple[str, ...] = ()
    named: str = ""
    number: int = 0
    amount_gmm: float = 0.0
    beside_gmm: float = 0.0
    part: float = 0.0
    edit: tuple[Instrument, Instrument] | None = None
    limits: tuple[tuple[str, float, float], ...] = ()
    breaks: tuple[tuple[HoleRecord, tuple[Breach, ...]], ...] = ()
    brought_gmm: tuple[complex, complex] = (0j, 0j)

    def said(self, told_in: ToldIn) -> str:
        """The sentence, its figures in a shop's units."""
        *before, spin = [str(one.number) for one in self.about] or [""]
        amount, beside = (
            told_in.unbalance(one, min(one, ABOUT_GMM)) for one in (self.amount_gmm, self.beside_gmm)
        )
        brought, told = (_at_its_angle(one, told_in) for one in self.brought_gmm)
        return SAID[self.why].format(
            spin=spin,
            before=", ".join(before),
            kinds=", ".join(self._kinds(told_in)),
            done=since_spin(self.holes),
            **_of_plane(self.plane, told_in),
            verdict=self.verdict,
            signed=self.signed,
            hanging=f", and {self.named or 'what hangs now'} explains only {amount}" if self.amount_gmm else "",
            named=self.named,
            number=self.number,
            amount=amount,
            brought=brought,
            told=told,
            beside=beside.digits,
            part=self.part,
            tolerance=told_in.tolerance(self.beside_gmm),
            by=shown(self.signed.by) if self.signed else "",
            who=f" by {shown(self.signed.by)}" if self.signed and self.signed.by else "",
            at=f"{when(self.signed.at)} UTC" if self.signed else "",
            looks=f" (looks like: {'; or '.join(self.looks)})" if self.looks else "",
        )

    def _kinds(self, told_in: ToldIn) -> list[str]:
        """What its sentence lists."""
        return [
            *(_DISAGREES.get(kind, kind) for kind in self.kinds),
            *([what_changed(*self.edit, told_in)] if self.edit else []),
            *(
                f"{plane} plane {told_in.tolerance(was).digits} → {told_in.tolerance(now)}"
                for plane, was, now in self.limits
            ),
            *(broken(hole, found, told_in) for hole, found in self.breaks),
        ]


def _at_its_angle(gmm: complex, told_in: ToldIn) -> str:
    """An unbalance with the crank's angle that it is at."""
    return f"{told_in.unbalance(abs(gmm))} at the crank's {math.degrees(cmath.phase(gmm)) % 360:.0f}°"


def _of_plane(plane: InEngine | None, told_in: ToldIn) -> dict[str, object]:
    """What the sentences have of a plane that is not inside."""
    if plane is None:
        return {}
    turns = "in the engine" if plane.has_parts else "with the given bobweights"
    members = plane.members.said(told_in)
    are_off = bool(plane.members.gmm)
    return {
        "plane": plane,
        "read": plane.spin.said(told_in),
        "leaves": plane.hanging.said(told_in),
        "whole": plane.whole.said(told_in),
        "limit": told_in.tolerance(plane.limit_gmm),
        "turns": turns,
        "members": f" with {members} of the members that were off" if are_off else "",
        "also": f"with the members that were off, {members}, and " if are_off else "",
        "assumed": " (how far loads scatter on the scale is only assumed)" if plane.is_by_what_is_assumed else "",
    }
