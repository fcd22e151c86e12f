"""Which address answers what. A page is made of the same values as the events behind it."""

from __future__ import annotations

import asyncio
import contextlib
import json
from collections.abc import AsyncIterator, Awaitable, Callable, Collection, Hashable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple
from urllib.parse import parse_qs, quote

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response, StreamingResponse
from starlette.routing import Route

from truethrow.balance.base.errors import NotSaved, TruethrowError
from truethrow.balance.log.place import Snapshot
from truethrow.cli.floor import ahead, cards, new_job
from truethrow.cli.floor.bench import Bench, Who, state_event
from truethrow.cli.floor.build import Build
from truethrow.cli.floor.by_hand import lines_of, told_of
from truethrow.cli.floor.card_now import card_now
from truethrow.cli.floor.channel import BEAT_S, RETRY, Channel, Event, event, said
from truethrow.cli.floor.desk import Desk, Work, shown_event
from truethrow.cli.floor.devices import MAY_BUILD, MAY_PRINT, MAY_SPIN, MAY_WEIGH, Refused, Role
from truethrow.cli.floor.guard import App, Guard, Scope
from truethrow.cli.floor.pairing import TO_LET_IN, Paired, asker, is_at_the_computer
from truethrow.cli.floor.posts import LONGEST, post_of
from truethrow.cli.floor.scales import Scales
from truethrow.cli.floor.station import Station
from truethrow.cli.floor.watching import Watch
from truethrow.worksheets.pages.floor import pages
from truethrow.worksheets.pages.floor.state import Ahead, Board, CardNow, as_data
from truethrow.worksheets.words import build_words, station_screen_words
from truethrow.worksheets.words import floor_words as heads
from truethrow.worksheets.words import server_words as words

if TYPE_CHECKING:
    from pathlib import Path

    from truethrow.balance.base.files import KeptText
    from truethrow.balance.log.place import JobInBook
    from truethrow.cli.floor.shop import Shop

LOOK_S = 0.1
# A bench that no screen watches for so long gives its scale back.
IDLE_S = 30.0
LARGEST_BODY = 20_000
LARGEST_JOB = 400_000
LONGEST_CODE = 400
# What lies ahead and is not worked out by then is waited for on the page; so much of it is kept.
AT_ONCE_S, MOST_FIGURES = 1.5, 20
LONGEST_ANSWER_S = 20.0
EVENTS = "text/event-stream; charset=utf-8"
Handler = Callable[[Request, Who], Awaitable[Response]]


class Kind(NamedTuple):
    """A kind of desk. page: its name in addresses; may: the roles that do something there; only_looks: what others
    are told; opens: makes what it does, for a job by its name and where that is, given what is to be called when
    something changes by itself; filled: its page, of a desk, for whoever looks."""

    page: str
    may: frozenset[Role]
    only_looks: str
    opens: Callable[[str, Callable[[], Path | JobInBook], Callable[[], None]], Work]
    filled: Callable[..., str]


def _build_page(desk: Desk, who: Who, *, acts: bool) -> str:
    assert isinstance(desk.work, Build)
    main = desk.shown.hands if acts else desk.shown.eyes
    return pages.build_page(desk.work.made.state, main, who.device, who.role)


def _station_page(desk: Desk, who: Who, *, acts: bool) -> str:
    assert isinstance(desk.work, Station)
    main = desk.shown.hands if acts else desk.shown.eyes
    return pages.station_page(desk.work.made, main, who.device, who.role)


BUILD = Kind("build", MAY_WEIGH, build_words.MAY_NOT_TICK, Build, _build_page)
STATION = Kind("station", MAY_SPIN, station_screen_words.MAY_ONLY_LOOK, Station, _station_page)
DESKS = (BUILD, STATION)
AHEAD = ("candidates", "shelf", "what-if")
ASKED = ("file", "by", "pick", *build_words.WHAT_IF_FIELDS)


