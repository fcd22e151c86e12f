"""A tablet at a bench of the floor, in a real browser, and a hand that puts parts on a simulated scale, waits for
what the screen says, and lifts them off again."""

from __future__ import annotations

import contextlib
import socket
import subprocess
import threading
import time

from commands import PROGRAM, environment
from simulated_scale import SimulatedScale
from windows import driven

from truethrow.balance import demo

SIZE = (820, 1180)
LONGEST_WAIT_S = 120.0
LINE_S = 0.05
# Of a part as the bench calls it, by the first word.
KINDS = {"piston": "piston", "pin": "pin", "big": "big_end", "small": "small_end"}


def free_port():
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


def masses_g():
    """What the demo's parts weigh, by kind and cylinder: what its sheet has first."""
    head, *rows = (line.split(";") for line in demo.text("launch-weigh.csv").splitlines())
    columns = {"piston": head.index("piston [g]"), "pin": head.index("pin [g]")}
    columns |= {"big_end": head.index("big end [g]"), "small_end": head.index("small end [g]")}
    return {
        (kind, int(row[0])): float(row[at].replace(",", "."))
        for row in rows
        if row[0].isdecimal()
        for kind, at in columns.items()
    }


class Hand:
    """What lies on the scale, sent twenty times a second until it is closed. lies_g: in grams."""

    def __init__(self):
        self._scale = SimulatedScale([])
        self.port = self._scale.port
        self.lies_g = 0.0
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._send, daemon=True)
        self._thread.start()

    def _send(self):
        while not self._stop.wait(LINE_S):
            with contextlib.suppress(OSError):
                self._scale.write(f"{self.lies_g:.1f} g\r\n".encode())

    def pull_out(self):
        self._scale.pull_out()

    def plug_in(self):
        self._scale.plug_in()

    def close(self):
        self._stop.set()
        self._thread.join()
        self._scale.__exit__()


class Server:
    """The floor as a process of its own, which can be killed and started again at the same port."""

    def __init__(self, folder, port, *words):
        self._command = [*PROGRAM, "floor", str(folder), "--port", str(port), *map(str, words)]
        self.address = f"http://127.0.0.1:{port}"
        self._process = None
        self.start()

    def start(self):
        self._process = subprocess.Popen(self._command, stdout=subprocess.PIPE, text=True, env=environment())
        assert self.address in self._process.stdout.readline()

    def kill(self):
        self._process.kill()
        self._process.wait()
        self._process.stdout.close()


class Tablet:
    """A page of a bench."""

    def __init__(self, page, address):
        self.page = page
        page.goto(address)

    def text(self, of):
        return self.page.text_content(f"[data-text='{of}']").strip()

    def says(self, what):
        """What the page says of the line, the scale or what lies on that."""
        return self.page.get_attribute("body", f"data-{what}")

    def asks(self):
        """The part that is asked for, once the line is there."""
        self.until(lambda: self.says("line") == "up")
        return self.text("step")

    def until(self, is_so):
        end_s = time.monotonic() + LONGEST_WAIT_S
        while not is_so():
            assert time.monotonic() < end_s, self.page.text_content("main")
            time.sleep(0.02)

    def types(self, number):
        self.page.click("button[data-action='type']")
        for key in number:
            self.page.click(f"[data-key='{key}']")
        self.page.click("[data-key='take']")


@contextlib.contextmanager
def browser():
    """A Chromium that playwright drives. Skips the test where there is none."""
    with driven() as found:
        yield found.new_context(viewport={"width": SIZE[0], "height": SIZE[1]}, has_touch=True)
