"""The station's page without a browser: what a screen shows, what it sends, and the yes to what is read back."""

from __future__ import annotations

import html
import json
import re
import uuid

from truethrow.balance.log.place import open_log
from truethrow.cli.floor.bench import Who
from truethrow.cli.floor.posts import Post
from truethrow.cli.floor.station import Station

AB = Who("tablet-1", "tablet AB", "station", "AB")
CD = Who("tablet-2", "tablet CD", "station", "CD")


def text_of(page):
    """What a reader finds on a page."""
    without = re.sub(r"<svg.*?</svg>", " ", page, flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", without)).split())


class Screen:
    """A screen at a job's station. It keeps what it saw until it looks again."""

    def __init__(self, job, who=AB):
        self.job, self.who = job, who
        self.desk = Station("my", lambda: job)
        self.look()

    def look(self):
        self.shown = self.desk.shown()
        self.state = self.desk.made
        return self.state

    @property
    def text(self):
        return text_of(self.look() and self.shown.hands)

    def post(self, action, key=None, **fields):
        key = key or str(uuid.uuid4())
        return Post(key, action, json.dumps(fields), saw=self.state.head, step=self.state.stamp)

    def sends(self, action, key=None, **fields):
        """What comes back before a yes."""
        return self.desk.do(self.post(action, key, **fields), self.who)

    def yes(self, done, key=None):
        assert done.question is not None, done.said
        return self.desk.do(Post(key or str(uuid.uuid4()), "yes", of=done.question.of), self.who)

    def does(self, action, key=None, **fields):
        """The whole of it: sent, read back, yes; and the screen looks again."""
        done = self.yes(self.sends(action, key, **fields))
        self.look()
        return done

    def spins(self, *readings, **more):
        return self.does("spin", **of_spin(self.state, *readings), **more)

    def proves(self, read_front, read_rear, **more):
        """With the masses on that are asked for."""
        return self.does("prove", **of_masses(self.state, read_front, read_rear), **more)

    def builds(self):
        for one in self.state.throws:
            self.does("built", throw=one.name, mass=one.asked.split()[0])

    def drills(self, **more):
        hole = self.state.hole
        return self.does("hole", number=hole.number, plan=self.state.plan, **more)


def of_spin(state, *readings):
    """Readings such as 6.1@203, front before rear, as the pad sends them."""
    figures = [figure for one in readings for figure in one.split("@")]
    runs = [figures[at : at + 4] for at in range(0, len(figures), 4)]
    return {"runs": runs, "unit": state.unit}


def of_masses(state, read_front, read_rear):
    on = {one.plane: {"grams": one.grams, "at": one.at_deg} for one in state.masses}
    beside = {"mass_unit": state.mass_unit, "radius": state.masses[0].radius}
    return {**of_spin(state, read_front, read_rear), **on, **beside}


def actions(job):
    return [one.action for one in open_log(job).records]


def mirrored(reading):
    """A display of the other sense."""
    amount, angle = reading.split("@")
    return f"{amount}@{-float(angle) % 360:g}"


def in_ounces(reading):
    """A display in ounces."""
    amount, angle = reading.split("@")
    return f"{float(amount) / 28.349523125:.3f}@{angle}"
