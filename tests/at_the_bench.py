"""A person at the bench, inside the command: a scale on a simulated line, ten lines a second by its own clock, and
hands that put parts on it, press keys and read the screen."""

from __future__ import annotations

import contextlib
import io
import json

from within import benchscreen, benchtext, log_path, main, serialport, weigh_command

EMPTY = [0.0] * 6
OUT = "cable out"
BACK = "cable in"


class Line:
    """A scale on a cable, ten lines a second by a clock of its own, in place of the port."""

    def __init__(self, profile):
        self.profile = profile
        self.items = []
        self.now_s = 100.0

    def __enter__(self):
        return self

    def __exit__(self, *_):
        pass

    def first_try(self):
        return ""

    def get(self, wait_s=0.0):
        if not self.items:
            return None
        self.now_s, item = self.items.pop(0)
        return self.now_s, item

    def send(self, *shown):
        at_s = self.now_s
        for one in shown:
            at_s += 0.1
            if one == OUT:
                item = serialport.Trouble("cable", "no scale: the cable is out")
            elif one == BACK:
                at_s += 1.0
                item = serialport.Trouble("cable", "the scale is back")
            else:
                item = one if isinstance(one, str) else f"{one:.1f} g"
            self.items.append((at_s, item))


class Person:
    """Puts parts on the scale and reads the screen; the session runs inside the command."""

    def __init__(self, loop, line):
        loop._now = lambda: line.now_s
        self.loop, self.line, self.keys = loop, line, benchscreen._Keys(loop, lambda: line.now_s)

    def sees(self, *shown):
        self.line.send(*shown)
        self.loop.poll()
        return self

    def presses(self, key):
        """A key, and nothing after it for a moment."""
        self.keys.press(key)
        self.line.now_s += benchscreen.ALONE_S + 1e-9
        self.keys.tick()

    def types(self, line):
        """A line typed quickly, and Enter; whether it was taken."""
        for key in line:
            self.keys.press(key)
        return self.keys.enter()

    def waits(self, seconds):
        self.line.now_s += seconds
        self.loop.poll()

    @property
    def screen(self):
        return " ".join(text.strip() for _, text in benchtext.screen(self.loop, self.keys.shown, 100, 40))

    @property
    def lines(self):
        """The screen as it is at 80 by 24."""
        return [text for _, text in benchtext.screen(self.loop, self.keys.shown, 80, 24)]

    @property
    def at_hand(self):
        return self.loop.session.step


def on(grams, lines=9):
    return [grams] * lines


class Terminal(io.StringIO):
    def isatty(self):
        return True


def bench_of(monkeypatch, capsys, blank=None):
    """truethrow weigh JOB --port …, with a person doing what a test says: the records of the log, and what was
    printed in the end. words: further words of the command; zero: the scale is at zero before the person acts."""

    def ran(act, path=None, *words, zero=True, **tables):
        path = path or blank(**tables)
        line = []

        def port(profile):
            line.append(Line(profile))
            return line[0]

        def guided(loop):
            person = Person(loop, line[0])
            if zero:
                person.sees(*EMPTY, *EMPTY)
                assert person.at_hand is None or person.at_hand.kind != "zero"
            act(person)

        monkeypatch.setattr(serialport, "Port", port)
        monkeypatch.setattr(weigh_command, "_guided", guided)
        monkeypatch.setattr("sys.stdin", Terminal())
        monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
        monkeypatch.setattr("sys.argv", ["truethrow", "weigh", str(path), "--port", "/dev/scale", *words])
        monkeypatch.setattr(main, "_start_fast", lambda: None)
        monkeypatch.setattr(weigh_command, "lives_on", lambda: None)
        with contextlib.suppress(SystemExit):
            main.main()
        records = []
        if log_path(path).exists():
            _, *lines = log_path(path).read_text(encoding="utf-8").splitlines()
            records = [json.loads(text) for text in lines]
        return records, capsys.readouterr().out

    return ran
