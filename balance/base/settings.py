"""What is the same every day: a variable of the shell, else the settings file, for what no option says.

Nothing of a job depends on it: a job's own text says its units, and a new job is written with them.
"""

from __future__ import annotations

import os
import tomllib
from pathlib import Path
from typing import Annotated, NamedTuple

from pydantic import PlainValidator

from truethrow.balance.base import fields, files
from truethrow.balance.base.errors import BadInput, Fault, says, shown, shown_path
from truethrow.balance.base.units import LENGTH, MASS

FILE = "TRUETHROW_SETTINGS"
LONGEST_BY = 12
_ADDRESS = ("sqlite:///", "postgresql://", "postgresql+psycopg://")


def _initials(typed: object) -> str:
    by = fields.printable_text(LONGEST_BY)(typed)
    if not says(by):
        raise fields._fault(f"{shown(by)!r} is nobody", "initials")
    return by


def _address(typed: object) -> str:
    """Whether it is one, whoever opens the book looks. It is not shown: it may hold a password."""
    if isinstance(typed, str) and typed.startswith(_ADDRESS):
        return typed
    raise fields._fault("is no address of a book", "sqlite:////folder/book.db, or postgresql://user@host/database")


class SettingsTable(fields.Table):
    """by: the initials that records get; station: the profile of the station at hand, a file (from the settings
    file's folder) or its name in the book; book: its address; mass_unit, length_unit: of a new job."""

    by: Annotated[str | None, PlainValidator(_initials)] = None
    station: Annotated[str | None, PlainValidator(fields.printable_text(fields.LONGEST_LABEL))] = None
    book: Annotated[str | None, PlainValidator(_address)] = None
    mass_unit: Annotated[str | None, PlainValidator(fields._unit_of(MASS))] = None
    length_unit: Annotated[str | None, PlainValidator(fields._unit_of(LENGTH))] = None


KEYS = tuple(SettingsTable.model_fields)


class Setting(NamedTuple):
    """One that is set. source: where, as a person is told; folder: that a file's name in it counts from, None for
    the folder at hand."""

    value: str
    source: str
    folder: Path | None = None


def variable(key: str) -> str:
    """What the shell's variable of a key is called."""
    return f"TRUETHROW_{key.upper()}"


def path() -> Path:
    """The settings file, be it there or not: the one that the shell names, else the user's own."""
    if named := os.environ.get(FILE):
        return Path(named)
    from platformdirs import user_config_path  # noqa: PLC0415 (start-up)

    return user_config_path("truethrow", appauthor=False) / "settings.toml"


def setting(key: str) -> Setting | None:
    """What a key is set to; None where nobody did. Raises BadInput with the variable that is wrong, or the file
    and the key in it."""
    typed = os.environ.get(variable(key))
    if typed and key == "book":  # whoever opens it looks at it
        return Setting(typed, variable(key))
    if typed:
        faults: list[Fault] = []
        table = fields.validate(SettingsTable, {key: typed}, "", fields.Units(), faults)
        if table is None:
            raise BadInput([_named(fault, variable(key)) for fault in faults])
        return Setting(typed, variable(key))
    value = getattr(_file(), key)
    return None if value is None else Setting(value, f"{shown_path(path())}, {key}", path().parent)


def data_folder() -> Path:
    """The folder of the user's own book, and of what else is kept for the user."""
    from platformdirs import user_data_path  # noqa: PLC0415 (start-up)

    return user_data_path("truethrow", appauthor=False)


def own_book() -> Path:
    """The user's own book, be it there or not."""
    return data_folder() / "book.db"


def may_have_a_book() -> bool:
    """Whether there may be a book, told without the libraries that open one: whoever has none waits for none."""
    named = setting("book")
    if named is None:
        return own_book().exists()
    file = named.value.removeprefix("sqlite:///")
    return file == named.value or Path(file).expanduser().exists()


def _named(fault: Fault, where: str) -> Fault:
    return Fault(where, fault.wrong, fault.allowed)


def _file() -> SettingsTable:
    """What the settings file says. One that the shell names has to be there."""
    own = path()
    if not own.exists() and not os.environ.get(FILE):
        return fields.empty(SettingsTable)
    try:
        raw = tomllib.loads(files.read_text(own))
    except ValueError as error:
        raise BadInput([Fault("", f"not TOML: {str(error).lower()}")], shown_path(own)) from None
    faults: list[Fault] = []
    table = fields.validate(SettingsTable, raw, "", fields.Units(), faults)
    if table is None:
        wrong = [_named(fault, fault.where.removeprefix(", ")) for fault in faults]
        raise BadInput(wrong, shown_path(own))
    return table
