"""The sentences that a bench, a builder and a station read: slips, cuts, shortfalls, swaps."""

from __future__ import annotations

import math
from collections.abc import Iterable, Set
from typing import TYPE_CHECKING

from truethrow.balance.base.errors import kinds_by_cylinder
from truethrow.balance.base.parts import BY_NAME, CUTTABLE, WAYS, Way, label
from truethrow.balance.engine.layout import NOTHING, rods_couple, sense_of_bobweights
from truethrow.balance.engine.lengths import fill_in
from truethrow.balance.job.pads import Pad
from truethrow.balance.result.bobweight import Bobweights
from truethrow.balance.result.doubts import (
    confirming,
    entering,
    named,
    part_of,
    second_weighing,
    settling,
    way_out,
)
from truethrow.balance.result.slips import Slip
from truethrow.balance.result.spread import Spread
from truethrow.worksheets.shown.display import Display, angle

if TYPE_CHECKING:
    from truethrow.balance.base.naming import Names, Part
    from truethrow.balance.job.boxes import Box, OffBox
    from truethrow.balance.job.grinding import Grind, Ground, PadResponse
    from truethrow.balance.job.job import Job
    from truethrow.balance.job.sources import Replaced
    from truethrow.balance.result.so_far import SoFar
    from truethrow.balance.result.trim import PartTrim, Shortfall, Swap, TrimPlan
    from truethrow.balance.result.work import Result

AS_WEIGHED = "For the parts as weighed now: after any trim or swap, weigh and send again before hanging."


def estimated(job: Job) -> str:
    """Which of its parts are estimates; nothing where all were weighed."""
    kinds: dict[int, list[str]] = {}
    for kind, numbers in job.estimated.items():
        for number in numbers:
            kinds.setdefault(number, []).append(kind)
    if not kinds:
        return ""
    return (
        f"ESTIMATE: not weighed yet: {kinds_by_cylinder(kinds)}. Nothing is hung, cut or signed by these figures."
    )


ALL_INSIDE = "no spread is outside its limit as far as the scale can tell"
NO_WEIGHING_SETTLES = "No second weighing on this scale would settle it."
HELD = "Nothing is to be ground yet. Look at these readings again first:"
WAY_WORDS: dict[Way, str] = {"pan": "on the pan", "support": "of rod ends"}
ASSUMED = (
    "How far loads {ways} scatter is only assumed (no part was weighed twice, and [scale] in the job says nothing "
    "of it), so nothing is called inside by it."
)
NO_SLIP = "No reading stands out, and no two disagree."
ROD_COUPLE = "With like parts, too, they leave a couple that turns against the crank and stays, whatever is hung."
ADVICE = {
    "complete": (
        "Half of the reciprocating mass on every throw cancels the first order completely: bobweights at a share "
        "of 0.5 are right for this layout."
    ),
    "itself": (
        "This crank is in balance by itself in the first order: bobweights are not needed, it is usually spun "
        "bare (common practice, no source), and the share moves only the load on its mains."
    ),
    "partly": (
        "A counterweight cancels only what turns with the crank. On this layout a part turns against it and "
        "stays, whatever is hung; the share is a compromise, and only a shaft turning backward cures the rest."
    ),
    "useless": (
        "All of the first order that is left turns against the crank: no bobweight and no counterweight can help."
    ),
}


def sentence(clause: str) -> str:
    """A clause as it stands alone."""
    return f"{_capital(clause)}."


def _capital(clause: str) -> str:
    return f"{clause[:1].upper()}{clause[1:]}"


def advice(result: Result) -> str | None:
    """What else to know about hanging these; None where they do all that is to be done, or nothing is hung."""
    sense = sense_of_bobweights(result.job.engine.spaced)
    return None if sense == "complete" or result.bobweights.rule == "none" else ADVICE[sense]


def no_need(result: Result) -> str | None:
    """What of that who hangs them has to know: that none is needed, or that none can help. What a share leaves is
    for who chooses it."""
    said = advice(result)
    return None if said == ADVICE["partly"] else said


SPREADS = "Spread = heaviest − lightest [{unit}] (cylinder or throw)"


def spreads_head(show: Display, names: Names) -> str:
    moved = "; 5>1: weighed in 5, goes in 1" if names.traded else ""
    return SPREADS.format(unit=show.mass_unit) + moved


