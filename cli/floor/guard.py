"""What stands before every page: whose browser it is, that it means this server, and what its pages may do.

A shop's network is not a safe place, and neither is a browser that has other pages open. A name that leads here by
somebody else's doing (DNS rebinding) is not answered; a post has to come from a page of this server; no page may
load, send to, or be framed by anything else."""

from __future__ import annotations

import ipaddress
from collections.abc import Awaitable, Callable, Collection, MutableMapping
from typing import Any, TypeAlias

from truethrow.worksheets.pages.floor.pages import POLICY
from truethrow.worksheets.words import server_words as words

Scope: TypeAlias = MutableMapping[str, Any]
Message: TypeAlias = MutableMapping[str, Any]
Receive: TypeAlias = Callable[[], Awaitable[Message]]
Send: TypeAlias = Callable[[Message], Awaitable[None]]
App: TypeAlias = Callable[[Scope, Receive, Send], Awaitable[None]]

HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"same-origin"),  # with no-referrer a browser sends the origin of a form as null
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), geolocation=(), microphone=(), payment=(), usb=()"),
)
NO_STORE = (b"cache-control", b"no-store")


class Guard:
    """An application behind these checks. names: by which this computer may be called, beside the number of its
    address; refused: makes the answer to what is not let through, of a status and what to say."""

    def __init__(self, app: App, names: Collection[str], refused: Callable[[Scope, int, str], App]) -> None:
        self._app, self._names, self._refused = app, frozenset(name.lower() for name in names), refused

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                own = list(message.get("headers", ()))
                if not any(name == b"cache-control" for name, _ in own):
                    own.append(NO_STORE)
                said = {name for name, _ in own}
                message = {**message, "headers": [*own, *(one for one in HEADERS if one[0] not in said)]}
            await send(message)

        answer = self._app
        if not is_own_host(header(scope, b"host"), scope.get("server"), self._names):
            answer = self._refused(scope, 421, words.OTHER_HOST)
        elif scope["method"] not in ("GET", "HEAD") and not is_same_origin(scope):
            answer = self._refused(scope, 403, words.CROSS_SITE)
        await answer(scope, receive, with_headers)


def header(scope: Scope, name: bytes) -> str:
    """A header's value; empty where it is missing, or comes twice and so says nothing."""
    found = [value for key, value in scope["headers"] if key == name]
    return found[0].decode("latin-1") if len(found) == 1 else ""


def is_own_host(host: str, server: Any, names: Collection[str]) -> bool:
    """Whether a Host header means this server: the number of the address that the connection came in at, or one of
    this computer's names, with its port."""
    address, port = (server[0], server[1]) if server else ("", None)
    name, _, said = host.rpartition(":") if not host.endswith("]") and ":" in host else (host, "", "")
    if said and said != str(port):
        return False
    if not said and port not in (80, 443):
        return False
    name = name.strip("[]").lower()
    try:
        return ipaddress.ip_address(name) == ipaddress.ip_address(address)
    except ValueError:
        return name in names


def is_same_origin(scope: Scope) -> bool:
    """Whether a request that does something comes from a page of this server."""
    if (site := header(scope, b"sec-fetch-site")) and site != "same-origin":
        return False
    return header(scope, b"origin") == f"{scope['scheme']}://{header(scope, b'host')}"
