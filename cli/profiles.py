"""Which profile is meant, of a station or a bench: the one that a word names; of a station else the one that is
set, lies beside the job or is the only one of the book, where there is no doubt which machine it is."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from truethrow.balance.base import files
from truethrow.balance.base.errors import BadInput, Fault, shown_path
from truethrow.balance.base.files import KeptText
from truethrow.balance.log.place import Place, file_of, folder_of, is_file, is_standard_input
from truethrow.cli.in_folder import profiles_in

if TYPE_CHECKING:
    from truethrow.balance.station.what_now import Now


def station_named(word: str) -> Path | KeptText:
    """The station's profile that a word on the command line means: a file, else one of the book by its name.
    Raises BadInput for one that the book does not have."""
    return _profile_named("station", word)


def bench_named(word: str) -> Path | KeptText:
    """The same, of a bench."""
    return _profile_named("bench", word)


def _profile_named(kind: Literal["station", "bench"], word: str) -> Path | KeptText:
    if is_file(word):
        return Path(word)
    from truethrow.balance.book.profiles import find  # noqa: PLC0415 (SQLAlchemy, which no file needs)

    return find(kind, word)


def found_for(job: Place) -> tuple[Path | KeptText, str] | None:
    """The profile that is found by itself, and where, for who can do without one; None where it is in doubt."""
    try:
        return found_or_refused(job)
    except BadInput:
        return None


def if_any(job: Place, named: Path | KeptText | None, needs: tuple[str, ...] = ()) -> Path | KeptText | None:
    """The profile that is named; else the one that is found by itself, told on standard error, where it has what
    is needed: one that nobody named and that is not filled in yet stops nothing. None for standard input, too."""
    if named is not None or is_standard_input(job) or (found := found_for(job)) is None:
        return named
    from truethrow.balance.station import stationfile  # noqa: PLC0415

    profile, where = found
    try:
        stationfile.load(profile, needs)
    except BadInput as error:
        sys.stderr.write(f"Station: {shown_path(profile)}, {where}, is left out: {error.lines()[0]}\n")
        return None
    sys.stderr.write(f"Station: {shown_path(profile)}, {where}.\n")
    return profile


def by_itself(job: Place, of: Callable[[Path | KeptText | None], Now] | None = None) -> tuple[Now, str]:
    """What comes next, by the profile that is found without being named, where there is one that will do; which
    that is, and where, empty where none is. of: what comes next by a profile, or by none; not given,
    of the job as it is."""
    if of is None:
        from truethrow.balance.station.what_now import what_now  # noqa: PLC0415

        return by_itself(job, lambda profile: what_now(job, profile))
    if not is_standard_input(job) and (found := found_for(job)):
        try:
            return of(found[0]), f"{shown_path(found[0])}, {found[1]}"
        except BadInput:  # a profile that is not filled in, or a job without a tolerance: the parts come first
            pass
    return of(None), ""


def found_beside(file: Path) -> Path | KeptText | None:
    """The profile for a document that may do without one, None where there is none. Raises BadInput where several
    could be meant."""
    try:
        profile, found = found_or_refused(file)
    except _Missing:
        return None
    sys.stderr.write(f"Station: {shown_path(profile)}, {found}.\n")
    return profile


class _Missing(BadInput):
    """No profile was named, and none is anywhere."""


def found_or_refused(job: Place | None) -> tuple[Path | KeptText, str]:
    """The profile that nobody named, and where it was found. Raises BadInput where there is none, or several that
    are not the same."""
    folder = folder_of(job) if job is not None else None
    beside = profiles_in(folder, file_of(job)) if folder is not None and job is not None else []
    if (is_set := _set()) is not None:
        profile, source = is_set
        if others := [one for one in beside if _text(one) != _text(profile)]:
            raise _in_doubt([profile, *others], f"{source} says {shown_path(profile)}, beside the job is another")
        return profile, f"as {source} says"
    if len({_text(one) for one in beside}) > 1:
        raise _in_doubt(beside, "there are several beside the job")
    if beside:
        return beside[0], "beside the job"
    kept = _of_the_book()
    if len(kept) > 1:
        raise _in_doubt(kept, "the book has several")
    if kept:
        return station_named(kept[0]), "the only station of the book"
    wrong = "missing; none is set, lies beside the job or is in the book"
    begin = "name one, or begin one: truethrow blank station station.toml"
    raise _Missing([Fault("--station", wrong, remedy=begin)])


def _set() -> tuple[Path | KeptText, str] | None:
    """The profile that a variable or the settings file names."""
    from truethrow.balance.base.settings import setting  # noqa: PLC0415

    if (found := setting("station")) is None:
        return None
    if is_file(found.value) or (found.folder and (found.folder / found.value).is_file()):
        path = Path(found.value).expanduser()
        path = found.folder / path if found.folder else path
        if not path.is_file():
            raise BadInput([Fault(found.source, f"{shown_path(path)}: no such file")])
        return path, found.source
    try:
        return station_named(found.value), found.source
    except BadInput as error:
        raise BadInput([Fault(found.source, str(fault), remedy="") for fault in error.faults]) from None


def _of_the_book() -> list[str]:
    from truethrow.balance.base.settings import may_have_a_book  # noqa: PLC0415

    if not may_have_a_book():
        return []
    from truethrow.balance.book import profiles  # noqa: PLC0415 (SQLAlchemy)
    from truethrow.balance.book.open import open_book  # noqa: PLC0415

    try:
        return [one.name for one in profiles.kept(open_book(create=False)) if one.kind == "station"]
    except BadInput:  # there is no book, or it tells what is wrong once it is named
        return []


def _text(profile: Path | KeptText) -> str:
    return files.read_text(profile)


def _in_doubt(profiles: Sequence[object], why: str) -> BadInput:
    named = " or ".join(f"--station {shlex.quote(shown_path(one))}" for one in profiles)
    return BadInput([Fault("--station", f"which station is it? {why}", remedy=f"say which: {named}")])
