"""The handbook and its example, made once for all tests of a process."""

from __future__ import annotations

import functools

from truethrow.cli.handbook import commands, program
from truethrow.worksheets.handbook import example, handbook

DAY = "2027-01-15"


@functools.cache
def of_demo():
    return example.example()


@functools.cache
def whole():
    """The handbook as a card. It works the demo out only where nobody did before."""
    kept, handbook.example = handbook.example, of_demo
    try:
        return handbook.handbook(list(commands()), program(), DAY)
    finally:
        handbook.example = kept
