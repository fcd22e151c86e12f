"""Candidates side by side, in sentences."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from truethrow.balance.base.amounts import Amount
from truethrow.balance.base.parts import label
from truethrow.balance.base.readings import digits_for
from truethrow.balance.planning.candidates import Candidates
from truethrow.balance.planning.comparing import Candidate, Ranked, Work
from truethrow.balance.planning.prices import to_whole
from truethrow.balance.result.unbalance import allowed_gmm
from truethrow.worksheets.shown.display import Display

TITLE = "Sets of parts and cranks, side by side"
# What a comparison is sorted by, as a sentence has it.
SORTED = {
    "bobweight": "the lightest bobweight first",
    "reciprocating": "the lightest reciprocating mass first",
    "pull": "the least pull at top speed first",
    "bolt": "the least load per rod bolt first",
    "speed": "the slowest piston first",
    "force": "the least shaking force first",
    "couple": "the least shaking couple first",
    "metal": "the least metal to take first",
    "slugs": "the fewest slugs first",
    "holes": "the fewest holes first",
    "price": "the lowest price first",
}
IN_BRACKETS = "In brackets: from the lightest to the heaviest that the parts may be."
APART = {
    "bobweight": "bobweights",
    "reciprocating": "reciprocating masses",
    "pull": "pulls",
    "bolt": "loads per bolt",
    "force": "shaking forces",
    "couple": "shaking couples",
    "metal": "metal to take",
    "slugs": "slugs",
    "holes": "holes",
    "price": "prices",
}
CANDIDATES_CAUTION = (
    "Pulls and loads are inertia only, at the speed that the file names: which parts hold at which speed is their "
    "makers' word, and it comes first."
)
# A kind that brings less of a doubt than this is none to name.
WORTH_NAMING = 0.05
# Below this a shaking is none. [N, N·m]
NOTHING = 1e-6


def estimated(found: Sequence[Candidate]) -> str:
    """That what is told rests on estimates, and on which; nothing where all was weighed."""
    by_set: dict[str, str] = {}
    for one in found:
        if kinds := one.result.job.estimated:
            by_set[one.parts.name] = ", ".join(map(label, kinds))
    if not by_set:
        return ""
    alike = set(by_set.values())
    if len(alike) == 1 and len(by_set) == len({one.parts.name for one in found}):
        told = f"in every set: {alike.pop()}"
    else:
        told = "; ".join(f"{name}: {kinds}" for name, kinds in by_set.items())
    return f"ESTIMATE: not weighed yet, {told}. Nothing is hung, cut or signed by these figures."


def number(at: int, order: Sequence[Ranked]) -> str:
    """Its place in the order, with = where it ties with the one above."""
    return f"{at + 1}{'=' if at and order[at].is_known and order[at].rank == order[at - 1].rank else ''}"


def name(one: Candidate) -> str:
    return f"{one.parts.name} on {one.crank.name}"


def figure(value: float, expanded: float) -> Amount:
    """No more digits than are known; whole ones where no ± is."""
    return Amount(value, digits_for(expanded))


def in_range(values: Sequence[float], places: int = 0) -> str:
    """A figure in the middle of its range: 2 (1-4), the range left out where it is the figure."""
    middle, least, most = (Amount(value, places).digits for value in (values[1], min(values), max(values)))
    return middle if least == most else f"{middle} ({least}-{most})"


def work(one: Candidate, of: Callable[[Work], float]) -> str:
    """Of what a crank takes, over the parts' range."""
    if one.expected is None:
        return ""
    if not one.expected.middle.is_enough:
        return "can't"
    return in_range([of(each) for each in one.expected])


def price(one: Candidate) -> str:
    """Whole units of a currency are more than an estimate knows."""
    if one.cost is None:
        return ""
    least = in_range([float(to_whole(total)) for total in one.cost.totals])
    return f"{least}+" if one.cost.unpriced else least


def doubt(at: int, by: str, order: Sequence[Ranked], show: Display) -> str:
    """That a candidate could come before another, and which part's doubt would do it."""
    found, before = order[at].doubt, order[at].before
    assert found and before is not None
    most = [f"{label(kind)} {part:.0%}" for kind, part in found.kinds[:2] if part >= WORTH_NAMING]
    because = f"; most of the doubt is from {', '.join(most)}" if most else ""
    one, other = (f"{place + 1} ({name(order[place].candidate)})" for place in (at, before))
    said = f"{one} could come before {other}: "
    if found.uncertainty is None:
        return f"{said}their {APART[by]} overlap over the range of the parts{because}."
    (apart, unit), (sure, _) = _in_unit(by, found.apart, show), _in_unit(by, found.uncertainty, show)
    places = digits_for(sure)
    return (
        f"{said}their {APART[by]} are {Amount(apart, places).digits} {unit} apart, "
        f"± {Amount(sure, places).digits}{because}."
    )


