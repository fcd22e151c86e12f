"""The server itself: the address that it listens at, and how it ends."""

from __future__ import annotations

import contextlib
import errno
import logging
import socket
from pathlib import Path
from typing import TYPE_CHECKING, Any

from truethrow.balance.base.errors import BadInput, Fault, NotSaved, reason, shown_path

if TYPE_CHECKING:
    import uvicorn

    from truethrow.cli.floor.guard import App

THIS_COMPUTER = "127.0.0.1"
# Streams that do not end by themselves are cut after so long.
LONGEST_END_S = 3
MOST_CONNECTIONS = 500
LARGEST_HEAD = 16_384


def must_be_installed() -> None:
    """Raise BadInput without what the server needs."""
    try:
        import starlette  # noqa: F401, PLC0415
        import uvicorn  # noqa: F401, PLC0415
    except ImportError:
        way = "get it: pip install 'truethrow[floor]'"
        raise BadInput([Fault("floor", "what serves the pages is not installed", remedy=way)]) from None


def listening(address: str, port: int) -> socket.socket:
    """A socket that listens. Raises BadInput, one line, where that cannot be."""
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    made = socket.socket(family, socket.SOCK_STREAM)
    try:
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.bind((address, port))
        made.listen(MOST_CONNECTIONS)
    except OSError as error:
        made.close()
        raise _refused(address, port, error) from None
    return made


def _refused(address: str, port: int, error: OSError) -> BadInput:
    if error.errno == errno.EADDRINUSE:
        other = port + 1 if port < 65535 else 8000
        way = f"is a floor open already? if not, take another: --port {other}"
        return BadInput([Fault("--port", f"{port} is in use by another program", remedy=way)])
    if error.errno == errno.EACCES:
        return BadInput([Fault("--port", f"{port}: this user may not open it", "1024 to 65535")])
    if isinstance(error, socket.gaierror) or error.errno == errno.EADDRNOTAVAIL:
        return BadInput([Fault("--address", f"{address!r} is no address of this computer")])
    return BadInput([Fault("--port", f"{port}: {reason(error)}")])


def server_of(app: App, certificate: Path | None = None, key: Path | None = None) -> uvicorn.Server:
    """A server for an application. Raises BadInput for a certificate or a key that cannot be used."""
    import uvicorn  # noqa: PLC0415

    logging.getLogger("uvicorn.error").setLevel(logging.ERROR)  # that somebody sent nonsense is no news
    made: dict[str, Any] = {}
    if certificate is not None and key is not None:
        _must_fit(certificate, key)
        made = {"ssl_certfile": str(certificate), "ssl_keyfile": str(key)}
    config = uvicorn.Config(
        app,
        loop="asyncio",
        http="h11",
        ws="none",
        lifespan="on",
        log_config=None,
        access_log=False,
        proxy_headers=False,  # who asks is who the connection is from
        server_header=False,
        limit_concurrency=MOST_CONNECTIONS,
        timeout_graceful_shutdown=LONGEST_END_S,
        h11_max_incomplete_event_size=LARGEST_HEAD,
        **made,
    )
    config.load()
    return uvicorn.Server(config)


def _must_fit(certificate: Path, key: Path) -> None:
    """Raise BadInput, with the file that is wrong, for a certificate or a key that cannot be used: OpenSSL alone
    would not name it, and would ask for a key's password."""
    import ssl  # noqa: PLC0415

    for option, path in (("--certificate", certificate), ("--key", key)):
        _must_open(option, path)
    context, asked = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER), []

    def refuses() -> str:
        asked.append(True)
        return ""

    try:
        context.load_verify_locations(certificate)
    except (OSError, ValueError):  # ssl.SSLError is an OSError
        wrong = f"{shown_path(certificate)}: is no certificate in PEM form"
        raise _bad("--certificate", wrong, "a file with BEGIN CERTIFICATE in it") from None
    try:
        context.load_cert_chain(certificate, key, password=refuses)
    except (OSError, ValueError) as error:
        what = getattr(error, "reason", None) or ""
        if asked:
            wrong = f"{shown_path(key)}: has a password, which the floor does not ask for"
            raise _bad("--key", wrong, "a key without one, in a file that its owner alone reads") from None
        if what.endswith("_MISMATCH"):
            wrong = f"{shown_path(key)}: is not the key of {shown_path(certificate)}"
            raise _bad("--key", wrong, "the certificate's own key (PEM)") from None
        if "_TOO_" in what:  # EE_KEY_TOO_SMALL, CA_MD_TOO_WEAK
            raise _bad(
                "--certificate", f"{shown_path(certificate)}: is too weak ({what})", "a newer one"
            ) from None
        wrong = f"{shown_path(key)}: is no key in PEM form"
        raise _bad("--key", wrong, "a file with BEGIN PRIVATE KEY in it") from None


def _must_open(option: str, path: Path) -> None:
    """Raise BadInput for a file that cannot be read."""
    if not path.is_file():
        raise _bad(option, f"{shown_path(path)}: no such file", "a file (PEM)")
    try:
        path.open("rb").close()
    except OSError as error:
        raise _bad(option, f"{shown_path(path)}: {reason(error)}", "a file that you may read") from None


def _bad(option: str, wrong: str, allowed: str) -> BadInput:
    return BadInput([Fault(option, wrong, allowed)])


def run(server: uvicorn.Server, listens: socket.socket) -> None:
    """Serve until Ctrl-C, or until it is told to end."""
    with contextlib.suppress(KeyboardInterrupt):
        server.run(sockets=[listens])
    if not server.started:
        raise NotSaved("it could not be started", "floor")