def hang(weights: Bobweights, show: Display) -> str:
    """What the station's operator does with the bobweights, in one sentence."""
    match weights.rule:
        case "own":
            return "Hang on each throw its own bobweight, to the scale's step."
        case "none":
            return "Hang nothing: this crank is balanced bare."
    if weights.rule == "given":
        each = " ".join(f"throw {one.throw.name} {show.in_both(one.hung_g)}," for one in weights.throws)
        what = f"{each[:-1]}" if weights.hung_g is None else f"{show.in_both(weights.hung_g)} on every throw"
        return f"Hang {what} (as given)."
    if weights.hung_g is None:
        return "Hang on each throw the mass that the job declares for it."
    why = "the mean" if weights.rule == "mean" else "declared by the job"
    return f"Hang {show.in_both(weights.hung_g or 0.0)} on every throw ({why})."


def rods(result: Result, show: Display) -> str | None:
    """How the two rods of a throw lie; None where every rod lies in the middle of its throw."""
    engine = result.job.engine
    if engine.rods_apart_mm is None:
        return None
    apart = show.length(engine.rods_apart_mm)
    said = f"Rods side by side, {apart} apart; in front: the rods of bank {engine.rod_in_front}."
    stays = abs(rods_couple(engine.layout)) > NOTHING * engine.rods_apart_mm
    return f"{said} {ROD_COUPLE}" if stays else said


def rods_leave(result: Result, show: Display) -> str | None:
    """What rods side by side make of the planes."""
    found = result.left and result.left.rods
    if found is None:
        return None
    expanded = show.unbalance(found.expanded_gmm, found.expanded_gmm)
    if found.amount_gmm <= found.expanded_gmm:
        return f"Of that the rods side by side make less than can be told, {expanded} {show.unbalance_unit}."
    amount = show.unbalance(found.amount_gmm, found.expanded_gmm)
    return (
        f"Of that the rods side by side make {amount} ± {expanded} {show.unbalance_unit} in each plane, at "
        f"{angle(found.angle_deg)} in front and half a turn on at the rear: no bobweight can match that, as it "
        "hangs in the middle of the throw."
    )


ONLY_WHOLE_SPREADS = "A spread is told once every part of it is weighed."


def nothing_to_hang_yet(found: SoFar) -> str:
    """Why there is no figure to hang of a set that is not whole."""
    whole = {one.cylinder for one in found.cylinders}
    open_ = [str(number) for number in found.job.layout.cylinders if number not in whole]
    which = f"cylinder{'s' if len(open_) > 1 else ''} {', '.join(open_)}"
    return f"Nothing to hang yet: {which} not all weighed. The figure to hang is of the whole set."


PARTS_NOT_SEEN = (
    "The parts were not seen: the job has the given bobweights alone. What is signed is the crank with these, "
    "never the engine with its parts"
)


def no_planes(result: Result) -> str:
    """What would tell what hanging leaves in the planes."""
    return sentence(fill_in(result.job.engine.not_placed, result.job.name))


def slip(found: Slip, show: Display, names: Names, job: str) -> str:
    """One suspicion in one line: where, what was read, what speaks against it. job: as commands are told it; empty
    where nobody types one."""

    return _two_heaps(found, show, names) if found.heaps else _one_part(found, show, names, job)


def _one_part(found: Slip, show: Display, names: Names, job: str) -> str:
    def who(kind: str) -> str:
        return f"every cylinder, {label(kind)}" if found.cylinder is None else names.said(kind, found.cylinder)

    read = ", ".join(show.mass(g) for g in found.found_g)
    unit = show.mass_unit
    match found.check:
        case "outlier":
            side = "above" if found.found_g[0] > found.against_g[1] else "below"
            sisters = f"{show.mass(found.against_g[0])} to {show.masses(found.against_g[2])}"
            said = (
                f"{who(found.kind)}: {read} {unit} is {show.masses(found.apart_g)} {side} the median "
                f"of the others ({sisters})"
            )
            return f"{said}; {found.suspicion}?" if found.suspicion else said
        case "swapped ends":
            typical = " and ".join(show.mass(g) for g in found.against_g)
            if found.against_g == found.found_g[::-1]:
                return (
                    f"{who('rod')}, big end and small end: {read} {unit} look swapped (a big end is "
                    "heavier than its own small end)"
                )
            return f"{who('rod')}, big end and small end: {read} {unit} look swapped (typical: {typical} {unit})"
        case "closure":
            return (
                f"{who('rod')}: the ends add up to {read} {unit}, the rod in one go is "
                f"{show.masses(found.against_g[0])}; {show.difference(found.apart_g)} apart, allowed "
                f"{show.allowed(found.allowed_g)}"
            )
        case "hang":
            return (
                f"{found.suspicion}: {show.as_given(found.found_g[0])} are to be hung, its parts make "
                f"{show.masses(found.against_g[0], finer=1)}; is the declared mass this engine's?"
            )
        case "repeats" | "two heaps":  # the latter is told by _two_heaps
            said = (
                f"{who(found.kind)}: {len(found.found_g)} readings are {show.difference(found.apart_g)} "
                f"apart ({read} {unit}); weigh it again"
            )
            is_lighter = found.kind in CUTTABLE and found.found_g[-1] < min(found.found_g[:-1])
            how = f" (truethrow ground {job})" if job else ""
            return f"{said}, or was it ground and not recorded?{how}" if is_lighter else said


