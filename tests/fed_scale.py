"""A bench whose scale says what a test feeds it."""

from __future__ import annotations

from truethrow.balance.base.beside import log_path
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Traded
from truethrow.balance.weighing.benchjob import load
from truethrow.balance.weighing.scaleline import ScaleProfile
from truethrow.balance.weighing.session import Session
from truethrow.cli.weighing import benchtext
from truethrow.cli.weighing.benchloop import BenchLoop


def loop_on(path, port=None, profile=None, **clock):
    session = Session(load(path), ReadingLog(log_path(path), "bench-1"))
    return BenchLoop(session, profile or ScaleProfile(), port, **clock)


class FedPort:
    """A port whose lines a test gives it, ten a second, with the bench's clock, which is that of the lines."""

    def __init__(self, lines):
        self.at_s = 0.0
        self.lines = []
        self.send(lines)

    def send(self, lines, after_s=0.1):
        start_s = self.at_s + after_s
        self.lines += [(start_s + i * 0.1, line) for i, line in enumerate(lines)]

    def now(self):
        return self.at_s

    def get(self, wait_s=0.0):
        if not self.lines:
            return None
        self.at_s = self.lines[0][0]
        return self.lines.pop(0)


def fed(path, lines, auto=True, path_name=""):
    if path_name:
        other = path.with_name(path_name)
        other.write_text(path.read_text(encoding="utf-8"), encoding="utf-8")
        path = other
    port = FedPort(lines)
    loop = loop_on(path, port, ScaleProfile(auto=auto), now=port.now)
    loop.poll()
    return loop


EMPTY, ON = ["0.0 g"] * 6, lambda grams: [f"{grams} g"] * 9
GOOD = [*EMPTY, *ON(538.4), *EMPTY, *ON(538.6), *EMPTY, *ON(538.2), *EMPTY]


def more(loop, lines, after_s=0.1):
    """Further lines of the scale, so much later."""
    loop.port.send(lines, after_s)
    loop.poll()


def masses(loop, kind="piston"):
    return {s.cylinder: s.mean_g for s in loop.session.now.sisters(kind)}


def shown_by(loop):
    return "\n".join(text for _, text in benchtext.screen(loop, benchtext.Typing(), 80, 24))


def seat_elsewhere(path):
    ReadingLog(log_path(path)).append(Traded({"piston": {2: 5, 5: 2}}, "p"))
