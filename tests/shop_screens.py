"""A shop's screens without a shop: pages and events of states that a test makes, and what hands sent.

It records nothing; what it answers is what the test says. The real server is tests/cli/floor."""

from __future__ import annotations

import contextlib
import json
import threading
import time
from dataclasses import replace
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

from truethrow.worksheets.pages.floor import pages
from truethrow.worksheets.pages.floor.state import (
    Answer,
    BenchState,
    Board,
    BoardRow,
    CardNow,
    Device,
    Done,
    Live,
    News,
    Pairing,
    Question,
    Row,
    as_data,
)

LONG_ID = "a-job-with-a-very-long-id-of-forty-signs-1"
SIZES = ((360, 740), (820, 1180), (1280, 800))
KINDS = ("piston", "pin", "locks", "rings", "small end", "big end", "bearings")
PISTONS = ("613.4", "612.9", "", "613.1", "613.3", "612.8", "613.0", "613.2")
MAY = ("type", "again", "cancel", "readings", "skip", "back", "go")


def rows(now=3, labels="P3{}", readings=PISTONS, flagged=0, more=""):
    return tuple(
        Row(
            labels.format(number),
            (read, *("118.2", "2.1", "41.5", "", "", "")),
            number == now,
            "1.9 g above the others; weigh it again" if number == flagged else "",
            number,
            more=(more, *("",) * 6),
        )
        for number, read in enumerate(readings, start=1)
    )