def _two_heaps(found: Slip, show: Display, names: Names) -> str:
    """Which parts belong to which heap."""
    fewer, others = (", ".join(names.part(found.kind, n).short for n in heap) for heap in found.heaps)
    own = f"{show.mass(min(found.found_g))} to {show.masses(max(found.found_g))}"
    rest = f"{show.mass(found.against_g[0])} to {show.masses(found.against_g[2])}"
    part = label(part_of(found.of))
    if found.is_a_pair:
        reads = sorted(zip(found.heaps, (found.found_g[0], found.against_g[1]), strict=True))
        who = " and ".join(names.said(part_of(found.of), heap[0]) for heap, _ in reads)
        read = " and ".join(show.mass(grams) for _, grams in reads)
        end = f" ({label(found.kind)})" if len(found.of) > 1 else ""
        return (
            f"{who}: {read} {show.mass_unit}{end} are too far apart for one engine; look for a wrong decimal "
            "mark, unit or part"
        )
    parts = part if part.endswith("s") else f"{part}s"
    end = "" if len(found.of) == 1 else f" ({label(found.kind)})"
    said = f"{parts} of two sets, {show.masses(found.apart_g)} apart{end}: {fewer} ({own}) and {others} ({rest})"
    return f"{said}; {found.suspicion}?" if found.suspicion else said


def off_boxes(job: Job, show: Display) -> list[str]:
    """What was weighed and is none of the box that [estimate] tells of, with the box's figures."""
    said = []
    for found in job.off_boxes:
        least, most = show.mass(found.least_g), show.masses(found.most_g)
        reads = most if least == show.mass(found.most_g) else f"{least} to {most}"
        who = kinds_by_cylinder({number: [found.kind] for number in found.cylinders})
        said.append(
            f"{who}: {reads}, but {box(found.box, show)}. Another part than was ordered, or another line of the "
            f"catalog? {_off_box_ways(job, found)}"
        )
    return said


def _off_box_ways(job: Job, found: OffBox) -> str:
    """What to do where pieces that are none of their box are right: each is confirmed by itself, so that the next
    one asks again; a whole set is the sign of another box."""
    first, *others = ((number, (found.kind,)) for number in found.cylinders)
    if not others:
        return f"If it is right: {confirming(job, [first])}"
    if len(found.cylinders) == len(job.parts):
        mend = f"mend {found.kind} of [estimate] in {job.name}"
        return f"If all are right, {mend}, or confirm each: {confirming(job, [first])}"
    return f"If they are right: {confirming(job, [first, *others])}"


def box(found: Box, show: Display) -> str:
    """What [estimate] says of a kind of part."""
    about, within = show.as_given(found.about_g), show.as_given(found.within_g)
    scatter = f", scatter {show.as_given(found.scatter_g)}" if found.scatter_g else ""
    return f"[estimate] says about {about}, within {within}{scatter}"


def replaced(found: Replaced, show: Display, names: Names) -> str:
    """A part of which the bench reads something else than the job file has."""
    apart_g = abs(found.bench_g - found.file_g)
    finer = show.finer_than_none(apart_g)
    file, bench, apart = (show.masses(grams, finer) for grams in (found.file_g, found.bench_g, apart_g))
    return (
        f"{names.said(found.kind, found.cylinder)}: the job file has {file}, the bench {bench}, {apart} apart; "
        "the bench's counts"
    )


