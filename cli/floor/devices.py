"""Who may: the devices that were let in, and the codes that let one in.

A code is shown on the shop's own computer, lasts five minutes and works once. An address that guesses wrongly a
few times is heard no more; far more wrong guesses, of all together, void all codes.
What a device has then is a key of its own, of which only a digest is kept, in a file that its owner alone reads.
"""

from __future__ import annotations

import contextlib
import hashlib
import hmac
import json
import os
import secrets
import threading
import time
from collections import Counter
from collections.abc import Callable, Hashable, Iterator
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal, TypeAlias, get_args

from truethrow.balance.base import files
from truethrow.balance.base.errors import BadInput, Fault, NotSaved, reason, shown_path, wrong_by
from truethrow.worksheets.words import server_words as words

Role: TypeAlias = Literal["owner", "bench", "builder", "station", "viewer"]
ROLES: tuple[Role, ...] = get_args(Role)
# Who may weigh and grind; all others look.
MAY_WEIGH: frozenset[Role] = frozenset({"owner", "bench", "builder"})
# Who may have cards made.
MAY_PRINT: frozenset[Role] = frozenset({"owner", "bench", "builder", "station"})
# Who may match and accept.
MAY_BUILD: frozenset[Role] = frozenset({"owner", "builder"})
# Who may record at the station, and sign there with his own initials; all others look.
MAY_SPIN: frozenset[Role] = frozenset({"owner", "station"})
LASTS_S = 300.0
# Wrong codes: from one address, so that nobody stops the pairing of all others; and from all addresses. Before the
# latter a guess hits one of so many codes with a chance of MOST_CODES * MOST_OF_ALL / 31^8, less than 1e-6.
MOST_GUESSES = 10
MOST_OF_ALL = 10_000
MOST_CODES = 20
LONGEST_INITIALS = 12
# No two of them look alike on a screen in the sun.
LETTERS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
CODE_LENGTH = 8
SEEN_EVERY_S = 60.0
PRIVATE = 0o600
Mark = Hashable


@dataclass(frozen=True)
class Device:
    """One that was let in. key: the digest of what it shows; paired, seen: when, UTC."""

    id: str
    role: Role
    initials: str
    key: str
    paired: str
    seen: str


class Refused(Exception):
    """A code that is not taken; the message says why."""


class Codes:
    """The codes that let a device in. now: a clock [s]."""

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        self._now = now
        self._codes: dict[str, tuple[float, Role]] = {}
        self._wrong: Counter[str] = Counter()  # by address
        self._lock = threading.Lock()

    def new(self, role: Role) -> str:
        """A code that lasts five minutes; what was guessed wrongly before is forgotten."""
        made = "".join(secrets.choice(LETTERS) for _ in range(CODE_LENGTH))
        with self._lock:
            self._wrong.clear()
            self._drop_old()
            while len(self._codes) >= MOST_CODES:
                self._codes.pop(next(iter(self._codes)))
            self._codes[made] = self._now() + LASTS_S, role
        return made

    @contextlib.contextmanager
    def use(self, typed: str, asker: str = "") -> Iterator[Role]:
        """What a code lets a device be. It is held against all others meanwhile, and is used up once what is done
        with it is done: where that fails, it is as good as before. asker: the address that the connection is from.
        Raises Refused."""
        with self._lock:
            code = self._found(typed, asker)
            yield self._codes[code][1]
            del self._codes[code]

    def _found(self, typed: str, asker: str) -> str:
        asked = "".join(typed.split()).replace("-", "").upper()
        self._drop_old()
        self._must_be_heard(asker)
        for code in self._codes:
            if hmac.compare_digest(code.encode(), asked.encode()):
                return code
        self._wrong[asker] += 1
        self._must_be_heard(asker)
        raise Refused(words.WRONG_CODE)

    def _must_be_heard(self, asker: str) -> None:
        """Raise Refused after too many wrong codes, of one address or of all."""
        if self._wrong.total() >= MOST_OF_ALL:
            self._codes.clear()
            raise Refused(words.ALL_VOID)
        if self._wrong[asker] >= MOST_GUESSES:
            raise Refused(words.TOO_MANY_GUESSES)

    def _drop_old(self) -> None:
        self._codes = {code: one for code, one in self._codes.items() if one[0] > self._now()}


