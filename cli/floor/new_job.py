"""A new job from a page: its file pasted, or filled out of a form as `new` does it; held against every check of a
job file before anything is written, and refused in the same words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from truethrow.balance.base.errors import BadInput, Fault
from truethrow.balance.job import blank
from truethrow.balance.job.document import CALLABLE, not_callable
from truethrow.balance.job.job import build
from truethrow.cli.asking import in_options, layout
from truethrow.cli.weighing.new_and_enter import check_wanted, made_id, set_or
from truethrow.worksheets.words import floor_words as words

if TYPE_CHECKING:
    from truethrow.cli.floor.shop import Shop

# The form's fields, by what they are called there.
LENGTHS = ("stroke", "cylinder_spacing", "rod_length")
# What `new` has as an option, by what the form calls it: its label as far as the name goes.
FIELDS = {"layout": words.NEW_LAYOUT} | {
    option: words.NEW_FIELDS[name].partition(" (")[0]
    for option, name in {
        "--id": "id",
        "--title": "title",
        "--step": "step",
        "--stroke": "stroke",
        "--spacing": "cylinder_spacing",
        "--rod-length": "rod_length",
    }.items()
}


def begin(shop: Shop, sent: Mapping[str, str], by: str) -> str:
    """Make a job; its name in addresses. sent: the fields of the form, text among them where a file was pasted.
    Raises BadInput, with every fault of it; NotSaved."""
    text = sent.get("text", "").replace("\r\n", "\n")
    if not text.strip():
        try:
            text = _filled(sent)
        except BadInput as error:
            raise in_options(error, FIELDS) from None
    made = build(text, "job", partly=True)
    if wrong := not_callable(made.id):
        raise BadInput([Fault("job, id", f"{made.id!r} {wrong}", CALLABLE)])
    return shop.add(made.id, text, by)


def _filled(sent: Mapping[str, str]) -> str:
    """The text of the form's job, as `new` writes it."""
    wanted = blank.Wanted(
        layout(sent.get("layout", "")),
        sent.get("id", "").strip() or made_id(None, asks=False),
        sent.get("title", "").strip(),
        set_or("mass_unit", "g"),
        set_or("length_unit", "mm"),
        sent.get("step", "").strip() or "0.1 g",
        {name: sent.get(name, "").strip() for name in LENGTHS},
    )
    check_wanted(wanted)
    return blank.job(wanted)
