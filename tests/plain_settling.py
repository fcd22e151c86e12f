"""From the ideal split to holes as the text at the top of `settle` tells it, done slowly: every hole by itself,
every pair of holes one after the other, what stays in each plane summed up from the holes. No arrays, no pools;
the walls are those of `Site`, which have their own tests."""

import itertools
from typing import NamedTuple

from truethrow.balance.correction import changed_by
from truethrow.balance.correction.room import Site
from truethrow.balance.crank.holes import Hole

# What of the program's constants is said in words there, said again.
WORTH_OF_WHAT_IS_LEFT_G, IS_NOTHING, NEAREST, TRIED, ROUNDS, LOOKS = 1.4, 1e-3, 150, 200, 8, 1400
AROUND, CLOSE = 12, 2.0
OUTSIDE = 1e6


class Option(NamedTuple):
    """A hole where one may be drilled."""

    site: Site
    angle: int
    depth: int
    hole: Hole

    @property
    def takes(self):
        return -self.hole.change_gmm


class PlainSettling:
    def __init__(self, drills, target, allowed, planes, aim, looks=LOOKS):
        self.target, self.allowed, self.planes, self.aim = target, allowed, planes, aim
        self.looks, self.most_looks = 0, looks
        self.options = [
            Option(site, a, d, site.hole(a, d))
            for site in drills
            for a in range(site.free.shape[0])
            for d in range(site.free.shape[1])
            if site.free[a, d]
        ]
        self.gives = {one.hole: changed_by([one.hole], planes) for one in self.options}

    def left(self, chosen):
        """What stays in both planes, over what is allowed."""
        changes = [self.gives[one.hole] for one in chosen]
        return [
            (self.target[plane] + sum(change[plane] for change in changes)) / self.allowed[plane]
            for plane in (0, 1)
        ]

    def worst(self, chosen):
        return max(map(abs, self.left(chosen)))

    def rank(self, chosen):
        """The least is best: inside the aim by metal, and a little for what is left; all others after them."""
        worst, metal = self.worst(chosen), sum(max(0.0, one.hole.mass_g) for one in chosen)
        return metal + WORTH_OF_WHAT_IS_LEFT_G * worst / self.aim if worst <= self.aim else OUTSIDE + worst

    def room(self, member, others):
        """The member's options that keep their wall to the others."""
        there = [other.hole for other in others if other.hole.member == member]
        if (member, *there) not in self._room:
            clear = {}
            found = []
            for one in self.options:
                if one.hole.member == member:
                    if id(one.site) not in clear:
                        clear[id(one.site)] = one.site.clear_of(there)
                    if clear[id(one.site)][one.angle, one.depth]:
                        found.append(one)
            self._room[member, *there] = found
        return self._room[member, *there]

    @property
    def _room(self):
        return self.__dict__.setdefault("_known", {})

    def started(self, split):
        chosen = []
        for wanted in split.wanted:
            each = wanted.vector_gmm / wanted.holes
            each *= min(1.0, max(wanted.stretch.most_gmm) / max(abs(each), 1e-9))
            for _ in range(wanted.holes):
                if room := self.room(wanted.stretch.member, chosen):
                    chosen.append(min(room, key=lambda one: abs(one.takes - each)))
        return chosen

    def settled(self, split):
        chosen = self.improved(self.started(split))
        if self.aim < self.worst(chosen) < CLOSE * self.aim and len(chosen) in (3, 4):
            wider = self.wider(chosen)
            chosen = self.improved(wider) if wider is not chosen else chosen
        return chosen

    def improved(self, chosen):
        for _ in range(ROUNDS):
            before = chosen
            for at in range(len(chosen) - 1, -1, -1):
                without = [one for n, one in enumerate(chosen) if n != at]
                if self.worst(without) <= self.aim:
                    chosen = without
            for at in range(len(chosen)):
                others = [one for n, one in enumerate(chosen) if n != at]
                tries = [
                    [*chosen[:at], one, *chosen[at + 1 :]] for one in self.room(chosen[at].hole.member, others)
                ]
                if tries:
                    chosen = self.better(chosen, min(tries, key=self.rank))
            for one, other in itertools.combinations(range(len(chosen)), 2):
                if self.looks < self.most_looks:
                    chosen = self.better(chosen, self.pair(chosen, one, other))
            if chosen is before:
                return chosen
        return chosen

    def better(self, chosen, instead):
        if instead is None:
            return chosen
        return instead if self.rank(instead) < self.rank(chosen) - IS_NOTHING else chosen

    def nearest(self, one, others, many):
        room = self.room(one.hole.member, others)
        return sorted(room, key=lambda other: abs(other.takes - one.takes))[:many] if len(room) > many else room

    def pair(self, chosen, first, second):
        """The best two holes in the place of two, beside the rest."""
        self.looks += 1
        one, other = chosen[first], chosen[second]
        rest = [hole for n, hole in enumerate(chosen) if n not in (first, second)]
        pairs = []
        for own in self.nearest(one, rest, NEAREST):
            for their in self.nearest(other, rest, NEAREST):
                made = list(chosen)
                made[first], made[second] = own, their
                pairs.append((self.rank(made), made))
        pairs.sort(key=lambda pair: pair[0])
        if one.hole.member != other.hole.member:
            return pairs[0][1]
        for _, made in pairs[:TRIED]:
            if made[first].site.clear_of([made[second].hole])[made[first].angle, made[first].depth]:
                return made
        return None

    def wider(self, chosen):
        best = chosen
        for at, one in enumerate(chosen):
            others = [n for n in range(len(chosen)) if n != at]
            for near in self.nearest(one, [chosen[n] for n in others], AROUND):
                moved = [*chosen[:at], near, *chosen[at + 1 :]]
                for pair in itertools.combinations(others, 2):
                    if self.looks < self.most_looks:
                        best = self.better(best, self.pair(moved, *pair))
                if self.worst(best) <= self.aim:
                    return best
        return best

    def with_more(self, chosen, most):
        """A hole more where it leaves least, then all of them moved, as long as that is worth a hole."""
        chosen = list(chosen)
        while self.worst(chosen) > self.aim and len(chosen) < most:
            members = dict.fromkeys(one.hole.member for one in self.options)
            tries = [one for member in members for one in self.room(member, chosen)]
            if not tries:
                break
            more = min(tries, key=lambda one: self.squares([*chosen, one]))
            deeper = self.improved(self.descended([*chosen, more]))
            if self.worst(deeper) > self.worst(chosen) - 0.05:
                break
            chosen = deeper
        return chosen

    def squares(self, chosen):
        return sum(abs(left) ** 2 for left in self.left(chosen))

    def descended(self, chosen):
        for _ in range(ROUNDS):
            before = self.squares(chosen)
            for at in range(len(chosen)):
                others = [one for n, one in enumerate(chosen) if n != at]
                tries = [
                    [*chosen[:at], one, *chosen[at + 1 :]] for one in self.room(chosen[at].hole.member, others)
                ]
                if tries:
                    chosen = min(tries, key=self.squares)
            if self.squares(chosen) > before - IS_NOTHING**2:
                break
        return chosen
