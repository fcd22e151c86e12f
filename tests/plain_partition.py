"""Whether any arrangement is within given spreads, done by hand: throw after throw is filled with whatever parts
are left, part by part, and given up as soon as a spread is wider than it may be. And every way to fill one throw,
in the same manner. No programme, no prices, no heights."""

import itertools
from typing import NamedTuple


class Filled(NamedTuple):
    """One throw: by unit the part in each of its cylinders, and what every member of each quantity weighs."""

    parts: tuple[tuple[int, ...], ...]
    members: dict[str, tuple[int, ...]]


class PlainPartition:
    def __init__(self, question, most):
        self.question, self.most, self._means = question, most, {}

    def mass(self, cylinder, parts):
        units = self.question.units
        up_and_down = int(self.question.cylinder_reciprocating[cylinder])
        round_and_round = int(self.question.cylinder_rotating[cylinder])
        for unit, part in zip(units, parts, strict=True):
            up_and_down += int(unit.reciprocating[part])
            round_and_round += int(unit.rotating[part])
        return up_and_down, round_and_round

    def may_sit(self, cylinder, parts):
        units, pairs = self.question.units, self.question.pairs
        return all(unit.allowed[part, cylinder] for unit, part in zip(units, parts, strict=True)) and all(
            fits[parts[one], parts[other]] for (one, other), fits in pairs.items()
        )

    def fillings(self, throw, left=None):
        """Every way to fill a throw out of the parts that are left of each unit."""
        question = self.question
        on = question.on_throw[throw]
        units = range(len(question.units))
        left = left or [set(range(question.cylinders)) for _ in units]
        for parts in itertools.product(*(itertools.permutations(sorted(own), len(on)) for own in left)):
            each = [tuple(own[at] for own in parts) for at in range(len(on))]
            if all(self.may_sit(c, own) for c, own in zip(on, each, strict=True)):
                yield Filled(parts, self.members(throw, on, each))

    def members(self, throw, on, each):
        masses = [self.mass(c, own) for c, own in zip(on, each, strict=True)]
        numerator, denominator = self.question.share
        carries = sum(down + up * numerator // denominator for up, down in masses)
        whole = {
            "reciprocating": tuple(up for up, _ in masses),
            "rotating": tuple(down for _, down in masses),
            "bobweight": (carries + int(self.question.oil[throw]),),
        }
        return {name: whole[name] for name in self.most}

    def exists(self):
        return self._filled(0, [set(range(self.question.cylinders)) for _ in self.question.units], [])

    def _filled(self, throw, left, so_far):
        if throw == self.question.throws:
            return True
        for one in self.fillings(throw, left):
            both = [*so_far, one]
            # Somebody is at the mean or beyond it on the other side, so nobody is farther off than the spread.
            if any(
                abs(mass - self.mean(name)) > self.most[name] for name, own in one.members.items() for mass in own
            ):
                continue
            if all(self.spread(both, name) <= most for name, most in self.most.items()):
                rest = [own - set(parts) for own, parts in zip(left, one.parts, strict=True)]
                if self._filled(throw + 1, rest, both):
                    return True
        return False

    def mean(self, name):
        """Of all members; who sits where does not change it."""
        if name not in self._means:
            masses = []
            for throw, on in enumerate(self.question.on_throw):
                masses += self.members(throw, on, [(c,) * len(self.question.units) for c in on])[name]
            self._means[name] = sum(masses) / len(masses)
        return self._means[name]

    @staticmethod
    def spread(throws, name):
        masses = [mass for one in throws for mass in one.members[name]]
        return max(masses) - min(masses)
