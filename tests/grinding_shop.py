"""A simulated shop that trims to a plan, weighs again, and keeps its log; one piston, and one rod, by hand."""

from __future__ import annotations

import random
from collections import defaultdict

import invented

from truethrow.balance.base.beside import log_path
from truethrow.balance.job.job import load
from truethrow.balance.job.levers import lever
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Weighed
from truethrow.balance.result import plans
from truethrow.balance.result.work import work
from truethrow.balance.weighing import benchjob
from truethrow.balance.weighing.session import Session

ROD = invented.V8["rod_length"]


PADS = {
    "piston": 12.0,
    "pin": 0.0,
    "big_end_pad": {"at": -48.0, "most": 16.0},
    "small_end_pad": {"at": 182.0, "most": 16.0},
}


LIMITS = {"piston": 1.0, "big_end": 1.0, "small_end": 1.0, "reciprocating": 2.0, "bobweight": 2.0}


SCATTER_G = {
    "piston": 1.5,
    "pin": 0.4,
    "locks": 0.05,
    "rings": 0.3,
    "big_end": 1.8,
    "small_end": 1.0,
    "bearings": 0.1,
}


class Shop:
    """A simulated shop: eight cylinders whose true masses only it knows, a scale of 0.1 g, and pads that give
    more or less than asked, at a place of their own. It weighs everything twice, so that none of its parts is
    taken for a slip."""

    def __init__(self, seed, gives=1.0, off_mm=0.0, pads=PADS):
        chance = random.Random(seed)
        self.gives = gives if callable(gives) else lambda kind: gives
        self.at_mm = {kind: pads[f"{kind}_pad"]["at"] + off_mm for kind in ("big_end", "small_end")}
        self.pads = pads
        self.true = {
            n: {kind: grams + chance.gauss(0, SCATTER_G[kind]) for kind, grams in invented.PARTS.items()}
            for n in range(1, 9)
        }
        self.taken = defaultdict(float)

    def reads(self, cylinder, kind):
        return round(self.true[cylinder][kind], 1)

    def document(self):
        parts = [{"number": n} | {kind: [self.reads(n, kind)] * 2 for kind in invented.PARTS} for n in self.true]
        return invented.document(parts, limits=LIMITS, trim=self.pads)

    def grind(self, cylinder, kind, asked_g):
        grams = asked_g * self.gives(kind)
        self.taken[cylinder, kind] += grams
        if kind in self.at_mm:
            big, small = lever(self.at_mm[kind], ROD)
            self.true[cylinder]["big_end"] -= big * grams
            self.true[cylinder]["small_end"] -= small * grams
        else:
            self.true[cylinder][kind] -= grams


class Bench:
    """A shop's job file and log: what is ground goes into the log, and so does what is weighed again."""

    def __init__(self, shop, folder):
        self.shop, self.path = shop, folder / "job.toml"
        self.path.write_text(invented.text(shop.document()), encoding="utf-8")

    def job(self):
        return load(self.path)

    def grind(self, *named, weigh=True):
        cuts = plans.record(self.path, named).cuts
        for cut in cuts:
            self.shop.grind(cut.cylinder, cut.pad, cut.grams)
        if weigh:
            self.weigh()
        return cuts

    def weigh(self):
        """What the bench asks for after a cut, in its order."""
        session = Session(benchjob.load(self.path), ReadingLog(log_path(self.path)))
        taken = []
        while (step := session.step) is not None:
            session.take(str(self.shop.reads(step.cylinder, step.kind)))
            session.again()
            session.take(str(self.shop.reads(step.cylinder, step.kind)))
            taken.append((step.cylinder, step.kind))
        return taken

    def rounds(self, most=8):
        for done in range(most):
            plan = work(self.job()).trim
            if plan is None:
                return done
            assert plan.parts, plan.shortfalls
            self.grind()
        return most


def one_piston(tmp_path, **tables):
    """Pistons of 538.4 g but the third, which was weighed twice, of 541.0: its plan is to take 1.8 g."""
    path = tmp_path / "job.toml"
    data = invented.document(
        invented.cylinders(piston={3: [541.0, 541.0]}), limits={"piston": 1.0}, trim=PADS | tables
    )
    path.write_text(invented.text(data), encoding="utf-8")
    return path, ReadingLog(log_path(path))


def weighed(log, grams, cylinder=3, kind="piston"):
    return log.append(Weighed(cylinder, kind, grams, str(grams)))
