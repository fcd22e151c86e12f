"""What `from truethrow import …` gives: each name with what its own docstring says."""

from __future__ import annotations

import inspect

from truethrow.balance.library import formulas, jobs
from truethrow.worksheets.cards.card import Block, Lines, Typed

# In the order of work; a test holds them to the names that the library has.
NAMES = {
    jobs: ("load", "work", "trim", "match", "shake", "share", "sweep", "example"),
    formulas: (
        *("bobweight", "curve", "permissible_unbalance", "plane_share", "centrifugal_force"),
        *("drilled_hole", "piston_speed"),
    ),
}


def blocks() -> tuple[Block, ...]:
    found: list[Block] = []
    for module, names in NAMES.items():
        for name in names:
            function = getattr(module, name)
            said, _, example = inspect.cleandoc(function.__doc__ or "").partition(">>> ")
            paragraphs = tuple(" ".join(one.split()) for one in said.split("\n\n") if one.strip())
            found.append(Lines(paragraphs, f"{name}{_called(function)}"))
            if example:
                found.append(Typed(tuple(f">>> {example}".rstrip().splitlines())))
    return tuple(found)


def _called(function: object) -> str:
    """How it is called: the names of what it takes, with what counts where nothing is given; all that comes after
    a star is said by its name."""
    taken: list[str] = []
    for one in inspect.signature(function).parameters.values():  # type: ignore[arg-type]
        if one.kind is one.KEYWORD_ONLY and "*" not in taken:
            taken.append("*")
        default = "" if one.default is inspect.Parameter.empty else f"={one.default!r}"
        taken.append(f"{one.name}{default}")
    return f"({', '.join(taken)})"
