"""What arrangements cost at least whose windows lie in a box, done one arrangement at a time: the job is
rearranged, its members are read off as it stands then, and for each throw scipy is asked how little metal brings
all of them into their windows. No tables, no prices, no subsets; what a gram at a pad does to a member is the
trim's, which has its own tests."""

import itertools
import math

import numpy as np
from scipy.optimize import linprog

from truethrow.balance.matching.match import moves_of, rearranged
from truethrow.balance.result.least_metal import can_give_g, cylinders_of, window_of

# A gram that stays over a limit counts as so many of metal; every other limit than that on bobweights is left out
# but for the two that are furthest over.
OVER_G, FURTHEST = 1000.0, 2
ROUNDING_G = 1e-6


class PlainHeights:
    def __init__(self, result, question, held, close):
        self.job, self.question = result.job, question
        over = sorted(held, key=lambda one: one.spread.spread_g - one.inside_g, reverse=True)
        cylinders = [one for one in over if one.spread.quantity != "bobweight"][:FURTHEST]
        self.limits = cylinders + [one for one in over if one.spread.quantity == "bobweight"]
        self.close = close
        # What no reading shows, the oil in a throw: it stays where it is.
        self.unread_g = {
            (one.spread.quantity, member.name): member.unread_g
            for one in self.limits
            for member in window_of(self.job, one.spread).members
        }
        self._known = {}

    def windows(self, box):
        """Of each limit its window after the cuts, and of one that is left too close to call that before them. A
        box has their lowest members one after the other, then how wide those may be that are left so."""
        box = list(box)
        lowest = box[: len(self.limits) + sum(one.spread.quantity in self.close for one in self.limits)]
        widths = box[len(lowest) :]
        found = []
        for one in self.limits:
            low, high = lowest.pop(0)
            if one.spread.quantity not in self.close:
                found.append(((low, high + one.inside_g), None))
                continue
            wide = widths.pop(0)[1]
            first, last = lowest.pop(0)
            found.append(((low, high + wide), (first, last + wide)))
        return found

    def cost(self, arrangement, box):
        """By throw."""
        moved = rearranged(self.job, moves_of(self.job, self.question, arrangement))
        windows = self.windows(box)
        members = [window_of(moved, one.spread).members for one in self.limits]
        count = [len(own) for own in members]
        now = [
            [self._mass_g(moved, one.spread, member) for member in own]
            for one, own in zip(self.limits, members, strict=True)
        ]
        return [
            self._throw(throw, moved, windows, members, count, now) for throw in range(len(self.question.on_throw))
        ]

    def _mass_g(self, moved, spread, member):
        """What it weighs as the parts lie now."""
        return self.unread_g[spread.quantity, member.name] + math.fsum(
            weight * moved.parts[cylinder][kind].mean_g for (cylinder, kind), weight in member.weights.items()
        )

    def _throw(self, throw, moved, windows, members, count, now):
        numbers = list(moved.parts)
        on = [numbers[c] for c in self.question.on_throw[throw]]
        pads = [(c, pad) for c in on for pad in range(len(moved.pads)) if can_give_g(moved, c, pad) > 0]
        cost, rows, than = [1.0] * len(pads), [], []
        for one, (after, before), own, many, masses in zip(self.limits, windows, members, count, now, strict=True):
            for member, mass in zip(own, masses, strict=True):
                if not set(cylinders_of(moved, one.spread, member.name)) <= set(on):
                    continue
                if before is not None and not before[0] - ROUNDING_G <= mass <= before[1] + ROUNDING_G:
                    return math.inf
                # mass − what the cuts lower it by − over ≤ top, and mass − … + under ≥ bottom.
                lowers = [member.effects.get(place, 0.0) for place in pads]
                stays = [0.0] * (len(cost) - len(pads))
                cost += [OVER_G / many] * 2
                rows += [[-one for one in lowers] + stays + [-1.0, 0.0], lowers + stays + [0.0, -1.0]]
                than += [after[1] - mass, mass - after[0]]
        if not rows:
            return 0.0
        key = (throw, tuple(np.round(than, 9)))
        if key not in self._known:
            whole = [row + [0.0] * (len(cost) - len(row)) for row in rows]
            self._known[key] = linprog(cost, A_ub=whole, b_ub=than, method="highs").fun
        return self._known[key]

    def every(self):
        """Every arrangement that the rules allow."""
        orders = [list(itertools.permutations(range(self.question.cylinders)))] * len(self.question.units)
        for both in itertools.product(*orders):
            arrangement = np.array(both)
            if self.question.allows(arrangement):
                yield arrangement
