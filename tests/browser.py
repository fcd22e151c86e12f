"""A headless Chromium, where there is one: pages to PDF, to PNG, to what became of their elements.

Most of what it costs is its start: all tests of a process share one, which is told over a pipe what to do (the
protocol of its developer tools), and each page is opened in a context of its own, as in a new profile."""

from __future__ import annotations

import atexit
import base64
import contextlib
import functools
import itertools
import json
import os
import select
import shutil
import tempfile
from pathlib import Path

import pytest

REQUIRED = "required"
LONGEST_WAIT_S = 300.0


def chromium() -> str:
    """Its path. Skips the test where there is none, unless TRUETHROW_TEST_CHROMIUM is "required"."""
    for name in ("chromium", "chromium-browser", "google-chrome"):
        found = shutil.which(name)
        if found:
            return found
    if os.environ.get("TRUETHROW_TEST_CHROMIUM") == REQUIRED:
        pytest.fail("no Chromium found, and TRUETHROW_TEST_CHROMIUM says that one is required")
    pytest.skip("no Chromium found (chromium, chromium-browser, google-chrome)")


class Browser:
    """One that runs, without a network, until it is closed."""

    def __init__(self, path: str) -> None:
        self._profile = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
        asked, self._asking = os.pipe()
        self._answers, answering = os.pipe()
        command = [
            path,
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--in-process-gpu",
            "--disable-quic",
            "--disable-dev-shm-usage",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            f"--user-data-dir={self._profile.name}",
            "--remote-debugging-pipe",
        ]
        # It is asked on its file 3, and answers on its file 4.
        files = [(os.POSIX_SPAWN_OPEN, file, os.devnull, os.O_RDWR, 0) for file in range(3)]
        files += [(os.POSIX_SPAWN_DUP2, asked, 3), (os.POSIX_SPAWN_DUP2, answering, 4)]
        self._pid = os.posix_spawn(path, command, os.environ, file_actions=files)
        os.close(asked)
        os.close(answering)
        self._numbers, self._read = itertools.count(1), b""

    def ask(self, method: str, session: str | None = None, **parameters):
        """What it answers. session: of the page that is asked, if one is."""
        number = next(self._numbers)
        asked = {"id": number, "method": method, "params": parameters}
        if session:
            asked["sessionId"] = session
        self._write(json.dumps(asked).encode() + b"\0")
        while (said := self.said()).get("id") != number:
            pass
        assert "error" not in said, (method, said)
        return said["result"]

    def said(self):
        """The next that it says: an answer, or what has happened."""
        while b"\0" not in self._read:
            assert select.select([self._answers], [], [], LONGEST_WAIT_S)[0], "Chromium says nothing"
            more = os.read(self._answers, 1 << 20)
            assert more, "Chromium has ended"
            self._read += more
        said, _, self._read = self._read.partition(b"\0")
        return json.loads(said)

    def _write(self, asked: bytes) -> None:
        while asked:
            asked = asked[os.write(self._asking, asked) :]

    @contextlib.contextmanager
    def opened(self, page: Path, wide: int = 800, high: int = 600):
        """A way to ask a page that is loaded, in a window so wide and high [px]."""
        context = self.ask("Target.createBrowserContext")["browserContextId"]
        target = self.ask("Target.createTarget", url="about:blank", browserContextId=context)["targetId"]
        session = self.ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        size = {"width": wide, "height": high, "deviceScaleFactor": 1, "mobile": False}
        self.ask("Emulation.setDeviceMetricsOverride", session, **size)
        self.ask("Page.enable", session)
        navigated = self.ask("Page.navigate", session, url=page.as_uri())
        assert "errorText" not in navigated, navigated
        while (said := self.said()).get("method") != "Page.loadEventFired" or said["sessionId"] != session:
            pass
        yield functools.partial(self.ask, session=session)
        self.ask("Target.disposeBrowserContext", browserContextId=context)

    def close(self) -> None:
        """It ends when nobody is left who could ask it anything."""
        os.close(self._asking)
        os.close(self._answers)
        os.waitpid(self._pid, 0)
        self._profile.cleanup()


@functools.cache
def _started() -> Browser:
    browser = Browser(chromium())
    atexit.register(browser.close)
    return browser


def to_pdf(page: Path) -> tuple[bytes, str]:
    """The page as it is printed, and its elements as they became."""
    with _started().opened(page) as ask:
        became = ask("Runtime.evaluate", expression="document.documentElement.outerHTML")["result"]["value"]
        printed = ask("Page.printToPDF", preferCSSPageSize=True, printBackground=True)
    return base64.b64decode(printed["data"]), became


def to_png(page: Path, wide: int, high: int) -> bytes:
    with _started().opened(page, wide, high) as ask:
        return base64.b64decode(ask("Page.captureScreenshot", format="png")["data"])


def told(page: Path, wide: int, high: int, expression: str):
    """What an expression is on the page, in a window so wide and high."""
    with _started().opened(page, wide, high) as ask:
        return ask("Runtime.evaluate", expression=expression, returnByValue=True)["result"]["value"]


def types_of(page: Path) -> set[tuple[str, bool]]:
    """The type that each text of a page is shown in, and whether the page brought it along."""
    with _started().opened(page) as ask:
        ask("Runtime.evaluate", expression="document.fonts.ready", awaitPromise=True)
        for domain in ("DOM", "CSS"):
            ask(f"{domain}.enable")
        root = ask("DOM.getDocument", depth=-1)["root"]["nodeId"]
        nodes = ask("DOM.querySelectorAll", nodeId=root, selector="bdi, text")["nodeIds"]
        used = [font for node in nodes for font in ask("CSS.getPlatformFontsForNode", nodeId=node)["fonts"]]
    return {(font["familyName"], font["isCustomFont"]) for font in used}