AT_REST = BenchState(
    job="launch",
    title="Launch V8, invented",
    head=17,
    step_id="piston-3",
    step="Piston P33",
    step_note="weighed in 3, goes in 3",
    counted="18 of 56",
    live=Live("0.0", "g", "empty", "empty", stable=True),
    taken="taken: piston P32: 612.9",
    kinds=KINDS,
    column=0,
    rows=rows(),
    spread="spread 0.60 g, limit 1.00 g: too close to call",
    may=MAY,
    scale="live",
    taker="me",
    taker_name="tablet AB",
)
REASONS = (
    "another part was on the scale",
    "typed wrong",
    "touched, or not at rest",
    "the zero was off",
    "dirt or a tool on the scale",
)
CANCEL = Question(
    "r-17",
    "cancel 612.9 of piston P32, why",
    tuple(Answer("cancel", one, one) for one in REASONS),
    free=True,
)
CHANGED = Question(
    "post-1",
    "Since this screen last heard, piston P33 was weighed by bench-2: 613.1. "
    "Is 613.4 a second weighing of the same part?",
    (Answer("yes", "Yes, take it as a second weighing"), Answer("no", "No, drop it")),
)
HELD = "this can't be piston P33: put that one on; Enter takes this all the same"
AT_THE_GRINDER = replace(
    AT_REST,
    live=Live("1.2", "g", "at the crown; aim for 1.15 g (614.2 g, steady)", "stable", stable=True, to_go=True),
    target="target 613.0 g",
    caution="Grind only at the pad that is named. Eyes and lungs protected.",
    grinding=True,
    taken="",
    rows=rows(readings=(*PISTONS[:2], "614.2", *PISTONS[3:])),
    may=(*MAY, "weigh"),
)
STATES = {
    "empty": AT_REST,
    "settling": replace(AT_REST, live=Live("611.8", "g", "moving …", "settling")),
    "stable": replace(AT_REST, live=Live("613.1", "g", "steady", "stable", stable=True)),
    "taken": replace(
        AT_REST,
        step="Piston P34",
        live=Live("613.1", "g", "taken, lift it off", "taken", stable=True),
        taken="taken: piston P33: 613.1",
        rows=rows(now=4),
    ),
    "flagged": replace(
        AT_REST,
        step="Piston P34",
        live=Live("615.3", "g", "taken, lift it off", "taken", stable=True),
        taken="taken: piston P33: 615.3",
        flags=("1.9 g above the others; weigh it again",),
        rows=rows(now=4, readings=(*PISTONS[:2], "615.3", *PISTONS[3:]), flagged=3),
    ),
    "held": replace(
        AT_REST,
        live=Live("118.3", "g", "NOT TAKEN: not the part asked for?", "held", stable=True),
        doubts=("494.8 g below the others",),
        messages=(HELD,),
        may=("take", *MAY),
    ),
    "off": replace(
        AT_REST,
        live=Live("1.3", "g", "NOT AT ZERO: tare it", "off", stable=True),
        hold="the empty scale shows 1.3 g: tare it; nothing is taken until it shows zero",
    ),
    "unsaved": replace(
        AT_REST,
        live=Live("613.1", "g", "NOT SAVED: leave it on, Enter tries again", "unsaved", stable=True),
        messages=("NOT SAVED: no space left on the disk",),
        unsaved="613.1 of piston P33",
        saved=False,
        may=("take", "cancel"),
    ),
    "scale-lost": replace(AT_REST, live=Live(), scale="lost", messages=("the scale is silent",)),
    "typing": replace(AT_REST, live=Live(), scale="", may=("type", *MAY[1:])),
    "question": replace(AT_REST, question=CANCEL),
    "changed": replace(AT_REST, question=CHANGED),
    "grinder": AT_THE_GRINDER,
    "stop": replace(
        AT_THE_GRINDER,
        live=Live("STOP", "", "613.0 g, steady", "stable", stable=True, to_go=True, stop=True),
        caution="",
    ),
    "grinder-empty": replace(AT_THE_GRINDER, live=Live("0.0", "g", "empty", "empty", stable=True)),
    "grinder-touch": replace(
        AT_THE_GRINDER,
        live=Live(
            "0.1",
            "g",
            "to go at the crown: one light touch, then weigh it  (613.1 g, taken, lift it off)",
            "taken",
            stable=True,
            to_go=True,
        ),
        caution="",
        taken="taken: piston P33: 613.1",
        flags=(
            "0.1 g to go at the crown, the least that the scale can show: one light touch; let it cool and wipe "
            "it, then weigh it again",
        ),
    ),
    "grinder-below": replace(
        AT_THE_GRINDER,
        step="Piston P35",
        live=Live("612.4", "g", "taken, lift it off", "taken", stable=True),
        taken="taken: piston P33: 612.4",
        flags=(
            "piston P33 is 0.6 g below its target",
            "bobweight comes to a spread of 0.9 g, limit 1.0 g: inside",
            "new target: piston P35 612.6 g (was 613.0 g)",
        ),
        messages=("piston P33 is 0.6 g lighter than when it was weighed last: recorded as ground",),
    ),
    "grinder-held": replace(
        AT_THE_GRINDER,
        live=Live("118.3", "g", "NOT TAKEN: not the part asked for?", "held", stable=True),
        doubts=("494.8 g below the 613.1 g that it read last; is it this part?",),
        messages=(
            "refused: 118.3 g can't be piston P33, which read 613.1 g last: put that one on; if it is the one, "
            "weigh it anew: press Back to weighing, then Go to",
        ),
        may=("take", *MAY, "weigh"),
    ),
    "grinder-lost": replace(AT_THE_GRINDER, live=Live(), scale="lost", messages=("the scale is silent",)),
    "grinder-zero": replace(
        AT_THE_GRINDER,
        step="Empty the scale: zero, start of the session",
        step_note="",
        is_part=False,
        target="",
        caution="",
        column=-1,
        rows=(),
    ),
    "grinder-done": replace(
        AT_THE_GRINDER,
        step="Nothing is to be ground.",
        step_id="",
        step_note="",
        is_part=False,
        target="",
        caution="",
        live=Live(),
        counted="4 of 4",
        next_step="match the set (on its Build page)",
        column=-1,
        rows=(),
        may=("again", "cancel", "readings", "back", "go", "weigh"),
    ),
    "zero": replace(
        AT_REST,
        step="Empty the scale: zero, start of the session",
        step_note="",
        is_part=False,
        column=-1,
        rows=(),
        taken="",
    ),
    "watching": replace(AT_REST, taker="other", may=("take-over",)),
    "looks": replace(AT_REST, taker="", taker_name="", may=()),
    "ended": replace(
        AT_REST,
        live=Live(),
        ended="the job was replaced under this bench: start it again",
        may=(),
    ),
    "done": replace(
        AT_REST,
        step="Everything is weighed.",
        step_id="",
        step_note="",
        is_part=False,
        counted="56 of 56",
        next_step="match, before anything is ground (on its Build page)",
        column=-1,
        rows=(),
    ),
    "japanese": replace(
        AT_REST,
        name="船外機-7",
        title="船外機エンジン、長い題名のついた仕事で画面に入りきらないもの",
        step="Piston ピストン三番の印",
        step_note="piston ピストン三番の印 (weighed in 3, goes in 5)",
        rows=rows(labels="ピストン{}番の印"),
    ),
    "arabic": replace(
        AT_REST,
        name="محرك-٧",
        title="محرك قارب طويل الاسم جدا",
        step="Piston مكبس ٣",
        step_note="piston مكبس ٣ (weighed in 3, goes in 5)",
        rows=rows(labels="مكبس {}"),
        flags=("1.9 g above the others; weigh it again",),
    ),
    "long": replace(
        AT_REST,
        name=LONG_ID,
        title="A title that goes on and on, as people type them when nobody stops them",
        step="Small end R-2024-11-0033/left bank",
        step_note="rod R-2024-11-0033/left bank, small end (weighed in 3, goes in 5)",
        live=Live("1846.25", "g", "moving …", "settling"),
        rows=rows(labels="R-2024-11-003{}/left"),
        flags=(
            "1.9 g above the others; weigh it again",
            "the ends and the whole rod are 2.1 g apart, allowed 0.4 g",
        ),
        messages=("R-2024-11-0032/left was weighed by bench-2; here it would be a repeat",),
    ),
}
BOARD = Board(
    "book.db",
    (
        BoardRow(
            "launch",
            "Launch V8, invented",
            "v8-90-crossplane",
            "weigh what is missing of cylinders 3, 4: touch here for its bench",
            "",
            "2026-12-04",
            "AB",
            "2026-11-30 14:02",
            "tablet AB",
        ),
        BoardRow(
            "pump-7",
            "Fire pump",
            "inline-3",
            "look at piston P2 again: touch here for its bench",
            "to be looked at again: cylinder 2 piston (outlier, 1.9 g)",
            "2026-11-27",
            "CD",
            "2026-11-29 09:10",
            "",
        ),
        BoardRow("船外機-7", "船外機エンジン", "inline-4", "spin it (on its Station page)", "", "", "", "", ""),
        BoardRow(
            LONG_ID,
            "A title that goes on and on, as people type them",
            "v12-60",
            "grind by the trim plan, the scale beside you: touch here for its bench",
            "piston spread 2.10 g is outside 1 g (and 2 more)",
            "2027-01-15",
            "somebody with a long name",
            "2026-11-28 17:44",
            "",
        ),
    ),
    5,
    ("pump-7",),
    ("old.toml: engine, layout: 'v9' is not known",),
)
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWX"
BOARDS = {
    "/board-40": replace(
        BOARD, rows=tuple(replace(BOARD.rows[0], job=f"j{i}", name=f"job-{i}") for i in range(40))
    ),
    "/board-empty": Board("book.db"),
    "/board-letters": replace(
        BOARD,
        rows=(
            replace(BOARD.rows[1], job="letters", name=LETTERS, title=LETTERS),
            replace(BOARD.rows[0], job="arabic", name="محرك-٧", title="محرك قارب طويل الاسم جدا"),
        ),
        late=("letters",),
    ),
}
DEVICES = (
    Device("d1", "shop computer", "owner", "2026-11-30 08:00", "now", is_this=True),
    Device("d2", "AB", "bench", "2026-11-30 08:05", "a minute ago"),
    Device("d3", "CD", "viewer", "2026-11-29 16:40", "yesterday"),
)
CURRENT_CARD = CardNow(
    "truethrow:launch-7:trim:1f6e0d2c9a40:88c1f02b6e",
    "Current: trim card of launch-7, digest 88c1f02b6e; cuts recorded so far: 2.",
    is_current=True,
)
OLD_CARD = CardNow(
    "truethrow:launch-7:station:1f6e0d2c9a40:88c1f02b6e",
    "Old station card: its figures have changed since (88c1f02b6e; now 00aa41ff09). Do not work from it.",
)
TURNED_OUT = "this device is not let in"
PAIRING = Pairing(
    "7K4M-9QPX",
    "http://192.0.2.7:8420/pair",
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><path d="M1 1h3v3H1z"/></svg>',
    "5 minutes",
    "bench",
)


