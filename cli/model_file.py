"""Writing an answer as a model to solve again: which file it goes to, and what is said of it."""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

import typer

from truethrow.balance.base.errors import NotSaved, shown_path
from truethrow.cli import show

if TYPE_CHECKING:
    from truethrow.balance.base.model import Claim, Model

LP = (".lp",)
LP_OR_OPB = (".opb", ".lp")
LpFile = Annotated[
    Path | None,
    typer.Option("--model", metavar="FILE.lp", help="Write it as a model to be solved again elsewhere."),
]
AnyFile = Annotated[
    Path | None,
    typer.Option("--model", metavar="FILE", help="Write it as a model to be solved again: FILE.opb or FILE.lp."),
]


class Made(NamedTuple):
    """One model that is to be written. name: what it is of, for the file's name."""

    name: str
    model: Model
    claim: Claim


class Written(NamedTuple):
    """The files, by what each is of; and what has no model, each with why."""

    files: tuple[tuple[str, Path], ...]
    left_out: tuple[tuple[str, str], ...] = ()

    def as_data(self) -> dict[str, Any]:
        return {
            "models": [{"of": name, "file": str(path)} for name, path in self.files],
            "no_models": [{"of": name, "why": why} for name, why in self.left_out],
        }

    def tell(self, out: show.Screen) -> None:
        out.heading("Models to solve again with any solver; none is a proof by itself")
        for name, path in self.files:
            out.line(f"Written: {shown_path(path)} ({name})")
        for name, why in self.left_out:
            out.line(f"- No model of {name}: {why}.")


def must_be_free(path: Path, allowed: Sequence[str], names: Iterable[str] = ()) -> None:
    """Raise BadInput for a name of another ending, NotSaved where what stands there is no model."""
    from truethrow.balance.base import files, model  # noqa: PLC0415 (only who writes one pays)

    model.ending(path, allowed)
    for one in (path, *(model.beside(path, name) for name in names)):
        # os.path asks without raising: a name that no folder takes is left for the writing to refuse.
        if os.path.exists(one) and not model.is_model(files.read_text(one)):  # noqa: PTH110
            raise NotSaved("is no model and is not written over; pick another name", shown_path(one))


def write(path: Path, made: Sequence[Made], left_out: Sequence[tuple[str, str]] = ()) -> Written:
    """Write the last of them to the path and the others beside it."""
    from truethrow.balance.base import files, model  # noqa: PLC0415

    found = []
    for position, one in enumerate(made, start=1):
        own = path if position == len(made) else model.beside(path, one.name)
        files.write_text(own, model.text(one.model, one.claim, own.suffix.lower()))
        found.append((one.name, own))
    return Written(tuple(found), tuple(left_out))
