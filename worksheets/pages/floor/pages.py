"""The shop's screens as HTML, filled from what they show, and what is sent beside them.

Nothing is fetched from anywhere else; no script and no style stands in a page, so that a policy can forbid both.
Every text that comes from a job is escaped (autoescape), and set apart from the writing direction around it
(bdi)."""

from __future__ import annotations

import base64
import gzip
import hashlib
import json
import unicodedata
from collections.abc import Mapping, Sequence
from functools import cache
from importlib.resources import files
from typing import NamedTuple, Protocol
from urllib.parse import quote

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from truethrow.worksheets.pages.floor.build_state import BuildState
from truethrow.worksheets.pages.floor.state import (
    Ahead,
    BenchState,
    Board,
    CardNow,
    Cards,
    Device,
    Pairing,
    Role,
    as_data,
)
from truethrow.worksheets.pages.floor.station_state import StationState
from truethrow.worksheets.words import build_words
from truethrow.worksheets.words import floor_words as words
from truethrow.worksheets.words import station_screen_words as pad

_HERE = files(__package__)
_FONTS = files("truethrow.worksheets").joinpath("prints", "fonts")
# What the pages need and nothing more: whoever sends them sends this, too.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)


class OfJob(Protocol):
    """What is shown of one job. job: its name in addresses; name: what people call it."""

    @property
    def job(self) -> str: ...

    @property
    def name(self) -> str: ...

    @property
    def title(self) -> str: ...


class Asset(NamedTuple):
    """zipped: the same as most browsers take it; tag: tells one version of it from another."""

    raw: bytes
    type: str
    zipped: bytes
    tag: str


def _asset(raw: bytes, kind: str) -> Asset:
    return Asset(raw, kind, gzip.compress(raw, mtime=0), f'"{hashlib.sha256(raw).hexdigest()[:16]}"')


@cache
def assets() -> Mapping[str, Asset]:
    """All that a page may ask for, by name: a fixed list, so that no path is ever made of what was asked."""
    own = {
        name: _asset(_HERE.joinpath(name).read_bytes(), kind)
        for name, kind in (
            ("floor.css", "text/css; charset=utf-8"),
            ("desk.css", "text/css; charset=utf-8"),
            ("station.css", "text/css; charset=utf-8"),
            ("floor.js", "text/javascript; charset=utf-8"),
            ("desk.js", "text/javascript; charset=utf-8"),
            ("station.js", "text/javascript; charset=utf-8"),
            ("sign.svg", "image/svg+xml"),
        )
    }
    fonts = ("B612-Regular.ttf", "B612-Bold.ttf")  # those of the cards
    return own | {name: _asset(_FONTS.joinpath(name).read_bytes(), "font/ttf") for name in fonts}


def board_page(board: Board, *, devices: bool = False, cards: bool = False) -> str:
    """devices: whether whoever looks may see which devices are let in; cards: may ask whether a card is good."""
    return _filled("board.html", board=board, devices=devices, cards=cards)


def bench_page(state: BenchState, device: str) -> str:
    """device: the id of the one that looks."""
    return _filled(
        "bench.html",
        state=state,
        state_json=json.dumps(as_data(state), ensure_ascii=False),
        job_in_address=quote(state.job, safe=""),
        device=device,
        do_now=do_now(state),
        note=note,
        watches=bool(state.taker) and state.taker != device,
        looks=only_looks(state),
        longest=max((name for row in state.rows for name in (row.name, *row.names)), key=len, default=""),
        at_hand=lambda texts, state: texts[state.column] if 0 <= state.column < len(texts) else "",
    )


def build_page(state: BuildState, main: str, device: str, role: Role) -> str:
    """The builder's page of a job. main: its middle, as build_main makes it for whoever looks."""
    return desk_page("build", build_words.BUILD, state, main, device, role)


def build_main(state: BuildState, *, acts: bool) -> str:
    """What the builder's page shows of a state. acts: whether whoever looks may do anything there."""
    return _filled("build.html", state=state, acts=acts, own=build_words, job_in_address=quote(state.job, safe=""))


def ahead_page(found: Ahead, by: Sequence[str]) -> str:
    """What lies ahead of a job. by: what candidates may be sorted by."""
    headings = {"candidates": build_words.CANDIDATES, "shelf": build_words.SHELF, "what-if": build_words.WHAT_IF}
    own = {"own": build_words, "heading": headings[found.what], "by": by}
    return _filled("ahead.html", ahead=found, job_in_address=quote(found.job, safe=""), **own)


