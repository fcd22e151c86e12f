"""Questions at a terminal, for commands that take all of it as options, too."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import replace

from truethrow.balance.base.errors import BadInput, Fault

# What is said where the questions were left: Ctrl-D, Ctrl-C, a terminal that went away.
LEFT = "the questions were left; nothing was written"


def can_ask() -> bool:
    """Whether somebody sits there: questions go to the screen, answers come from the keyboard."""
    streams = (sys.stdin, sys.stdout)
    return all(stream is not None and not stream.closed and stream.isatty() for stream in streams)


def ask(question: str, check: Callable[[str], str], default: str = "") -> str:
    """An answer that passes its check, asked for until there is one. check: the answer as it counts, BadInput for
    one that does not. Raises BadInput where the questions are left."""
    while True:
        try:
            typed = input(f"{question}{f' [{default}]' if default else ''}: ").strip()
        except (EOFError, KeyboardInterrupt):
            sys.stdout.write("\n")
            raise BadInput([Fault("", LEFT)]) from None
        try:
            return check(typed or default)
        except BadInput as error:
            sys.stdout.write("".join(f"  {line}\n" for line in error.lines()))


def must_be_meant(why: str, question: str, left: str) -> None:
    """Tell why something is asked, and ask it: nothing but a yes goes on. left: what is so after a no. Raises
    BadInput for a no."""
    sys.stdout.write(f"! {why}\n")
    if ask(f"{question} yes or no", _yes_or_no, "no") == "no":
        raise BadInput([Fault("", left)])


def _yes_or_no(answer: str) -> str:
    if (found := {"y": "yes", "n": "no"}.get(answer.lower(), answer.lower())) in ("yes", "no"):
        return found
    raise BadInput([Fault("", "yes or no")])


def in_options(error: BadInput, names: Mapping[str, str]) -> BadInput:
    """A refusal of a job file that was made from options, in their words, but for what is still to be weighed.
    names: where in the file → the option."""
    faults = (fault for fault in error.faults if not fault.to_weigh)
    return BadInput(replace(fault, where=names.get(fault.where, fault.where)) for fault in faults)


def layout(typed: str) -> str:
    """The name of a layout. Raises BadInput, with the one that it resembles."""
    from truethrow.balance.base.errors import shown  # noqa: PLC0415
    from truethrow.balance.engine.layout import GENERIC, closest  # noqa: PLC0415

    if typed in GENERIC:
        return typed
    wrong = f"{shown(typed)!r} is not known{closest(typed)}" if typed else "missing"
    raise BadInput([Fault("layout", wrong, ", ".join(GENERIC))])
