"""The floor: the shop's screens in a browser."""

from __future__ import annotations

import sys
from ipaddress import ip_address
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.base.errors import BadInput, Fault
from truethrow.cli import show
from truethrow.cli.common import BenchIfAny, by_whom, lives_on

if TYPE_CHECKING:
    from truethrow.cli.floor.pairing import Paired
    from truethrow.cli.floor.routes import Floor

PORT = 8737
ANY = "0.0.0.0"
IPV6 = 6


def floor(
    shop: Annotated[
        str | None,
        typer.Argument(
            metavar="BOOK|FOLDER",
            help="The book by its address, or a folder with job files; without it the shop's book.",
        ),
    ] = None,
    demo: Annotated[
        bool, typer.Option("--demo", help="The demo's job in a new folder, with a simulated scale.")
    ] = False,
    scale: Annotated[
        str | None, typer.Option("--scale", metavar="PORT", help="The scale's port, before the profile's.")
    ] = None,
    bench: BenchIfAny = None,
    by: Annotated[str, by_whom("Who weighs, on this computer.")] = "",
    port: Annotated[
        int, typer.Option("--port", metavar="N", min=1, max=65535, help="The port that the pages are served at.")
    ] = PORT,
    lan: Annotated[
        bool, typer.Option("--lan", help="Let devices of the shop's network in, each by a code.")
    ] = False,
    address: Annotated[
        str | None, typer.Option("--address", metavar="ADDRESS", help="With --lan: the only address to listen at.")
    ] = None,
    certificate: Annotated[
        Path | None, typer.Option("--certificate", metavar="FILE", help="For https: the certificate (PEM).")
    ] = None,
    key: Annotated[
        Path | None, typer.Option("--key", metavar="FILE", help="For https: the certificate's key (PEM).")
    ] = None,
) -> None:
    """Show the board and the benches in a browser, live.

    The board has every open job; a bench weighs and grinds as weigh does, with a scale on a port of this computer,
    or typed. What is recorded at any bench, or by any command, shows at once. Ctrl-C ends it.

    It serves this computer alone. --lan opens it to the shop's network: a device is let in by a code that this
    screen shows, lasts five minutes and works once. Name a certificate and its key, or others can read along.

    \b
    truethrow floor --demo                 try it, no file and no scale needed
    truethrow floor launch                 the jobs of a folder
    truethrow floor --scale /dev/ttyUSB0   the shop's book, and a scale
    truethrow floor --lan --certificate shop.pem --key shop.key
    """
    from truethrow.cli.floor.serving import must_be_installed  # noqa: PLC0415

    must_be_installed()
    _check(demo, scale, lan, address, certificate, key)
    from truethrow.cli.floor.serving import THIS_COMPUTER, listening, run, server_of  # noqa: PLC0415
    from truethrow.worksheets.words import server_words as words  # noqa: PLC0415

    listens = listening((address or ANY) if lan else THIS_COMPUTER, port)
    lives_on()
    scheme = "https" if certificate else "http"
    here = f"{scheme}://{_host(address or THIS_COMPUTER, THIS_COMPUTER)}:{port}"
    paired = _paired(f"{scheme}://{_host(address or ANY)}:{port}") if lan else None
    made = _made(shop, demo, scale, bench, by, paired)
    server = server_of(made.app, certificate, key)
    made.is_ending = lambda: server.should_exit
    out = show.Screen()
    if paired is None:
        out.line(words.SHOWN.format(place=made.shop.place, address=f"{here}/"), strong=True)
    else:
        _tell_who_may(out, made, paired, here)
    out.line(words.HOW_TO_END)
    sys.stdout.flush()
    run(server, listens)
    out.line(words.ENDED)