def _in_unit(by: str, value: float, show: Display) -> tuple[float, str]:
    if by in ("bobweight", "reciprocating"):
        return show.weighed(value).number, show.mass_unit
    if by == "couple":
        return value * show.per_newton_metre, show.couple_unit
    return value * show.per_newton, show.force_unit


def doubts(order: Sequence[Ranked], by: str, show: Display) -> list[str]:
    """Everything that could change the order, or that nothing could: of what ties and has the same parts, once."""
    unknown = [str(at + 1) for at, one in enumerate(order) if not one.is_known]
    if len(unknown) == len(order):
        return []
    last = (
        [f"Last, because what they are sorted by is not known of them: {', '.join(unknown)}."] if unknown else []
    )
    return [*_doubts(order, by, show), *last]


def _doubts(order: Sequence[Ranked], by: str, show: Display) -> list[str]:
    if by == "speed" or len(order) == 1:
        return []
    found = {
        (one.rank, one.candidate.parts.name): doubt(at, by, order, show)
        for at, one in reversed(list(enumerate(order)))
        if one.doubt and one.doubt.could_change
    }
    return list(reversed(found.values())) or ["What the masses may be off does not change this order."]


def not_told(file: Candidates, found: Sequence[Candidate], has_tools: bool) -> list[str]:
    """Which figures are missing, and what would tell them."""
    said = []
    job = found[0].result.job
    if found[0].running is None:
        said.append("pulls, loads and shaking: [engine] needs stroke, rod_length and top_speed")
    elif found[0].shaking is None:
        said.append("shaking: [engine] needs cylinder_spacing")
    needs = []
    if not has_tools:
        needs.append("--station, or [[drill]] and [[slug]] in the file")
    if None in allowed_gmm(job):
        needs.append("a limit in [station], or a grade with the crank's mass")
    if job.engine.declared_stroke_mm is None or job.station.planes_mm is None:
        needs.append("stroke and cylinder_spacing in [engine]")
    bare = list(dict.fromkeys(one.crank.name for one in found if one.crank.crank is None))
    if needs and bare:
        needs.append(f"[[crank.counterweight]] of {', '.join(bare)}")
    if needs:
        said.append(f"metal, slugs and holes, which need {'; '.join(needs)}")
    else:
        said += [f"metal, slugs and holes on {each}: it has no [[crank.counterweight]]" for each in bare]
    if file.prices and (file.prices.slug or file.prices.hole) and any(one.expected is None for one in found):
        said.append("price of slugs and holes: they are not known")
    return said


def cannot(order: Sequence[Ranked]) -> list[str]:
    """Which of them the shop's tools do not bring inside, anywhere in the parts' range."""
    said = []
    for at, one in enumerate(order):
        expected = one.candidate.expected
        if expected is not None and not expected.is_enough:
            when = " at an end of the parts' range" if expected.middle.is_enough else ""
            said.append(f"OUTSIDE: {at + 1} ({name(one.candidate)}) does not come inside{when} with these tools.")
    return said


def unpriced(order: Sequence[Ranked]) -> list[str]:
    """What a price leaves out."""
    found: dict[str, list[str]] = {}
    for at, one in enumerate(order):
        if one.candidate.cost and one.candidate.cost.unpriced:
            told = ", ".join(map(label, one.candidate.cost.unpriced))
            found.setdefault(told, []).append(str(at + 1))
    return [f"A price with + leaves out: {told}, in {', '.join(numbers)}." for told, numbers in found.items()]


def first(order: Sequence[Ranked]) -> str:
    """Which comes first, with those that tie with it."""
    if not order[0].is_known:
        return "None comes first: what they were to be sorted by is not known of any."
    tied = [name(one.candidate) for one in order if one.rank == 1]
    return f"First: {tied[0]}." if len(tied) == 1 else f"First, and equal: {'; '.join(tied)}."


def one_for_all(found: Sequence[Candidate]) -> list[str]:
    """Of which kinds one weighed part stands for all."""
    said: list[str] = []
    for name, kinds in {one.parts.name: one.parts.one_for_all for one in found}.items():
        alone = [kind for kind, scatter_g in kinds.items() if scatter_g is None]
        with_scatter = ", ".join(label(kind) for kind in kinds if kind not in alone)
        if with_scatter:
            said.append(
                f"{name}: of the {with_scatter} one was weighed, and the others are told by it and their scatter."
            )
        if alone:
            which = ", ".join(map(label, alone))
            said.append(
                f"{name}: of the {which} one was weighed, and counts for all cylinders; what the others weigh is "
                f"not in the ±. Where their scatter is known: {alone[0]} = {{ weighed = …, scatter = … }}."
            )
    return said