def look_again(result: Result, show: Display) -> list[str]:
    """What keeps the trim from being planned, a sentence a reading, each with the way out; empty where nothing
    does."""
    job = result.job
    said = [
        f"{slip_alone(found, show, job.names, job.name)} {_capital(way_out(job, found))}"
        for found in result.doubts
    ]
    if result.once_more or result.unsure:
        said.append(_capital(second_weighing(result)))
    return [*said, entering(job)] if said and job.sheet else said


def nothing_to_trim(result: Result) -> str:
    """Why no plan was made; what is too close to call is not inside, and what settles it comes first."""
    close = [s for s in result.spreads if s.limit_g is not None and s.verdict == "too close to call"]
    if not close:
        return f"Nothing to trim: {ALL_INSIDE}."
    names = ", ".join(label(s.quantity) for s in close)
    way = sentence(settling(result.job, result.to_settle)) if result.to_settle else NO_WEIGHING_SETTLES
    return f"Nothing to trim yet: too close to call: {names}. {way}"


def unsure(result: Result) -> list[str]:
    """What keeps verdicts from being called, and what would settle them; nothing where nothing does."""
    said = []
    if ways := {way for one in result.spreads for way in result.certainty.assumed_for(one.apart)}:
        said.append(scatter_assumed(ways))
    if result.to_settle:
        said.append(sentence(settling(result.job, result.to_settle)))
    return said


def scatter_assumed(ways: Set[Way]) -> str:
    """That how far loads scatter is only assumed, of these ways of weighing."""
    return ASSUMED.format(ways=" and ".join(WAY_WORDS[way] for way in WAYS if way in ways))


def unsure_planes(result: Result) -> str:
    """What would settle the planes that are too close to call; empty where nothing would."""
    places = result.to_settle_planes
    return sentence(settling(result.job, places)) if places else ""


def slip_alone(found: Slip, show: Display, names: Names, job: str) -> str:
    """A suspicion as it stands alone: one that ends by asking has its mark already."""
    asks = found.check == "hang" or (found.check in ("outlier", "two heaps") and bool(found.suspicion))
    return f"{slip(found, show, names, job)}{'' if asks else '.'}"


def to_look_at(result: Result) -> str:
    """Whose readings look like slips; empty for nobody's."""
    job = result.job
    of_no_cut = [job.names.said(grind.part, grind.cylinder) for grind in result.of_no_cut]
    return "; ".join(dict.fromkeys([*named(job, result.slips), *of_no_cut]))


def slips_beside(result: Result) -> str:
    """What is said beside a figure that rests on readings that look like slips; empty where none does."""
    job, who = result.job, to_look_at(result)
    if not who:
        return ""
    if result.bobweights.rule == "none":
        return (
            f"What the parts leave rests on what looks like a slip ({who}); look again: truethrow check {job.name}"
        )
    return (
        f"Do not hang it yet: this figure rests on what looks like a slip ({who}); look again: "
        f"truethrow check {job.name}"
    )


def why_outside(result: Result) -> str:
    """What of a result is outside, or is to be looked at again first."""
    outside = [label(spread.quantity) for spread in result.spreads if spread.verdict == "outside"]
    planes = (("front plane", result.left.front), ("rear plane", result.left.rear)) if result.left else ()
    outside += [name for name, plane in planes if plane.verdict == "outside"]
    job = result.job
    again = [*named(job, result.slips), *(job.names.said(one.part, one.cylinder) for one in result.of_no_cut)]
    return "; ".join(
        [
            *([f"outside: {', '.join(outside)}"] if outside else []),
            *([f"to look at again: {', '.join(dict.fromkeys(again))}"] if again else []),
        ]
    )


def cut(part: PartTrim, show: Display, names: Names) -> str:
    """``rod 3: take 2.1 g at the small-end pad, then 0.4 g at the big-end pad; expect 452.0 / 170.8 g``"""
    steps = ", then ".join(f"{show.in_both(c.grams)}{_at(c.pad)}" for c in part.cuts)
    expected = " / ".join(show.mass(grams) for grams in part.expected_g.values())
    return f"{names.said(part.part, part.cylinder)}: take {steps}; expect {expected} {show.mass_unit}"