class Floor:
    """The floor of one shop: its first look, then its application from its start to its end. names: of this
    computer; owner: whose every screen is, where nobody is to be let in; paired: who was, else; is_ending: tells
    whether the server is to end; show_code: shows a code on the shop's own screen. Raises BadInput where the shop
    cannot be read."""

    def __init__(
        self,
        shop: Shop,
        names: Collection[str],
        *,
        owner: Who | None = None,
        paired: Paired | None = None,
        scales: Scales | None = None,
        profile: Path | KeptText | None = None,
        show_code: Callable[[str], None] = lambda address: None,
    ) -> None:
        self.shop, self.paired, self.scales = shop, paired, scales or Scales()
        self.is_ending: Callable[[], bool] = lambda: False
        self.board = Channel()
        self.benches: dict[str, Bench] = {}
        self.desks: dict[tuple[str, str], Desk] = {}
        self._owner = owner or Who("this-computer", "this computer", "owner", "")
        self._profile, self._show_code = profile, show_code
        self._opening, self._one_at_a_time = asyncio.Lock(), asyncio.Lock()
        self._figures: dict[tuple[str, ...], asyncio.Task[Ahead]] = {}
        self.watch = Watch(shop, self._recorded, self._board_changed, self._who_weighs, self._touched)
        self.watch.look()
        routes = [
            Route("/", self._for(self.show_board)),
            Route("/board/events", self._for(self.board_events)),
            Route("/bench/{job}", self._for(self.show_bench)),
            Route("/bench/{job}/events", self._for(self.bench_events)),
            Route("/bench/{job}/do", self._for(self.do), methods=["POST"]),
            Route("/bench/{job}/alive", self._for(self.alive), methods=["POST"]),
            *(Route(f"/build/{{job}}/{what}", self._for(self._ahead(what))) for what in AHEAD),
            Route("/build/{job}/drawing/{plan}/{part}", self._for(self.show_drawing)),
            *(route for kind in DESKS for route in self._desk_routes(kind)),
            Route("/new", self._for(self.show_new)),
            Route("/new", self._for(self.begin), methods=["POST"]),
            Route("/cards/{job}", self._for(self.show_cards)),
            Route("/cards/{job}", self._for(self.make_cards), methods=["POST"]),
            Route("/cards/{job}/{file}", self._for(self.open_card)),
            Route("/card", self._for(self.show_card)),
            Route("/pair", self.show_pair),
            Route("/pair", self.pair, methods=["POST"]),
            Route("/devices", self._for(self._owners(self.show_devices))),
            Route("/devices/code", self._for(self._owners(self.new_code)), methods=["POST"]),
            Route("/devices/{device}/out", self._for(self._owners(self.turn_out)), methods=["POST"]),
            Route("/assets/{name}", self.asset),
        ]
        handlers: Any = {404: self._no_page, 405: self._no_page}
        made = Starlette(routes=routes, lifespan=self._lives, exception_handlers=handlers)
        self.app: App = Guard(made, names, refused)

    # From start to end

    @contextlib.asynccontextmanager
    async def _lives(self, app: Starlette) -> AsyncIterator[None]:
        self.watch.start()
        looks = asyncio.create_task(self._look_after())
        yield
        looks.cancel()
        for task in self._figures.values():
            task.cancel()
        await asyncio.to_thread(self.watch.close)
        for bench in self.benches.values():
            await asyncio.to_thread(bench.close)
        for desk in self.desks.values():
            await asyncio.to_thread(desk.close)

    async def _look_after(self) -> None:
        """Close benches and desks that nobody watches; once the server is told to end, end the streams, which
        would hold it."""
        idle_since: dict[Hashable, float] = {}
        while not self.is_ending():
            await asyncio.sleep(LOOK_S)
            now_s = asyncio.get_running_loop().time()
            for name, bench in list(self.benches.items()):
                if bench.is_alive and bench.is_watched:
                    idle_since.pop(name, None)
                elif not bench.is_alive or now_s - idle_since.setdefault(name, now_s) > IDLE_S:
                    idle_since.pop(name, None)
                    async with self._opening:
                        self.benches.pop(name, None)
                        await asyncio.to_thread(bench.close)
                    self.watch.look_again(name)
            for key, desk in list(self.desks.items()):
                if desk.is_watched:
                    idle_since.pop(key, None)
                elif now_s - idle_since.setdefault(key, now_s) > IDLE_S:
                    idle_since.pop(key, None)
                    async with self._opening:
                        self.desks.pop(key, None)
                        await asyncio.to_thread(desk.close)
        self.board.close()
        for bench in self.benches.values():
            bench.channel.close()
        for desk in self.desks.values():
            desk.channel.close()

    # What the watch tells, in its threads

    def _touched(self, job: str) -> None:
        if (bench := self.benches.get(job)) is not None:
            bench.look()
        for (_, of), desk in list(self.desks.items()):
            if of == job:
                desk.look()

    def _recorded(self, job: str, records: list[dict[str, Any]]) -> None:
        self.board.say(*(Event("record", event("record", one)) for one in records))
        if (bench := self.benches.get(job)) is not None:
            numbered = (Event("record", event("record", one, one["number"]), one["number"]) for one in records)
            bench.channel.say(*numbered)

    def _board_changed(self, board: Board) -> None:
        self.board.say(Event("board", event("board", as_data(board), board.head)))

    def _who_weighs(self, job: str) -> str:
        bench = self.benches.get(job)
        return bench.taker.name if bench is not None and bench.taker is not None else ""

    # Whose screen it is

    def _for(self, handler: Handler) -> Callable[[Request], Awaitable[Response]]:
        """A handler for those who were let in."""

        async def let_in(request: Request) -> Response:
            if (who := self._who(request.scope)) is None:
                if request.method == "POST" or request.url.path.endswith("/events"):
                    return unanswered(403, words.NOT_PAIRED)
                return HTMLResponse(pages.pair_page(fault=words.NOT_PAIRED), 403)
            return await handler(request, who)

        return let_in

    def _who(self, scope: Scope) -> Who | None:
        return self._owner if self.paired is None else self.paired.who(scope)

    def _owners(self, handler: Handler) -> Handler:
        """A handler for the owner alone, at the shop's computer."""

        async def owns(request: Request, who: Who) -> Response:
            if self.paired is None or who.role != "owner" or not is_at_the_computer(request.scope):
                return HTMLResponse(pages.no_line_page(words.OWNER_ONLY, heading=heads.OWNER_ONLY), 403)
            return await handler(request, who)

        return owns

    async def show_pair(self, request: Request) -> Response:
        return HTMLResponse(pages.pair_page(code=request.query_params.get("code", "")[:40]))

    async def pair(self, request: Request) -> Response:
        sent = await _form(request)
        code, initials = sent.get("code", ""), sent.get("initials", "")
        if self.paired is None:
            return await self._no_page(request, None)
        try:
            is_here = is_at_the_computer(request.scope)
            cookie = await asyncio.to_thread(
                self.paired.let_in, code, initials, asker(request.scope), is_here=is_here
            )
        except Refused as refusal:
            return HTMLResponse(pages.pair_page(code=code[:40], fault=str(refusal)), 403)
        except TruethrowError as error:
            return HTMLResponse(pages.pair_page(code=code[:40], fault=told_of(error)), 500)
        return RedirectResponse("/", 303, {"set-cookie": cookie})

    async def show_devices(self, request: Request, who: Who) -> Response:
        assert self.paired is not None
        return HTMLResponse(pages.devices_page(self.paired.shown(who), roles=TO_LET_IN))

    async def new_code(self, request: Request, who: Who) -> Response:
        assert self.paired is not None
        role = (await _form(request)).get("role", "")
        found = next((one for one in TO_LET_IN if one == role), None)
        if found is None:
            return HTMLResponse(pages.no_line_page(words.NO_REQUEST, heading=heads.NOT_DONE), 400)
        pairing = await asyncio.to_thread(self.paired.new_code, found)
        self._show_code(pairing.address)
        return HTMLResponse(pages.pair_page(pairing))

    async def turn_out(self, request: Request, who: Who) -> Response:
        assert self.paired is not None
        try:
            await asyncio.to_thread(self.paired.devices.turn_out, request.path_params["device"])
        except TruethrowError as error:
            return HTMLResponse(pages.no_line_page(told_of(error), heading=heads.NOT_DONE), 500)
        return RedirectResponse("/devices", 303)

    # The board

    async def show_board(self, request: Request, who: Who) -> Response:
        may_see = self.paired is not None and who.role == "owner" and is_at_the_computer(request.scope)
        return HTMLResponse(pages.board_page(self.watch.board, devices=may_see, cards=True))

    async def board_events(self, request: Request, who: Who) -> Response:
        async def first() -> AsyncIterator[Event]:
            now = self.watch.board
            yield Event("board", event("board", as_data(now), now.head))

        return self._stream(request, self.board, who, first)

    async def show_card(self, request: Request, who: Who) -> Response:
        """Whether a card is still good, once its code is asked for: by anybody who was let in."""
        code = request.query_params.get("code", "")[:LONGEST_CODE]
        asked = await asyncio.to_thread(card_now, self.shop, code) if code.strip() else CardNow()
        return HTMLResponse(pages.card_page(asked))

    # A new job

    async def show_new(self, request: Request, who: Who) -> Response:
        return self._new_page({})

    def _new_page(self, sent: Mapping[str, str], faults: Sequence[str] = (), status: int = 200) -> Response:
        from truethrow.balance.engine.layout import GENERIC  # noqa: PLC0415

        return HTMLResponse(pages.new_page([*GENERIC], sent, faults), status)

    async def begin(self, request: Request, who: Who) -> Response:
        sent = await _form(request, LARGEST_JOB)
        if who.role not in MAY_BUILD:
            return self._new_page(sent, [words.MAY_NOT_BEGIN.format(role=who.role)], 403)
        try:
            name = await asyncio.to_thread(new_job.begin, self.shop, sent, who.initials)
        except TruethrowError as error:
            return self._new_page(sent, lines_of(error), 409)
        self.watch.look_now()
        await asyncio.to_thread(self.shop.marks)
        return RedirectResponse(f"/bench/{quote(name, safe='')}", 303)

    # The printed cards of a job

    async def show_cards(self, request: Request, who: Who) -> Response:
        return await self._cards_page(request, who)

    async def _cards_page(self, request: Request, who: Who, fault: str = "", status: int = 200) -> Response:
        name = request.path_params["job"]
        try:
            found = await asyncio.to_thread(lambda: cards.cards_of(Snapshot(self.shop.at(name)), name, fault))
        except TruethrowError as error:
            again = f"/cards/{quote(name, safe='')}"
            return HTMLResponse(pages.no_line_page(told_of(error), heading=heads.NOT_DONE, again=again), 409)
        return HTMLResponse(pages.cards_page(found, may=who.role in MAY_PRINT), status)

    async def make_cards(self, request: Request, who: Who) -> Response:
        name = request.path_params["job"]
        if who.role not in MAY_PRINT:
            return await self._cards_page(request, who, words.MAY_NOT_PRINT.format(role=who.role), 403)
        at = self.paired.address if self.paired is not None else ""
        try:
            await asyncio.to_thread(lambda: cards.make(Snapshot(self.shop.at(name)), who.initials, at))
        except TruethrowError as error:
            return await self._cards_page(request, who, "\n".join(lines_of(error)), 409)
        return RedirectResponse(f"/cards/{quote(name, safe='')}", 303)

    async def open_card(self, request: Request, who: Who) -> Response:
        name, file = request.path_params["job"], request.path_params["file"]
        try:
            found = await asyncio.to_thread(lambda: cards.card(Snapshot(self.shop.at(name)), file))
        except TruethrowError:
            found = None
        if found is None:
            return await self._no_page(request, None)
        return Response(found.raw, media_type=found.type, headers={"content-security-policy": cards.CARD_POLICY})

    # A bench

    async def show_bench(self, request: Request, who: Who) -> Response:
        try:
            bench = await self._bench(request.path_params["job"])
        except TruethrowError as error:
            again = f"/bench/{quote(request.path_params['job'], safe='')}"
            return HTMLResponse(pages.no_line_page(told_of(error), heading=heads.NOT_OPEN, again=again), 409)
        state = bench.state if who.role in MAY_WEIGH else _to_eyes(bench)
        return HTMLResponse(pages.bench_page(state, who.device))

    async def bench_events(self, request: Request, who: Who) -> Response:
        try:
            bench = await self._bench(request.path_params["job"])
        except TruethrowError as error:
            return StreamingResponse(self._refusing(request, told_of(error)), media_type=EVENTS)
        last = request.headers.get("last-event-id", "")

        async def first() -> AsyncIterator[Event]:
            if last.isascii() and last.isdecimal() and len(last) < 10:
                for one in await asyncio.to_thread(self.watch.records_since, bench.name, int(last)):
                    yield Event("record", event("record", one, one["number"]), one["number"])
            if request.query_params.get("at") == "grinder":
                bench.goes_on_grinding(who)
            yield state_event(bench.state)

        return self._stream(request, bench.channel, who, first, bench)

    async def _refusing(self, request: Request, why: str) -> AsyncIterator[bytes]:
        """Why a bench does not open, each second, until it does."""
        yield RETRY
        while not self.is_ending() and self._who(request.scope) is not None:
            yield event("refused", {"said": why})
            await asyncio.sleep(BEAT_S)
            try:
                await self._bench(request.path_params["job"])
                return
            except TruethrowError as error:
                why = told_of(error)

    async def do(self, request: Request, who: Who) -> Response:
        if who.role not in MAY_WEIGH:
            return unanswered(403, words.MAY_ONLY_LOOK.format(role=who.role))
        try:
            post = post_of(json.loads(await _body(request)))
        except (ValueError, RecursionError):
            return unanswered(400, words.NO_REQUEST)
        try:
            bench = await self._bench(request.path_params["job"])
            done = await asyncio.wait_for(asyncio.wrap_future(bench.ask(post, who)), LONGEST_ANSWER_S)
        except NotSaved as error:
            return unanswered(503, told_of(error))
        except TruethrowError as error:
            return unanswered(409, told_of(error))
        except (TimeoutError, asyncio.CancelledError):
            return unanswered(503, words.NO_ANSWER)
        return JSONResponse(as_data(done))

    async def alive(self, request: Request, who: Who) -> Response:
        """A sign of life of a screen, once a second: somebody can see which step it shows. Opens no bench."""
        if who.role not in MAY_WEIGH:
            return unanswered(403, words.MAY_ONLY_LOOK.format(role=who.role))
        try:
            sent = json.loads(await _body(request))
        except (ValueError, RecursionError):
            sent = None
        if not isinstance(sent, dict) or not isinstance(step := sent.get("step"), str):
            return unanswered(400, words.NO_REQUEST)
        if (bench := self.benches.get(request.path_params["job"])) is not None:
            bench.alive(who, step)
        return Response(status_code=204)

    async def _bench(self, job: str) -> Bench:
        """The bench of a job, opened where it is not. Raises TruethrowError as weigh does."""
        async with self._opening:
            bench = self.benches.get(job)
            if bench is None or not bench.is_alive:
                bench = await asyncio.to_thread(self._opened, job)
                self.benches[job] = bench
            return bench

    def _opened(self, job: str) -> Bench:
        self.shop.at(job)
        return Bench(
            job,
            lambda: self.shop.at(job),
            self.scales,
            self._profile,
            changed=lambda: self.watch.look_again(job),
            recorded=self.watch.look_now,
        )

    # The desks: pages of one job that are worked out whole

    def _desk_routes(self, kind: Kind) -> list[Route]:
        """The addresses of one kind of desk."""

        async def show(request: Request, who: Who) -> Response:
            name = request.path_params["job"]
            try:
                desk = await self._desk(kind, name)
            except TruethrowError as error:
                again = f"/{kind.page}/{quote(name, safe='')}"
                return HTMLResponse(pages.no_line_page(told_of(error), heading=heads.NOT_OPEN, again=again), 409)
            return HTMLResponse(kind.filled(desk, who, acts=who.role in kind.may))

        async def events(request: Request, who: Who) -> Response:
            try:
                desk = await self._desk(kind, request.path_params["job"])
            except TruethrowError as error:
                return unanswered(409, told_of(error))

            async def first() -> AsyncIterator[Event]:
                yield shown_event(desk.shown)

            return self._stream(request, desk.channel, who, first, desk, kind.may)

        async def do(request: Request, who: Who) -> Response:
            if who.role not in kind.may:
                return unanswered(403, kind.only_looks.format(role=who.role))
            try:
                post = post_of(json.loads(await _body(request)), LONGEST)
            except (ValueError, RecursionError):
                return unanswered(400, words.NO_REQUEST)
            try:
                desk = await self._desk(kind, request.path_params["job"])
                done = await asyncio.to_thread(desk.ask, post, who)
            except NotSaved as error:
                return unanswered(503, told_of(error))
            except TruethrowError as error:
                return unanswered(409, told_of(error))
            return JSONResponse(as_data(done))

        at = f"/{kind.page}/{{job}}"
        return [
            Route(at, self._for(show)),
            Route(f"{at}/events", self._for(events)),
            Route(f"{at}/do", self._for(do), methods=["POST"]),
        ]

    async def _desk(self, kind: Kind, job: str) -> Desk:
        """The desk of a job, opened where it is not. Raises TruethrowError for a job that is not there."""
        async with self._opening:
            desk = self.desks.get((kind.page, job))
            if desk is None or not desk.is_alive:
                await asyncio.to_thread(self.shop.at, job)
                desk = await asyncio.to_thread(
                    Desk, job, lambda look: kind.opens(job, lambda: self.shop.at(job), look)
                )
                self.desks[kind.page, job] = desk
            return desk

    async def show_drawing(self, request: Request, who: Who) -> Response:
        """A drawing of the builder's page, of the plan that it shows now."""
        asked = request.path_params
        try:
            desk = await self._desk(BUILD, asked["job"])
        except TruethrowError:
            return await self._no_page(request, None)
        assert isinstance(desk.work, Build)
        if (svg := desk.work.made.drawings.get((asked["plan"], asked["part"]))) is None:
            return await self._no_page(request, None)
        kept = {"cache-control": "private, max-age=3600"}  # a plan has another name as soon as a figure is another
        return Response(svg, media_type="image/svg+xml", headers=kept)

    def _ahead(self, what: str) -> Handler:
        """What lies ahead of a job, to be read by anybody who was let in."""

        async def show(request: Request, who: Who) -> Response:
            from truethrow.balance.planning.candidates import BY  # noqa: PLC0415

            name, query = request.path_params["job"], request.query_params
            asked = {key: query.get(key, "")[:LONGEST_CODE] for key in ASKED}
            try:
                place = await asyncio.to_thread(self.shop.at, name)
                files = await asyncio.to_thread(ahead.files_of, place)
                if what == "candidates" and asked["file"] not in files.candidates:
                    return await self._no_page(request, None)
                if what == "shelf" and not files.has_loose_parts:
                    return await self._no_page(request, None)
                if what == "what-if" and not any(asked[key].strip() for key in build_words.WHAT_IF_FIELDS):
                    found = Ahead(name, what, asked)
                else:
                    found = await self._figured(place, name, what, asked)
            except TruethrowError as error:
                again = f"/build/{quote(name, safe='')}"
                return HTMLResponse(pages.no_line_page(told_of(error), heading=heads.NOT_OPEN, again=again), 409)
            return HTMLResponse(pages.ahead_page(found, [*BY]))

        return show

    async def _figured(self, place: Path | JobInBook, name: str, what: str, asked: dict[str, str]) -> Ahead:
        """What lies ahead, once it is worked out, one after the other, since each takes a whole processor; it is
        begun where nobody has asked for it yet."""

        async def work_out() -> Ahead:
            async with self._one_at_a_time:
                return await ahead.ahead(place, name, what, asked)

        stamp = await asyncio.to_thread(ahead.stamp, place)
        key = name, what, *asked.values(), stamp, repr(self.shop.marks().get(name))
        if (task := self._figures.get(key)) is None:
            while len(self._figures) >= MOST_FIGURES:
                self._figures.pop(next(iter(self._figures))).cancel()
            task = self._figures[key] = asyncio.create_task(work_out())
        done, _ = await asyncio.wait({task}, timeout=AT_ONCE_S)
        if not done:
            return Ahead(name, what, asked, is_done=False)
        found = task.result()
        if found.fault == build_words.NO_FIGURES:  # whoever tries again has it worked out again
            self._figures.pop(key, None)
        return found

    # What all share

    def _stream(
        self,
        request: Request,
        channel: Channel,
        who: Who,
        first: Callable[[], AsyncIterator[Event]],
        watched: Bench | Desk | None = None,
        may: Collection[Role] = MAY_WEIGH,
    ) -> Response:
        """Events, each record once: what was said while the first of them were sent is not said again. may: the
        roles that do something there."""

        def shown(one: Event) -> bytes:
            return one.to_eyes if one.to_eyes and who.role not in may else one.text

        async def stream() -> AsyncIterator[bytes]:
            listener = channel.join()
            told = self.watch.head(watched.name) if isinstance(watched, Bench) else 0
            if watched is not None:
                watched.join(who)
            try:
                yield RETRY
                async for one in first():
                    told = max(told, one.number)
                    yield shown(one)
                async for one in said(listener):
                    if 0 < one.number <= told:
                        continue
                    if one.kind == "beat" and self._who(request.scope) is None:
                        return  # turned out
                    yield shown(one)
            finally:
                channel.leave(listener)
                if watched is not None:
                    watched.leave(who)

        return StreamingResponse(stream(), media_type=EVENTS, headers={"x-accel-buffering": "no"})

    async def asset(self, request: Request) -> Response:
        found = pages.assets().get(request.path_params["name"])
        if found is None:
            return await self._no_page(request, None)
        headers = {"cache-control": "no-cache", "etag": found.tag, "vary": "accept-encoding"}
        if request.headers.get("if-none-match") == found.tag:
            return Response(status_code=304, headers=headers)
        if "gzip" not in request.headers.get("accept-encoding", ""):
            return Response(found.raw, media_type=found.type, headers=headers)
        return Response(found.zipped, media_type=found.type, headers={**headers, "content-encoding": "gzip"})

    async def _no_page(self, request: Request, error: Any) -> Response:
        return HTMLResponse(pages.no_line_page(words.NO_SUCH_PAGE, heading=heads.NO_PAGE), 404)


def refused(scope: Scope, status: int, why: str) -> App:
    """The answer to what is not let through."""
    return HTMLResponse(pages.no_line_page(why, heading=heads.REFUSED), status)


def unanswered(status: int, why: str) -> Response:
    """The answer to what no bench has answered: a screen keeps what it sent, and sends it again."""
    return JSONResponse({"said": why}, status)


def _to_eyes(bench: Bench) -> Any:
    from dataclasses import replace  # noqa: PLC0415

    return replace(bench.state, may=())


async def _body(request: Request, most: int = LARGEST_BODY) -> bytes:
    """What was sent. Raises ValueError for more than any of our pages sends."""
    found = b""
    async for piece in request.stream():
        found += piece
        if len(found) > most:
            raise ValueError
    return found


async def _form(request: Request, most: int = LARGEST_BODY) -> dict[str, str]:
    """The fields of a form; none of what is no form of ours."""
    try:
        sent = parse_qs((await _body(request, most)).decode(), max_num_fields=10)
    except ValueError:
        return {}
    return {name: values[0] for name, values in sent.items()}