class Quiet(ThreadingHTTPServer):
    daemon_threads = True

    def handle_error(self, request, client_address):
        """A browser that goes away, or a test that breaks the line: nothing to tell."""


class Screens:
    """A server of one bench. state: what it shows; beats: whether its line is alive; answer: what a post gets;
    status: of that answer; posts, signs: what came, of hands and of life; is_up: whether it answers at all;
    is_out: whether this device was turned out."""

    def __init__(self, state=AT_REST, board=BOARD):
        self.state, self.board = state, board
        self.beats = self.is_up = True
        self.is_out = False
        self.posts, self.signs, self.status = [], [], 200
        self.answer = lambda post: Done(ok=True, said="", state=self.state)
        self._server = Quiet(("127.0.0.1", 0), self._handler())
        threading.Thread(target=self._server.serve_forever, args=(0.05,), daemon=True).start()

    @property
    def address(self):
        return f"http://127.0.0.1:{self._server.server_port}"

    def close(self):
        self.beats = self.is_up = False
        self._server.shutdown()
        self._server.server_close()

    def page(self, path):
        no_line = "the book is not there: /home/shop/book.db"
        made = {
            "/": lambda: pages.board_page(self.board, devices=True, cards=True),
            "/bench/launch": lambda: pages.bench_page(self.state, "me"),
            "/pair": lambda: pages.pair_page(fault="this code is not good any more: ask for another"),
            "/code": lambda: pages.pair_page(PAIRING),
            "/devices": lambda: pages.devices_page(DEVICES, roles=("bench", "builder", "station", "viewer")),
            "/card": lambda: pages.card_page(CardNow()),
            "/card-now": lambda: pages.card_page(CURRENT_CARD),
            "/card-old": lambda: pages.card_page(OLD_CARD),
            "/no-line": lambda: pages.no_line_page(
                no_line, heading="This bench does not open", again="/bench/launch"
            ),
        }
        if path in BOARDS:
            return pages.board_page(BOARDS[path], devices=True, cards=True)
        return made[path]() if path in made else None

    def _handler(self):
        shop = self

        class Handler(BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def log_message(self, *_):
                pass

            def _send(self, raw, kind, status=200):
                self.send_response(status)
                self.send_header("Content-Type", kind)
                self.send_header("Content-Length", str(len(raw)))
                self.send_header("Content-Security-Policy", pages.POLICY)
                self.end_headers()
                self.wfile.write(raw)

            def do_GET(self):
                path = self.path.partition("?")[0]
                if shop.is_out and not path.startswith("/assets/"):
                    self._send(pages.pair_page(fault=TURNED_OUT).encode(), "text/html; charset=utf-8", 403)
                    return
                if not shop.is_up and path.endswith("/events"):
                    self.close_connection = True
                    return
                if path.endswith("/events"):
                    with contextlib.suppress(OSError):
                        self._events("board" if path.startswith("/board") else "state")
                elif path.startswith("/assets/") and (found := pages.assets().get(path.removeprefix("/assets/"))):
                    self._send(found.raw, found.type)
                elif (page := shop.page(path)) is not None:
                    self._send(page.encode(), "text/html; charset=utf-8")
                else:
                    self._send(b"", "text/plain", 404)

            def _events(self, kind):
                self.send_response(200)
                self.send_header("Content-Type", "text/event-stream")
                self.send_header("Connection", "close")
                self.end_headers()
                shown, beaten = None, 0.0
                while shop.is_up and not shop.is_out:
                    now = shop.board if kind == "board" else shop.state
                    if shop.beats and now != shown:
                        data = json.dumps(as_data(now))
                        self.wfile.write(f"id: {now.head}\nevent: {kind}\ndata: {data}\n\n".encode())
                        shown = now
                    if shop.beats and time.monotonic() - beaten >= 1.0:
                        self.wfile.write(b"event: beat\ndata: x\n\n")
                        beaten = time.monotonic()
                    self.wfile.flush()
                    time.sleep(0.02)

            def do_POST(self):
                post = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
                if not shop.is_up:
                    self.close_connection = True
                    return
                if self.path.endswith("/alive"):
                    shop.signs.append(post)
                    self._send(b"", "text/plain")
                    return
                shop.posts.append(post)
                raw = json.dumps(as_data(shop.answer(post))).encode()
                self._send(raw, "application/json", shop.status)

        return Handler


def rung(state, what, said):
    """A bench after it was taken or refused."""
    return replace(state, head=state.head + 1, news=News(state.news.number + 1, what, said))