def shortfall(found: Shortfall, show: Display, names: Names) -> str:
    spread = found.spread
    light, heavy = (member(spread, name, names) for name in (spread.lightest, spread.heaviest))
    reason, remedy = (
        ("has no more to give", "allow more at a pad")
        if found.spent
        else ("is held by the other limits", "ease another limit")
    )
    return (
        f"{label(spread.quantity)}: the trim reaches a spread of {show.masses(spread.spread_g, 1)}, not "
        f"{show.allowed(found.limit_g)}; {light} is too light for the set and {heavy} "
        f"{reason}: swap one of them before anything is ground, {remedy}, or set the limit to "
        f"{show.masses(found.enough_g, 1)}"
    )


def member(spread: Spread, name: str, names: Names) -> str:
    """One of those that a spread is of: a part by its name, else its cylinder or its throw."""
    part = _part_of(spread, name, names)
    return part.said if part else f"{spread.member_kind} {name}"


def member_in_short(spread: Spread, name: str, names: Names) -> str:
    """The same for a table."""
    part = _part_of(spread, name, names)
    return part.short if part else name


def _part_of(spread: Spread, name: str, names: Names) -> Part | None:
    """The part that a member of a spread is; None for a sum of several, and for a throw."""
    kind = "rod" if spread.quantity == "both_ends" else spread.quantity
    is_part = spread.member_kind == "cylinder" and (kind in BY_NAME or kind == "rod")
    return names.part(kind, int(name)) if is_part else None


def swap(found: Swap, show: Display, names: Names) -> str:
    wanted = " / ".join(show.mass(grams) for grams in found.wanted_g.values())
    grams = f"{show.masses(found.grams)} instead of {show.masses(found.grams_now)}"
    gain = f"takes about {grams}"
    if found.excess_saved_g > 0:
        gain = f"comes {show.masses(found.excess_saved_g)} nearer to the limits, and takes about {grams}"
    who = names.said(found.part, found.cylinder)
    return f"{who} holds the set back: with one of {wanted} {show.mass_unit} in its place the trim {gain}"


def learned(responses: Iterable[PadResponse]) -> list[str]:
    """How the cuts allow for what each pad gave, a sentence a pad."""
    said = []
    for pad in responses:
        if pad.ratio is not None and pad.is_off:
            more = "more" if pad.ratio < 1 else "less"
            name = pad_name(pad.kind)
            said.append(f"{name}s gave {pad.ratio:.2f} of what was asked: the cuts below ask for {more}")
    return said


def learned_for(plan: TrimPlan, ground: Ground | None) -> list[str]:
    """The same of the pads that a plan takes metal from."""
    used = {cut.pad.kind for part in plan.parts for cut in part.cuts}
    return learned(pad for kind, pad in ground.responses.items() if kind in used) if ground else []


def doubted(grind: Grind, show: Display, names: Names) -> str:
    asked = show.masses(math.fsum(grind.asked_g.values()))
    ends = ""
    if len(grind.falls_g) > 1:
        read, wanted = grind.after, grind.expected_g
        told = (f"{label(kind)} {show.mass(read[kind].mean_g)} where {show.mass(wanted[kind])}" for kind in wanted)
        ends = f" ({', '.join(told)} was to be left)"
    who = names.said(grind.part, grind.cylinder)
    return (
        f"{who}: {show.masses(grind.lost_g)} came off where {asked} were asked for{ends}; "
        "nothing is learned from that: was it ground, and is it the same part?"
    )


def weigh_again(grind: Grind, names: Names, job: str) -> str:
    """What to do before anything is planned. job: as commands are told it."""
    kinds = ", ".join(f"go {names.typed(kind, grind.cylinder)}" for kind in grind.after)
    who = names.said(grind.part, grind.cylinder)
    return (
        f"Weigh {who} again first (truethrow weigh {job}; there type {kinds}), and cancel what was "
        "wrong: nothing is planned after a reading that cannot come from the cut"
    )


def of_no_cut(job: Job, show: Display) -> list[str]:
    """The readings that cannot come from the cut before them, each with what to do."""
    again = job.ground.again if job.ground else ()
    return [f"{doubted(grind, show, job.names)} {weigh_again(grind, job.names, job.name)}." for grind in again]


def pad_name(kind: str) -> str:
    """``big-end pad``"""
    return f"{kind.replace('_', '-')} pad"


def assumed_pads(names: tuple[str, ...]) -> str:
    return (
        f"The job does not say what may come off at: {', '.join(names)}. Cautious limits are assumed (common "
        "practice, no source); ask the maker before grinding."
    )


def _at(pad: Pad) -> str:
    return "" if pad.at_mm is None else f" at the {pad_name(pad.kind)}"
