"""Letting devices in: the codes that the shop's computer shows, and whose screen it is that asks."""

from __future__ import annotations

import contextlib
import io
import socket
import sys
from http.cookies import CookieError, SimpleCookie
from typing import TYPE_CHECKING

from truethrow.cli.floor.bench import Who
from truethrow.cli.floor.devices import LASTS_S, Codes, Devices, Refused, Role, check_initials
from truethrow.cli.floor.guard import Scope, header
from truethrow.worksheets.pages.floor.state import Device as ShownDevice
from truethrow.worksheets.pages.floor.state import Pairing
from truethrow.worksheets.words import server_words as words

if TYPE_CHECKING:
    from truethrow.cli.floor.devices import Device

COOKIE = "truethrow-floor"
A_YEAR_S = 365 * 24 * 3600
# Who may be let in from the page; the owner is by the terminal's address alone.
TO_LET_IN: tuple[Role, ...] = ("bench", "builder", "station", "viewer")
_LOOPBACK = ("127.", "::1")
# RFC 5737: an address for documents, which nobody has; only the way to it is looked up.
_ANYWHERE = ("192.0.2.1", 9)


class Paired:
    """A floor that only those may see who were let in. address: of the pages, as devices reach them, without a
    slash at the end."""

    def __init__(self, devices: Devices, address: str) -> None:
        self.devices, self.address, self.codes = devices, address, Codes()

    def who(self, scope: Scope) -> Who | None:
        """Whose screen asks; None for one that was not let in."""
        device = self.devices.of_key(_key(scope, self.is_encrypted))
        return None if device is None else Who(device.id, device.initials, device.role, device.initials)

    @property
    def is_encrypted(self) -> bool:
        return self.address.startswith("https:")

    def let_in(self, code: str, initials: str, asker: str = "", *, is_here: bool = False) -> str:
        """The cookie of a device that is let in. asker: the address that its connection is from; is_here: whether
        it is the shop's own computer, where alone the owner's code works. Raises Refused; NotSaved. The code is
        then as good as before."""
        check_initials(initials)  # first: a slip there is not to cost the code
        with self.codes.use(code, asker) as role:
            if role == "owner" and not is_here:
                raise Refused(words.OWNERS_CODE)
            _, key = self.devices.let_in(role, initials)
        secure = "; Secure" if self.is_encrypted else ""
        name = _cookie(self.is_encrypted)
        return f"{name}={key}; Path=/; Max-Age={A_YEAR_S}; HttpOnly; SameSite=Strict{secure}"

    def new_code(self, role: Role, address: str = "") -> Pairing:
        """A code as the page shows it. address: where the device opens it, if that is another than all have."""
        code = self.codes.new(role)
        full = f"{address or self.address}/pair?code={code}"
        minutes = f"{LASTS_S / 60:g} minutes"
        return Pairing(f"{code[:4]}-{code[4:]}", full, _as_svg(full), minutes, role)

    def shown(self, of: Who) -> tuple[ShownDevice, ...]:
        return tuple(_shown(one, of) for one in self.devices.all)


def is_at_the_computer(scope: Scope) -> bool:
    """Whether a browser is on the shop's own computer: its connection is from loopback, or from the very address
    that it came in at, from which no other computer can hold one."""
    here = str((scope.get("server") or [""])[0])
    return asker(scope).startswith(_LOOPBACK) or asker(scope) == here != ""


def asker(scope: Scope) -> str:
    """The address that a connection is from."""
    return str((scope.get("client") or [""])[0])


def qr_in_text(address: str) -> str:
    """A QR code for the terminal; empty where it cannot show one."""
    import segno  # noqa: PLC0415

    if not (sys.stdout.encoding or "").lower().startswith("utf"):
        return ""
    drawn = io.StringIO()
    segno.make(address, error="m", micro=False).terminal(drawn, compact=True)
    return drawn.getvalue()


def own_address() -> str:
    """The number by which the shop's network reaches this computer, where that can be told. Nothing is sent."""
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asks:
        asks.connect(_ANYWHERE)
        return str(asks.getsockname()[0])
    return own_names()[-1]


def own_names() -> tuple[str, ...]:
    """What this computer is called in its network."""
    name = socket.gethostname().lower()
    return tuple(dict.fromkeys((name, name.partition(".")[0], f"{name.partition('.')[0]}.local")))


def _as_svg(address: str) -> str:
    import segno  # noqa: PLC0415

    drawn = io.BytesIO()
    segno.make(address, error="m", micro=False).save(drawn, kind="svg", scale=8, border=4, light="white")
    return drawn.getvalue().decode()


def _shown(device: Device, of: Who) -> ShownDevice:
    paired, seen = (f"{at[:16].replace('T', ' ')} UTC" for at in (device.paired, device.seen))
    return ShownDevice(device.id, device.initials, device.role, paired, seen, device.id == of.device)


def _cookie(is_encrypted: bool) -> str:
    """With TLS under a name that a browser takes from this server alone, and only so."""
    return f"__Host-{COOKIE}" if is_encrypted else COOKIE


def _key(scope: Scope, is_encrypted: bool) -> str:
    try:
        found = SimpleCookie(header(scope, b"cookie")).get(_cookie(is_encrypted))
    except CookieError:
        return ""
    return found.value if found is not None else ""
