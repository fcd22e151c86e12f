"""The full screen of the bench, by prompt_toolkit: light to start, at home over ssh, and it puts the terminal
back however it is left. All that is shown is made in benchtext; all that is done, in benchloop."""

from __future__ import annotations

import asyncio
import os
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from prompt_toolkit.application import Application
    from prompt_toolkit.formatted_text import StyleAndTextTuples
    from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent

    from truethrow.cli.benchloop import BenchLoop

POLL_S = 0.05
REASON, GO = "why", "cylinder and part"
LONGEST_TYPED = 60


class _Keys:
    """What has been typed so far, and what it answers: a reading, a reason, or a place to go to."""

    def __init__(self, loop: BenchLoop) -> None:
        self.loop = loop
        self.typed = ""
        self.asking = ""

    def press(self, key: str) -> bool:
        """One printable key; whether to leave."""
        if self.asking or self.typed or key not in "rxsbgq":
            self.typed = (self.typed + key)[:LONGEST_TYPED]
            return False
        match key:
            case "r":
                self.loop.again()
            case "x":
                self.asking = REASON
            case "s":
                self.loop.skip()
            case "b":
                self.loop.back()
            case "g":
                self.asking = GO
        return key == "q"

    def enter(self) -> None:
        typed, asking = self.typed.strip(), self.asking
        self.typed, self.asking = "", ""
        if asking == REASON:
            self.loop.strike(typed)
        elif asking == GO:
            self._go(typed)
        elif not self.loop.enter(typed) and typed:
            self.typed = typed  # not saved: it stays to be tried again or mended

    def rub(self) -> None:
        self.typed = self.typed[:-1]

    def leave(self) -> None:
        self.typed, self.asking = "", ""

    def _go(self, typed: str) -> None:
        from truethrow.balance.session import Refused, part_named  # noqa: PLC0415

        cylinder, _, part = typed.partition(" ")
        try:
            self.loop.go(int(cylinder) if cylinder.isdigit() else 0, part_named(part))
        except Refused as error:
            self.loop.say(str(error))


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
    colourless = "NO_COLOR" in os.environ
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

    application.run(pre_run=start)


def _text(application: Application[None], keys: _Keys) -> StyleAndTextTuples:
    from truethrow.cli.benchtext import screen  # noqa: PLC0415

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
        for key in event.data:
            if key.isprintable() and keys.press(key):
                event.app.exit()

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