class Devices:
    """The devices that were let in, in a file that all floors of this computer share: what another of them writes
    counts here from the next request on."""

    def __init__(self, path: Path) -> None:
        """Raises BadInput where the file cannot be read."""
        self._path = path
        self._lock = threading.Lock()
        self._seen: dict[str, str] = {}  # since it was written
        self._known: tuple[Mark, dict[str, Device]] = _mark(path), _read(path)

    @property
    def all(self) -> tuple[Device, ...]:
        """As the file has them now; none while it cannot be read, for nobody can tell then who was turned out."""
        if (now := _mark(self._path)) != self._known[0]:
            try:
                self._known = now, _read(self._path)
            except BadInput:
                self._known = now, {}
        return tuple(self._as_seen(one) for one in self._known[1].values())

    def let_in(self, role: Role, initials: str) -> tuple[Device, str]:
        """A new device, and the key that it shows from now on. Raises Refused for initials that are none; NotSaved
        where it cannot be kept."""
        by = check_initials(initials)
        key, now = secrets.token_urlsafe(32), _now()
        made = Device(secrets.token_hex(4), role, by, _digest(key), now, now)
        with self._held() as devices:
            self._keep((*devices, made))
        return made, key

    def turn_out(self, device_id: str) -> bool:
        """Let a device in no more; whether there was one. Raises NotSaved; BadInput where the file cannot be
        read."""
        with self._held() as devices:
            stay = tuple(one for one in devices if one.id != device_id)
            if len(stay) < len(devices):
                self._keep(stay)
            return len(stay) < len(devices)

    def of_key(self, key: str) -> Device | None:
        """The device that shows a key."""
        asked = _digest(key)
        found = next((one for one in self.all if hmac.compare_digest(one.key, asked)), None)
        if found is not None and _age_s(found.seen) > SEEN_EVERY_S:
            self._seen[found.id] = _now()
        return found

    @contextlib.contextmanager
    def _held(self) -> Iterator[tuple[Device, ...]]:
        """The devices as the file has them, which no other floor changes meanwhile."""
        with self._lock:
            try:
                files.private_folder(self._path.parent)
                os.close(os.open(self._path, os.O_RDWR | os.O_CREAT, PRIVATE))
                self._path.chmod(PRIVATE)  # also where the shop shares its files
            except OSError as error:
                raise NotSaved(reason(error), shown_path(self._path)) from None
            with files.locked(self._path):
                yield tuple(self._as_seen(one) for one in _read(self._path).values())

    def _keep(self, devices: tuple[Device, ...]) -> None:
        text = json.dumps({"devices": [asdict(one) for one in devices]}, indent=1)
        files.write_text(self._path, text + "\n")

    def _as_seen(self, device: Device) -> Device:
        return replace(device, seen=max(device.seen, self._seen.get(device.id, "")))


def check_initials(typed: str) -> str:
    """Initials that do in a record. Raises Refused."""
    by = typed.strip()
    if not by:
        raise Refused(words.NO_INITIALS)
    if len(by) > LONGEST_INITIALS or not by.isprintable():
        raise Refused(words.LONG_INITIALS.format(typed=by[:40], most=LONGEST_INITIALS))
    if faults := wrong_by(by, "whoever weighs"):
        raise Refused(str(faults[0]))
    return by


def _read(path: Path) -> dict[str, Device]:
    """Of a file that is not there, or that was only made to be held, none."""
    if not path.exists() or not (text := files.read_text(path)):
        return {}
    try:
        raw = json.loads(text)["devices"]
        found = [Device(**one) for one in raw]
        if any(one.role not in ROLES or not isinstance(one.key, str) for one in found):
            raise ValueError
    except (ValueError, TypeError, KeyError):
        way = "move it away, and let the devices in again"
        raise BadInput([Fault("", "is no list of devices", remedy=way)], shown_path(path)) from None
    return {one.id: one for one in found}


def _mark(path: Path) -> Mark:
    """What of the file changes when it is written."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_ino, found.st_size, found.st_mtime_ns


def _digest(key: str) -> str:
    return hashlib.sha256(key.encode(errors="replace")).hexdigest()


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


def _age_s(at: str) -> float:
    return (datetime.now(UTC) - datetime.fromisoformat(at)).total_seconds()
