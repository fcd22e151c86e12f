"""The full screen of the bench, by prompt_toolkit: light to start, at home over ssh, and it puts the terminal
back however it is left. All that is shown is made in benchtext; all that is done, in benchloop."""

from __future__ import annotations

import asyncio
import contextlib
import itertools
import math
import os
import signal
import sys
import time
from typing import TYPE_CHECKING

from truethrow.balance.weighing.session import LONGEST_TYPED
from truethrow.cli.weighing.benchloop import named
from truethrow.cli.weighing.benchtext import Typing
from truethrow.worksheets.words import bench_words as words
from truethrow.worksheets.words.bench_words import REASONS

if TYPE_CHECKING:
    from collections.abc import Callable

    from prompt_toolkit.application import Application
    from prompt_toolkit.formatted_text import OneStyleAndTextTuple, StyleAndTextTuples
    from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent

    from truethrow.balance.log.records import Weighed
    from truethrow.cli.weighing.benchloop import BenchLoop

POLL_S = 0.05
DRAW_S = 0.2
BETWEEN_BELLS_S = 0.25
# Bytes that it takes to move to where a line differs, and to change how it looks.
WAY = 8
# A hand leaves more time between two keys, a scale that types less.
ALONE_S = 0.1
COMMANDS = "rxsbgq?"
GO = "which part, such as 3 pin"


class _Keys:
    """What has been typed so far, and what it answers: a reading, the reason of a strike, or a place to go to.
    What is struck out is what stood there when x was pressed, whatever is weighed meanwhile.

    A letter alone is a command. A scale that types may begin its line with one (ST,+00613.4 g), so a letter is
    carried out only when nothing has followed it for a moment (tick)."""

    def __init__(self, loop: BenchLoop, now: Callable[[], float] = time.monotonic) -> None:
        self.loop = loop
        self.typed = ""
        self.asking = ""
        self.helping = False
        self._now = now
        self._letter, self._letter_s = "", 0.0
        self._struck: Weighed | None = None

    @property
    def shown(self) -> Typing:
        reasons = REASONS if self._struck is not None else {}
        return Typing(self.typed + self._letter, self.asking, reasons, self.helping)

    def press(self, key: str) -> None:
        """One printable key."""
        if self._letter:
            self._type(self._letter + key)
            self._letter = ""
        elif self._struck is not None and not self.typed and key in REASONS:
            self._type(REASONS[key])
            self.enter()
        elif self.asking or self.typed or key.lower() not in COMMANDS:
            self._type(self.typed + key)
        else:
            self._letter, self._letter_s = key.lower(), self._now()

    def tick(self) -> bool:
        """Carry out a letter that stayed alone; whether to leave."""
        return bool(self._letter) and self._now() - self._letter_s >= ALONE_S and self._carry_out()

    def _carry_out(self) -> bool:
        letter, self._letter = self._letter, ""
        self.helping = letter == "?" and not self.helping
        match letter:
            case "r":
                self.loop.again()
            case "x":
                self._ask_why()
            case "s":
                self.loop.skip()
            case "b":
                self.loop.back()
            case "g":
                self._ask(GO)
        return letter == "q"

    def enter(self) -> bool:
        """Enter; whether what was typed was taken. A line that was refused is gone: what follows is a line of its
        own."""
        if self._letter:
            self._type(self._letter)
            self._letter = ""
        typed, asking, struck = self.typed.strip(), self.asking, self._struck
        self._clear()
        if asking == GO:
            return self.loop.go(typed)
        if struck is not None:
            return self.loop.strike(struck, typed)
        return self.loop.enter(typed)

    def paste(self, text: str) -> None:
        """Pasted lines, each as if it were typed and entered, but for the last, which may go on."""
        *lines, last = text.replace("\r", "\n").split("\n")
        for line in lines:
            if line.strip():
                self._type(self.typed + "".join(filter(str.isprintable, line)))
                if not self.enter():  # what follows would land on the wrong part
                    return
        self._type(self.typed + "".join(filter(str.isprintable, last)))

    def rub(self) -> None:
        self._letter = ""
        self._type(self.typed[:-1])

    def leave(self) -> None:
        """Esc: nothing is typed and nothing asked any more."""
        self._clear()
        self.loop.drop_typed()

    def _clear(self) -> None:
        self._letter, self._struck, self.helping = "", None, False
        self._type("")
        self._ask("")

    def _ask_why(self) -> None:
        self._struck = self.loop.target()
        if self._struck is None:
            self.loop.say(words.NOTHING_TO_CANCEL)
            return
        part = named(self._struck, self.loop.session)
        self._ask(words.CANCEL_WHY.format(typed=self._struck.typed, part=part))

    def _ask(self, asking: str) -> None:
        self.asking = asking
        self.loop.asking = bool(asking)

    def _type(self, typed: str) -> None:
        self.typed = typed[:LONGEST_TYPED]
        self.loop.typing = bool(self.typed)