def _check(
    demo: bool, scale: str | None, lan: bool, address: str | None, certificate: Path | None, key: Path | None
) -> None:
    """Raise BadInput for options that cannot be together."""
    faults = []
    if demo and scale is not None:
        faults.append(Fault("--demo", "has a scale of its own; can't be combined with --scale"))
    if address is not None and not address.strip():  # to a socket that is every address
        faults.append(Fault("--address", "is empty", "an address of this computer; without it, all that it has"))
    elif address is not None and not lan:
        faults.append(Fault("--address", "is for --lan; without it only this computer is served"))
    if (certificate is None) != (key is None):
        faults.append(Fault("--certificate", "needs --key, and --key needs it"))
    if faults:
        raise BadInput(faults)


def _made(
    shop: str | None, demo: bool, scale: str | None, bench: Path | None, by: str, paired: Paired | None
) -> Floor:
    from truethrow.cli.floor import demo_floor  # noqa: PLC0415
    from truethrow.cli.floor.bench import Who  # noqa: PLC0415
    from truethrow.cli.floor.pairing import own_names  # noqa: PLC0415
    from truethrow.cli.floor.routes import Floor  # noqa: PLC0415
    from truethrow.cli.floor.scales import Scales  # noqa: PLC0415
    from truethrow.cli.floor.shop import Folder, shop_of  # noqa: PLC0415

    made = Floor(
        Folder(demo_floor.folder(shop)) if demo else shop_of(_must_be_a_job(shop)),
        ("localhost", *(own_names() if paired else ())),
        owner=Who("this-computer", by or "this computer", "owner", by),
        paired=paired,
        scales=Scales(scale),
        profile=bench,
        show_code=_show_code,
    )
    if demo:
        made.scales = demo_floor.scales(made.benches.get)
    return made


def _must_be_a_job(named: str | None) -> str | None:
    """What was named. Raises BadInput for a file that is no job, as weigh does: the board would have nothing
    else to show."""
    from truethrow.balance.weighing import benchjob  # noqa: PLC0415

    if named is not None and "://" not in named and Path(named).is_file():
        benchjob.load(Path(named))
    return named


def _paired(address: str) -> Paired:
    from truethrow.balance.base.settings import data_folder  # noqa: PLC0415
    from truethrow.cli.floor.devices import Devices  # noqa: PLC0415
    from truethrow.cli.floor.pairing import Paired  # noqa: PLC0415

    return Paired(Devices(data_folder() / "floor-devices.json"), address)


def _host(address: str, anywhere: str = "") -> str:
    """An address that is listened at, as a browser takes it. anywhere: for all addresses of this computer, which
    nobody can type; without it the one by which devices reach this computer."""
    from truethrow.cli.floor.pairing import own_address  # noqa: PLC0415

    try:
        number = ip_address(address)
    except ValueError:
        return address
    if number.is_unspecified:
        return anywhere or own_address()
    return f"[{number}]" if number.version == IPV6 else str(number)


def _show_code(address: str) -> None:
    """A code that the owner asked for, on this computer's own screen."""
    from truethrow.cli.floor.pairing import qr_in_text  # noqa: PLC0415

    sys.stdout.write(f"{address}\n{qr_in_text(address)}")
    sys.stdout.flush()


def _tell_who_may(out: show.Screen, made: Floor, paired: Paired, here: str) -> None:
    """How the owner and the first device come in."""
    from truethrow.cli.floor.devices import LASTS_S  # noqa: PLC0415
    from truethrow.cli.floor.pairing import qr_in_text  # noqa: PLC0415
    from truethrow.worksheets.words import server_words as words  # noqa: PLC0415

    minutes = f"{LASTS_S / 60:g}"
    out.line(words.SHOWN.format(place=made.shop.place, address=f"{paired.address}/"), strong=True)
    out.line(words.OWNER.format(minutes=minutes, address=paired.new_code("owner", here).address))
    first = paired.new_code("bench").address
    out.line(words.LET_IN.format(role="bench", minutes=minutes, address=first))
    out.raw(qr_in_text(first).rstrip("\n"))
    if not paired.is_encrypted:
        out.line(f"! {words.NOT_ENCRYPTED}")