def station_page(state: StationState, main: str, device: str, role: Role) -> str:
    """The station's page of a job. main: its middle, as station_main makes it for whoever looks."""
    return desk_page("station", pad.STATION, state, main, device, role, "station.html", pad=pad)


# The views of the station's page, in the order of the work; and which is open first, where it is not called as
# what comes next.
VIEWS = ("bobweights", "spin", "prove", "hole", "spins", "sign")
_FIRST = {"signed": "sign", "look": "look", "stop": "look"}


def station_main(state: StationState) -> str:
    """What the station's page shows of a state."""
    first, hole = _FIRST.get(state.stage, state.stage), state.hole
    as_told = json.dumps({"number": hole.number, "plan": state.plan}) if hole else ""
    return _filled(
        "station_main.html",
        state=state,
        pad=pad,
        views=VIEWS,
        first_view=first,
        hole_typed=as_told,
        said_of={one.id: one.said for one in state.cancelings},
        job_in_address=quote(state.job, safe=""),
    )


def desk_page(
    page: str,
    heading: str,
    state: OfJob,
    main: str,
    device: str,
    role: Role,
    template: str = "_desk.html",
    **more: object,
) -> str:
    """A page of one job whose middle is put in place whole. page: its name in addresses; main: the middle, as it
    was filled in here; template, more: of a page that has something beside its middle."""
    return _filled(
        template,
        page=page,
        heading=heading,
        state=state,
        main=Markup(main),
        device=device,
        role=role,
        job_in_address=quote(state.job, safe=""),
        **more,
    )


def only_looks(state: BenchState) -> bool:
    """Whether a state is that of a screen which may do nothing: a hand may always do something."""
    return not state.may and not state.ended


def do_now(state: BenchState) -> str:
    """What stands above the part; nothing above a check of the scale, which says itself what to do."""
    if not state.is_part or state.ended or only_looks(state):
        return ""
    if state.live.stop:
        return words.DO_STOP
    if state.scale != "live":
        return words.DO_TYPE
    return words.DO_GRIND if state.live.to_go else words.DO[state.live.standing]


def note(state: BenchState) -> str:
    """What stands below the part, where that is more than its name again."""
    return "" if state.step_note.lower() == state.step.lower() else state.step_note


def pair_page(pairing: Pairing | None = None, *, code: str = "", fault: str = "") -> str:
    """The code for a device to come; without one, the form on the device itself. code: one that came with its
    address; fault: why it was not let in."""
    raw = pairing.qr.encode() if pairing else b""
    qr = f"data:image/svg+xml;base64,{base64.b64encode(raw).decode()}"
    return _filled("pair.html", pairing=pairing, qr=qr, code=code, fault=fault)


def card_page(card: CardNow) -> str:
    """Whether a card on paper is still good; before that, the form that asks for its code."""
    return _filled("card.html", card=card)


def new_page(layouts: Sequence[str], sent: Mapping[str, str], faults: Sequence[str] = ()) -> str:
    """The form for a new job. layouts: their names; sent: what was filled in; faults: why no job was made of that,
    a line each."""
    return _filled("new.html", layouts=layouts, sent=sent, faults=faults)


def cards_page(cards: Cards, *, may: bool) -> str:
    """The printed cards of a job. may: whether whoever looks may have them made."""
    return _filled("cards.html", cards=cards, may=may)


def devices_page(devices: Sequence[Device], *, roles: Sequence[Role] = (), fault: str = "") -> str:
    """roles: in which another device may be let in from here."""
    return _filled("devices.html", devices=devices, roles=roles, fault=fault)


def no_line_page(why: str, *, heading: str, again: str = "/") -> str:
    """A page in the place of one that cannot be shown. heading: what is the matter; again: its address."""
    return _filled("no_line.html", why=why, heading=heading, again=again)


def wide(text: str) -> str:
    """How wide a text is, as the style sheet has sizes for it; the script's rule, too."""
    signs = sum(2 if unicodedata.east_asian_width(sign) in "WF" else 1 for sign in text)
    return next((name for name, most in (("s", 9), ("m", 13), ("l", 22), ("xl", 44)) if signs <= most), "xxl")


def figure_wide(text: str) -> str:
    """The same of a figure: the signs that it has, at least five and at most ten."""
    return str(min(10, max(5, len(text))))


def _filled(name: str, **values: object) -> str:
    return _templates().get_template(name).render(values, words=words, wide=wide, figure_wide=figure_wide)


@cache
def _templates() -> Environment:
    return Environment(
        loader=FileSystemLoader(str(_HERE)), autoescape=True, undefined=StrictUndefined, trim_blocks=True
    )