def run(loop: BenchLoop) -> None:
    """Show the bench until it is left; the terminal is as it was afterwards, also after Ctrl-C."""
    from prompt_toolkit.application import Application  # noqa: PLC0415
    from prompt_toolkit.layout import Layout, Window  # noqa: PLC0415
    from prompt_toolkit.layout.controls import FormattedTextControl  # noqa: PLC0415
    from prompt_toolkit.output.color_depth import ColorDepth  # noqa: PLC0415
    from prompt_toolkit.styles import Style  # noqa: PLC0415

    keys = _Keys(loop)
    # Without colour weight and reverse do: no state is told by colour alone.
    style = Style.from_dict(
        {"title": "reverse", "what": "bold", "live": "bold", "good": "fg:ansigreen", "flag": "bold fg:ansired"}
    )
    colourless = bool(os.environ.get("NO_COLOR"))
    application: Application[None] = Application(
        layout=Layout(Window(FormattedTextControl(lambda: _text(application, keys), focusable=True))),
        key_bindings=_bindings(keys),
        full_screen=True,
        style=style,
        color_depth=ColorDepth.DEPTH_1_BIT if colourless else None,
    )

    async def poll() -> None:
        drawn, pace = None, Pace(told_rate())
        while True:
            loop.poll()
            if loop.ended:
                _end(application)
                return
            if keys.tick():
                _end(application)
            # Only what is new goes over the line, and of a load that moves no more than a hand can follow.
            now_s = time.monotonic()
            if pace.may_draw(now_s) and (lines := _text(application, keys)) != drawn:
                pace.draws(_changed(drawn or [], lines), now_s)
                drawn = lines
                application.invalidate()
            await _ring(application, loop)
            await asyncio.sleep(POLL_S)

    def start() -> None:
        application.create_background_task(poll())
        # Told to end, or left by its terminal: the screen is put back on the way out.
        for name in ("SIGTERM", "SIGHUP"):
            if hasattr(signal, name):
                with contextlib.suppress(NotImplementedError):
                    asyncio.get_running_loop().add_signal_handler(getattr(signal, name), _end, application)

    application.run(pre_run=start)


class Pace:
    """When the screen may be drawn again: no sooner than the line has taken what was drawn before, so that what it
    shows is never old. rate: bytes a second that the line takes."""

    def __init__(self, rate: float) -> None:
        self._rate = rate
        self._next_s = -math.inf

    def may_draw(self, now_s: float) -> bool:
        return now_s >= self._next_s

    def draws(self, count: int, now_s: float) -> None:
        """So many bytes go over the line from now on."""
        self._next_s = now_s + max(DRAW_S, count / self._rate)


def told_rate() -> float:
    """How many bytes a second the terminal says that its line takes, ten bits each; without an answer, any."""
    try:
        import termios  # noqa: PLC0415 (not on every system)

        speed = termios.tcgetattr(sys.stdout)[5]
        bauds = (300, 600, 1200, 1800, 2400, 4800, 9600, 19200)
    except (ImportError, OSError, ValueError, AttributeError):
        return math.inf
    except Exception as error:  # termios.error is no OSError
        if type(error).__name__ != "error":
            raise
        return math.inf
    return next((baud / 10 for baud in bauds if speed == getattr(termios, f"B{baud}", None)), math.inf)


def _changed(before: StyleAndTextTuples, after: StyleAndTextTuples) -> int:
    """About how many bytes it takes to make one screen of another: what differs in a line, and the way there."""
    return sum(
        _bytes_to(old, new)
        for old, new in itertools.zip_longest(before, after, fillvalue=("", ""))
        if old[:2] != new[:2]
    )


def _bytes_to(old: OneStyleAndTextTuple, new: OneStyleAndTextTuple) -> int:
    pairs = list(itertools.zip_longest(old[1], new[1], fillvalue=" "))
    differs = [a != b or old[0] != new[0] for a, b in pairs]
    runs = sum(now and not before for before, now in itertools.pairwise([False, *differs]))
    return WAY * runs + sum(len(b.encode()) for (_, b), is_new in zip(pairs, differs, strict=True) if is_new)


async def _ring(application: Application[None], loop: BenchLoop) -> None:
    """Once for what was taken, twice for what was not, unless the bench says bell = false."""
    heard, loop.bell = loop.bell, ""
    if not loop.session.job.table.bell:
        return
    for again in range({"": 0, "taken": 1, "refused": 2}[heard]):
        if again:
            await asyncio.sleep(BETWEEN_BELLS_S)
        application.output.bell()
        application.output.flush()


def _end(application: Application[None]) -> None:
    if application.is_running and not application.is_done:
        application.exit()


def _text(application: Application[None], keys: _Keys) -> StyleAndTextTuples:
    from truethrow.cli.weighing.benchtext import screen  # noqa: PLC0415

    size = application.output.get_size()
    mark = "█" if (sys.stdout.encoding or "").lower().startswith("utf") else "#"
    lines = screen(keys.loop, keys.shown, size.columns, size.rows, mark)
    return [(f"class:{style}", text + "\n") for style, text in lines]


def _bindings(keys: _Keys) -> KeyBindings:
    from prompt_toolkit.key_binding import KeyBindings  # noqa: PLC0415
    from prompt_toolkit.keys import Keys  # noqa: PLC0415

    made = KeyBindings()

    @made.add(Keys.Any)
    def _(event: KeyPressEvent) -> None:
        # One character is a key; more of them are a key that has no meaning here, such as an arrow.
        if len(event.data) == 1 and event.data.isprintable():
            keys.press(event.data)

    @made.add(Keys.BracketedPaste)
    def _(event: KeyPressEvent) -> None:
        keys.paste(event.data)

    @made.add("enter")
    def _(event: KeyPressEvent) -> None:
        keys.enter()

    @made.add("backspace")
    def _(event: KeyPressEvent) -> None:
        keys.rub()

    @made.add("escape", eager=True)
    def _(event: KeyPressEvent) -> None:
        keys.leave()

    @made.add("c-c")
    @made.add("c-d")
    def _(event: KeyPressEvent) -> None:
        event.app.exit()

    return made
