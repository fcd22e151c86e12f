"""What is the same every day, and where it is set."""

from __future__ import annotations

from truethrow.balance.base.errors import shown_path
from truethrow.cli import show
from truethrow.cli.common import Json


def settings(json: Json = False) -> None:
    """Show what is set for every day.

    Initials, station, book, the units of a new job. An option says it for one command, a variable of the shell
    for one shell, the settings file for every day; the first of the three counts. The units are those that a new
    job is written with: what a job says of its own is never changed by them. Initials
    that are set are told where a record gets them; whoever signs, confirms or otherwise answers for something
    types his own. truethrow blank settings is that file with every key.

    \b
    truethrow settings
    truethrow blank settings
    """
    from truethrow.balance.base import settings as kept  # noqa: PLC0415

    found = {key: kept.setting(key) for key in kept.KEYS}
    if is_book := found["book"]:  # an address may have more typed into it than may be shown
        from truethrow.balance.book.address import address  # noqa: PLC0415

        found["book"] = is_book._replace(value=address().place)
    if json:
        told = {key: {"value": one.value, "from": one.source} if one else None for key, one in found.items()}
        show.as_json({"file": str(kept.path()), "settings": told})
        return
    out = show.Screen()
    out.line(f"Settings file: {shown_path(kept.path())}" + ("" if kept.path().exists() else " (not there yet)"))
    out.line()
    rows = [
        [key, shown_path(one.value) if one else "-", one.source if one else f"not set; {kept.variable(key)}"]
        for key, one in found.items()
    ]
    out.table(["key", "value", "from"], rows, words=("value", "from"))
