"""The full screen of the bench, by prompt_toolkit: light to start, at home over ssh, and it puts the terminal
back however it is left. All that is shown is made in benchtext; all that is done, in benchloop."""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
import sys
from typing import TYPE_CHECKING

from truethrow.balance.weighing.session import LONGEST_TYPED
from truethrow.cli.weighing.benchloop import named

if TYPE_CHECKING:
    from prompt_toolkit.application import Application
    from prompt_toolkit.formatted_text import StyleAndTextTuples
    from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent

    from truethrow.balance.log.records import Weighed
    from truethrow.cli.weighing.benchloop import BenchLoop

POLL_S = 0.05
GO = "which part, such as 3 pin"


class _Keys:
    """What has been typed so far, and what it answers: a reading, the reason of a strike, or a place to go to.
    What is struck out is what stood there when x was pressed, whatever is weighed meanwhile."""

    def __init__(self, loop: BenchLoop) -> None:
        self.loop = loop
        self.typed = ""
        self.asking = ""
        self._struck: Weighed | None = None

    def press(self, key: str) -> bool:
        """One printable key; whether to leave."""
        if self.asking or self.typed or key.lower() not in "rxsbgq":
            self._type(self.typed + key)
            return False
        match key.lower():
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
        return key.lower() == "q"

    def enter(self) -> None:
        typed, asking = self.typed.strip(), self.asking
        self.leave()
        if asking == GO:
            self.loop.go(typed)
        elif asking and self._struck is not None:
            self.loop.strike(self._struck, typed)
        elif not self.loop.enter(typed) and typed:
            self._type(typed)  # not saved: it stays to be tried again or mended

    def paste(self, text: str) -> None:
        """Pasted lines, each as if it were typed and entered, but for the last, which may go on."""
        *lines, last = text.replace("\r", "\n").split("\n")
        for line in lines:
            if line.strip():
                self._type(self.typed + "".join(filter(str.isprintable, line)))
                self.enter()
                if self.typed:  # refused: what follows would land on the wrong part
                    return
        self._type(self.typed + "".join(filter(str.isprintable, last)))

    def rub(self) -> None:
        self._type(self.typed[:-1])

    def leave(self) -> None:
        self._type("")
        self._ask("")

    def _ask_why(self) -> None:
        self._struck = self.loop.target()
        if self._struck is None:
            self.loop.say("nothing was weighed yet in this session; g goes to an older reading")
            return
        self._ask(f"strike {self._struck.typed} of {named(self._struck, self.loop.session)}, why")

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
        while True:
            loop.poll()
            application.invalidate()
            await asyncio.sleep(POLL_S)

    def start() -> None:
        application.create_background_task(poll())
        # Told to end, or left by its terminal: the screen is put back on the way out.
        for name in ("SIGTERM", "SIGHUP"):
            if hasattr(signal, name):
                with contextlib.suppress(NotImplementedError):
                    asyncio.get_running_loop().add_signal_handler(getattr(signal, name), _end, application)

    application.run(pre_run=start)


def _end(application: Application[None]) -> None:
    if application.is_running and not application.is_done:
        application.exit()


def _text(application: Application[None], keys: _Keys) -> StyleAndTextTuples:
    from truethrow.cli.weighing.benchtext import screen  # noqa: PLC0415

    size = application.output.get_size()
    mark = "█" if (sys.stdout.encoding or "").lower().startswith("utf") else "#"
    lines = screen(keys.loop, keys.typed, keys.asking, size.columns, size.rows, mark)
    return [(f"class:{style}", text + "\n") for style, text in lines]


def _bindings(keys: _Keys) -> KeyBindings:
    from prompt_toolkit.key_binding import KeyBindings  # noqa: PLC0415
    from prompt_toolkit.keys import Keys  # noqa: PLC0415

    made = KeyBindings()

    @made.add(Keys.Any)
    def _(event: KeyPressEvent) -> None:
        # One character is a key; more of them are a key that has no meaning here, such as an arrow.
        if len(event.data) == 1 and event.data.isprintable() and keys.press(event.data):
            event.app.exit()

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
