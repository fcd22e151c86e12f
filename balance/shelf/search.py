"""The search over a shelf: which part goes into which engine, and beside which others.

Many chains at once, each a whole division of the shelf. A sweep pairs the engines of every chain at random and
weighs all n × n swaps of one kind of part between the two of a pair; one of them, or none, is taken with the
odds exp(gain/temperature) of a heat bath, and the temperature falls. As it falls, the better chains are carried on
more than once in place of the worse, with the odds of the same heat bath (population annealing, Hukushima and Iba
2003): the chains share what one of them found.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from truethrow.balance.base.arrays import Bools, Floats, Ints, Singles
from truethrow.balance.shelf.problem import Division, Problem, moves_of, total
from truethrow.balance.shelf.sharpen import sharpened

ABSENT_STEPS = -1e5  # a part that is not there: no engine with it is ever the better one
# How often each kind is tried. Whole cylinders move seldom: their parts find each other by the single swaps.
ODDS = {"piston": 4.0, "pin": 3.0, "rings": 3.0, "rod": 2.0}
ODDS_TOGETHER = 2.0
WITHIN = 25  # every so many sweeps, the swaps inside the engines
LOOK = 20  # sweeps from one look at clock and best to the next
NOISE = 1 << 20
CELLS = 12_000  # swaps weighed in a sweep: so many that numpy's own calls cost no more than half
MOST_CHAINS = 64
SCATTER_STEPS = 15.0  # the scatter that the temperatures were found for
SEED = 1  # any other would do, as in `start`
FIRST_ROUND_S = 1.5
LONGER = 4  # times as long is each round as the one before
# The first round goes from a little warmth, which leaves the sorted big ends as they are, from hot, which parts
# them where two heaps ask for it, and from hottest, where long tails do; each after it from the one that came
# furthest. They are parts of what few engines need. All end colder, the more engines there are.
HEATS = (0.25, 1.0, 4.0)


def search(problem: Problem, start: Division, seconds: float, done: Callable[[Division, int], bool]) -> None:
    """Anneal from a start, and again from the best, each time for longer: so there is something to show early.
    done hears from time to time of a division with its exact cost, and ends the search by saying so; without it
    the work is counted in sweeps and not by the clock, so that the same shelf gives the same answer."""
    best, least = start, total(problem, start)
    heats: tuple[float, ...] = HEATS
    seed = SEED
    for length_s in _rounds(seconds):
        came_to = []
        for heat in heats:
            reached = least_here = None
            for ids, value in _annealed(problem, best, length_s / len(heats), heat, seed):
                if least_here is None or value < least_here:
                    reached, least_here = ids, value
                if done(ids, value):
                    return
            seed += 1
            assert reached is not None and least_here is not None  # there is one look at the least
            came_to.append((least_here, heat, reached))
        heats = (min(came_to, key=lambda one: one[:2])[1],)
        for value, _, ids in came_to:
            if value < least:
                best, least = ids, value


def _annealed(
    problem: Problem, start: Division, seconds: float, heat: float, seed: int
) -> Iterator[tuple[Division, int]]:
    """Some of the divisions on the way from a heat to cold with their cost, and the last, sharpened."""
    hot, cold = _heat(problem, heat)
    sweeps = _sweeps_in(problem, seconds)
    chains = _Chains(problem, start, seed)
    last, best, least = hot, start, total(problem, start)
    for sweep in range(sweeps):
        temperature = hot * (cold / hot) ** (sweep / sweeps)
        chains.sweep(temperature, within=problem.rows == 1 or sweep % WITHIN == 0)
        if sweep % LOOK < LOOK - 1:
            continue
        ids = chains.best()
        value = total(problem, ids)
        if value < least:
            best, least = ids, value
        yield ids, value
        chains.choose(1 / temperature - 1 / last)
        last = temperature
    for ids in (best, chains.best()):
        sharper = sharpened(problem, ids)
        yield sharper, total(problem, sharper)


def _rounds(seconds: float) -> Iterator[float]:
    """How long each round is: the first as given, then several times as long each time; the last takes all that is
    left."""
    length = FIRST_ROUND_S
    while seconds > 0:
        length = length if seconds > LONGER * length else seconds
        yield length
        seconds -= length
        length *= LONGER


def _sweeps_in(problem: Problem, seconds: float) -> int:
    """The sweeps that a common machine makes in so many seconds, with a third to spare."""
    cells = _chains_for(problem) * (problem.rows // 2) * problem.cylinders**2
    return LOOK * max(1, int(seconds / (1.4e-4 + 1.7e-8 * cells) / LOOK))


def _heat(problem: Problem, part: float) -> tuple[float, float]:
    """First and last temperature, in steps of the scale: the fewer engines, the more time to cool from higher. A
    gain comes in steps times cylinders, or, on a fine scale, in what the parts scatter."""
    masses = [problem.big, *problem.reciprocating.values()]
    scatter = max(float(np.std(mass[:-1])) / problem.step for mass in masses if len(mass) > 1)
    unit = max(1.0, scatter / SCATTER_STEPS)
    gain = problem.cylinders / 8
    hot, cold = unit * max(1.0, gain) * (0.5 + 25 / problem.rows), unit * gain * (0.06 + 2 / problem.rows)
    return max(part * hot, cold), cold


def _chains_for(problem: Problem) -> int:
    return int(min(MOST_CHAINS, max(1, CELLS // max(1, (problem.rows // 2) * problem.cylinders**2))))


class _Chains:
    """The chains' divisions, row under row: rows 0 … rows − 1 are the first chain's. Masses in steps of the
    scale, counted from the kind's median: 32 bits hold whole and half steps exactly, and what is shown is worked
    out anew in whole nanograms."""

    def __init__(self, problem: Problem, start: Division, seed: int) -> None:
        self.problem, self.random = problem, np.random.default_rng(seed)
        self.chains, self.cylinders = _chains_for(problem), problem.cylinders
        self.ids = {kind: np.tile(at, (self.chains, 1)) for kind, at in start.items()}
        self.first = np.arange(self.chains)[:, None] * problem.rows
        self.counts = np.tile((np.arange(problem.rows) < problem.engines).astype(np.float32), self.chains)
        self.all_count = problem.rows == problem.engines
        self.mass: dict[str, Singles] = {
            kind: self._steps(problem.reciprocating[kind])[at] for kind, at in self.ids.items()
        }
        self.reciprocating: Singles = np.sum(list(self.mass.values()), axis=0)
        self.big = self._steps(problem.big)[self.ids["rod"]] if "rod" in self.ids else None
        self.bank_there = problem.cylinder_banks * (self.counts[:, None] > 0)
        self.banked = bool(problem.cylinder_banks.any())
        self.tied = {kind: partner >= 0 for kind, partner in problem.partner.items() if (partner >= 0).any()}
        if self.tied:
            self.tied["piston"] = np.zeros(len(problem.parts["piston"]) + 1, dtype=bool)
            for kind in self.tied.keys() & problem.partner.keys():
                self.tied["piston"][problem.partner[kind][self.tied[kind]]] = True
        self.moves = moves_of(problem, together=bool(self.tied))
        odds = np.array([ODDS[move[0]] if len(move) == 1 else ODDS_TOGETHER for move in self.moves])
        self.odds = odds / odds.sum()
        uniform = self.random.random(NOISE, dtype=np.float32)
        self.noise = -np.log(-np.log(uniform * np.float32(0.999999) + np.float32(5e-7)))
        self.one, self.other = np.triu_indices(self.cylinders, 1)
        pairs = np.arange(len(self.one))
        self.sign = np.zeros((len(self.one), self.cylinders), dtype=np.float32)
        self.sign[pairs, self.one], self.sign[pairs, self.other] = 1, -1

    def _steps(self, nanograms: Ints) -> Singles:
        steps = (nanograms - np.median(nanograms[:-1])) / self.problem.step
        steps[-1] = ABSENT_STEPS
        return steps.astype(np.float32)

    def values(self) -> Floats:
        """What every chain's division costs as it stands now, in steps."""
        value = self.reciprocating.sum(1) - self.cylinders * self.reciprocating.min(1)
        if self.big is not None:
            value = value + self.big.sum(1) - self.cylinders * self.big.min(1)
        total: Floats = np.where(self.counts > 0, value, 0).reshape(self.chains, -1).sum(1, dtype=np.float64)
        return total

    def best(self) -> Division:
        """The best chain's division as it stands now."""
        at = int(self.values().argmin()) * self.problem.rows
        return {kind: ids[at : at + self.problem.rows].copy() for kind, ids in self.ids.items()}

    def choose(self, colder: float) -> None:
        """As many chains again, each as often as it would be found more often once it is so much colder, a
        difference of inverse temperatures: the odds of one draw at random are dealt out evenly."""
        values = self.values()
        odds = np.cumsum(np.exp(-colder * (values - values.min())))
        draws = (np.arange(self.chains) + self.random.random()) / self.chains
        chosen = np.minimum(np.searchsorted(odds / odds[-1], draws), self.chains - 1)
        rows = (chosen[:, None] * self.problem.rows + np.arange(self.problem.rows)).ravel()
        self.ids = {kind: at[rows] for kind, at in self.ids.items()}
        self.mass = {kind: mass[rows] for kind, mass in self.mass.items()}
        self.reciprocating = self.reciprocating[rows]
        if self.big is not None:
            self.big = self.big[rows]

    def sweep(self, temperature: float, within: bool) -> None:
        move = self.moves[self.random.choice(len(self.moves), p=self.odds)]
        if within:
            self._within(move, temperature)
        if self.problem.rows > 1:
            self._between(move, temperature)

    def _between(self, move: tuple[str, ...], temperature: float) -> None:
        """Swap between the two engines of each pair, or leave them alone."""
        here, there = self._pairs("rod" in move)
        count = self.cylinders
        step = self._moved(move, there)[:, None, :] - self._moved(move, here)[:, :, None]
        gain = self._gain(self.reciprocating, here, there, step)
        if "rod" in move and self.big is not None:
            step = self.big[there][:, None, :] - self.big[here][:, :, None]
            gain += self._gain(self.big, here, there, step)
        pair = here[:, None, None], there[:, None, None]
        self._forbid(gain, move, pair, np.arange(count)[:, None], np.arange(count)[None, :])
        one, other, taken = self._draw(gain.reshape(len(here), count * count), temperature, count)
        self._swap(move, (here[taken], one[taken]), (there[taken], other[taken]))

    def _within(self, move: tuple[str, ...], temperature: float) -> None:
        """Swap two cylinders of each engine, or leave it alone."""
        rows = np.flatnonzero(self.counts)
        moved = self._moved(move, rows)
        step = moved[:, self.other] - moved[:, self.one]
        before = self.reciprocating[rows]
        gain = (before[:, None, :] + step[:, :, None] * self.sign).min(2) - before.min(1)[:, None]
        gain *= np.float32(self.cylinders)
        self._forbid(gain, move, (rows[:, None], rows[:, None]), self.one[None, :], self.other[None, :])
        pair, _, taken = self._draw(gain, temperature, 1)
        self._swap(move, (rows[taken], self.one[pair[taken]]), (rows[taken], self.other[pair[taken]]))

    def _pairs(self, rods: bool) -> tuple[Ints, Ints]:
        """Every chain's rows two by two at random; for rods more often those whose big ends are alike."""
        rows = self.problem.rows
        key = self.random.random((self.chains, rows), dtype=np.float32)
        if rods and self.big is not None:
            apart = np.float32(1 + rows / 2 * self.random.random() ** 3)
            level = self.big.min(1).reshape(self.chains, rows)
            key = np.argsort(np.argsort(level, axis=1), axis=1) + apart * key
        order = np.argsort(key, axis=1)
        odd = int(self.random.integers(2)) if rows % 2 else 0
        last = odd + 2 * (rows // 2)
        return (self.first + order[:, odd:last:2]).ravel(), (self.first + order[:, odd + 1 : last : 2]).ravel()

    def _moved(self, move: tuple[str, ...], rows: Ints) -> Singles:
        """What a swap would carry along from each cylinder of these rows."""
        if len(move) == len(self.ids):
            return self.reciprocating[rows]
        moved = self.mass[move[0]][rows]
        for kind in move[1:]:
            moved = moved + self.mass[kind][rows]
        return moved

    def _forbid(
        self, gain: Singles, move: tuple[str, ...], rows: tuple[Ints, Ints], one: Ints, other: Ints
    ) -> None:
        """No swap puts a part on a bank that is not its own, or parts it from its piston."""
        here, there = rows
        for kind in move if self.banked else ():
            bank = self.problem.banks[kind]
            for own, side in (
                (bank[self.ids[kind][here, one]], self.bank_there[there, other]),
                (bank[self.ids[kind][there, other]], self.bank_there[here, one]),
            ):
                gain[(own > 0) & (side > 0) & (own != side)] = -np.inf
        if self.tied and len(move) == 1 and move[0] in self.tied:
            tied = self.tied[move[0]]
            ids = self.ids[move[0]]
            gain[tied[ids[here, one]] | tied[ids[there, other]]] = -np.inf

    def _draw(self, gain: Singles, temperature: float, others: int) -> tuple[Ints, Ints, Bools]:
        """One swap a row with the odds of a heat bath (the largest of gain/T plus Gumbel noise), and whether it is
        rather taken than none. others: how many there are to each that may be swapped, one after the other in a
        row of gains."""
        gain *= np.float32(1 / temperature)
        needed = gain.size + len(gain)
        at = int(self.random.integers(max(1, NOISE - needed)))
        noise = np.resize(self.noise, needed) if needed > NOISE else self.noise[at : at + needed]
        gain += noise[: gain.size].reshape(gain.shape)
        best = gain.argmax(1)
        return best // others, best % others, gain[np.arange(len(gain)), best] > noise[gain.size :]

    def _swap(self, move: tuple[str, ...], here: tuple[Ints, Ints], there: tuple[Ints, Ints]) -> None:
        """Swap between places, each a row and a cylinder in it."""
        arrays = [table[kind] for kind in move for table in (self.ids, self.mass)]
        if "rod" in move and self.big is not None:
            arrays.append(self.big)
        for array in arrays:
            array[here], array[there] = array[there], array[here]
        for place in (here, there):
            self.reciprocating[place] = sum(mass[place] for mass in self.mass.values())

    def _gain(self, mass: Singles, here: Ints, there: Ints, step: Singles) -> Singles:
        """What each swap of a part of a row here with one of its row there saves, when it makes here's heavier by
        step and there's as much lighter: what the lightest of both gain, times the cylinders, less what a row
        that counts takes in from one that does not."""
        count = self.cylinders
        own, others = mass[here], mass[there]
        lightest_here, but_here = _lightest_but(own)
        lightest_there, but_there = _lightest_but(others)
        saved_here = np.minimum(but_here[:, :, None], own[:, :, None] + step) - lightest_here[:, None, None]
        saved_there = np.minimum(but_there[:, None, :], others[:, None, :] - step) - lightest_there[:, None, None]
        if self.all_count:
            saved: Singles = (saved_here + saved_there) * np.float32(count)
            return saved
        weight_here, weight_there = self.counts[here][:, None, None], self.counts[there][:, None, None]
        both: Singles = weight_here * (count * saved_here - step) + weight_there * (count * saved_there + step)
        return both


def _lightest_but(mass: Singles) -> tuple[Singles, Singles]:
    """The lightest of each row, and for each place the lightest of the others."""
    if mass.shape[1] == 1:
        return mass[:, 0], np.full_like(mass, np.inf)
    low = np.partition(mass, 1, axis=1)
    return low[:, 0], np.where(mass == low[:, :1], low[:, 1:2], low[:, :1])
