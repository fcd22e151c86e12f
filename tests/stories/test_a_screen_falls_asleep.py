"""A phone that sleeps, or a tab behind another, keeps its line open: parts that are put on meanwhile are not
taken, since nobody sees which one was asked for; once it is woken, the bench goes on with the next load."""

from __future__ import annotations

import contextlib
import os
import signal
import time

import pytest
from floor_bench import until
from floor_shop import Client
from floor_tablet import KINDS, Hand, Server, Tablet, browser, free_port, masses_g
from within import demo

from truethrow.balance.log.place import open_log
from truethrow.balance.log.records import Weighed
from truethrow.cli.floor.bench import ASLEEP_S
from truethrow.worksheets.words import server_words as words


@contextlib.contextmanager
def stopped(page):
    """A device that sleeps: nothing of its pages runs, while its browser keeps their lines."""
    told = page.context.browser.new_browser_cdp_session().send("SystemInfo.getProcessInfo")
    pids = [one["id"] for one in told["processInfo"] if one["type"] == "renderer"]
    for pid in pids:
        os.kill(pid, signal.SIGSTOP)
    try:
        yield
    finally:
        for pid in pids:
            os.kill(pid, signal.SIGCONT)


@contextlib.contextmanager
def behind(page):
    """Another tab lies over it: its script runs on, and its line is heard."""

    def is_now(what):
        page.evaluate(
            """what => {
            Object.defineProperty(document, "visibilityState", { get: () => what, configurable: true });
            document.dispatchEvent(new Event("visibilitychange"));
        }""",
            what,
        )

    is_now("hidden")
    yield
    is_now("visible")


def readings(job):
    return [(one.cylinder, one.kind) for one in open_log(job).records if isinstance(one, Weighed)]


def hold(port):
    """What the bench tells a screen that has just come."""
    with Client(port).stream("/bench/launch/events") as heard:
        return heard.next("state")[2]["hold"]


def puts_on(hand, grams, for_s):
    hand.lies_g = grams
    time.sleep(for_s)
    hand.lies_g = 0.0
    time.sleep(1.0)


@pytest.mark.parametrize("sleeps", [stopped, behind])
def test_nothing_is_taken_while_the_screen_that_takes_sleeps_and_it_goes_on_once_it_is_woken(tmp_path, sleeps):
    job, _ = demo.copy_into(tmp_path / "floor")
    masses, hand = masses_g(), Hand()
    port = free_port()
    server = Server(tmp_path / "floor", port, "--scale", hand.port, "--by", "AB")

    def weigh(tablet):
        step = tablet.asks()
        word, *_, number = step.split()
        hand.lies_g = masses[KINDS[word], int(number)]
        tablet.until(lambda: tablet.asks() != step)
        hand.lies_g = 0.0
        tablet.until(lambda: tablet.says("standing") == "empty" and tablet.text("hold") == "")

    try:
        with browser() as opened:
            tablet = Tablet(opened.new_page(), f"{server.address}/bench/launch")
            tablet.until(lambda: tablet.says("scale") == "live" and tablet.text("hold") == "")
            tablet.until(lambda: tablet.asks() != "zero")
            for _ in range(2):
                weigh(tablet)
            before = readings(job)
            assert len(before) == 2
            with sleeps(tablet.page):
                until(lambda: hold(port) == words.ASLEEP)
                for number in (3, 4):
                    puts_on(hand, masses["piston", number], ASLEEP_S)
                assert readings(job) == before
                assert hold(port) == words.ASLEEP
                hand.lies_g = masses["piston", 3]
                time.sleep(1.0)
            tablet.until(lambda: tablet.says("line") == "up" and tablet.says("standing") == "early")
            time.sleep(ASLEEP_S)
            assert readings(job) == before
            hand.lies_g = 0.0
            tablet.until(lambda: tablet.says("standing") == "empty" and tablet.text("hold") == "")
            for _ in range(2):
                weigh(tablet)
    finally:
        server.kill()
        hand.close()
    assert readings(job) == [(number, "piston") for number in (1, 2, 3, 4)]
