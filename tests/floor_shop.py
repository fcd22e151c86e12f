"""A floor that serves at a port of loopback, in this process, and browsers that ask it."""

from __future__ import annotations

import contextlib
import http.client
import json
import threading
import time
from urllib.parse import urlencode

import invented

from truethrow.cli.floor.routes import Floor
from truethrow.cli.floor.serving import THIS_COMPUTER, listening, server_of
from truethrow.cli.floor.shop import shop_of

LONGEST_WAIT_S = 60.0


def blank_job(folder, name="job", **tables):
    """A V8 in a folder, whose readings are all still to be weighed."""
    data = {key: table for key, table in invented.document(**tables).items() if key != "cylinder"}
    path = folder / f"{name}.toml"
    path.write_text(invented.text(data), encoding="utf-8")
    return path


def job_with_a_slip(folder):
    """A V8 all of whose parts are weighed, the decimal point of the pistons in the wrong place."""
    data = invented.document(parts=[{**one, "piston": 53.8} for one in invented.cylinders()])
    path = folder / "job.toml"
    path.write_text(invented.text(data), encoding="utf-8")
    return path


class Client:
    """A browser, as far as what it sends goes. headers: sent with all that it asks."""

    def __init__(self, port, **headers):
        self.port = port
        self.host = f"{THIS_COMPUTER}:{port}"
        self.headers = {"Host": self.host, **headers}
        self.secure = None  # how a certificate is looked at, where the floor has one

    def ask(self, method, path, body=None, **headers):
        """The status, the headers and the text that come back."""
        with contextlib.closing(self._line()) as line:
            line.request(method, path, body=body, headers={**self.headers, **headers})
            answer = line.getresponse()
            return answer.status, dict(answer.getheaders()), answer.read().decode(errors="replace")

    def _line(self):
        where = THIS_COMPUTER, self.port
        if self.secure is not None:
            return http.client.HTTPSConnection(*where, timeout=LONGEST_WAIT_S, context=self.secure)
        return http.client.HTTPConnection(*where, timeout=LONGEST_WAIT_S)

    @property
    def origin(self):
        return f"{'https' if self.secure else 'http'}://{self.host}"

    def get(self, path, **headers):
        return self.ask("GET", path, **headers)

    def post(self, path, data, **headers):
        """What the script of a page of the floor's own sends."""
        own = {
            "Origin": f"http://{self.host}",
            "Sec-Fetch-Site": "same-origin",
            "Content-Type": "application/json",
        }
        return self.ask("POST", path, json.dumps(data).encode(), **{**own, **headers})

    def send(self, path, **fields):
        """What a form of a page of the floor's own sends."""
        own = {"Origin": self.origin, "Content-Type": "application/x-www-form-urlencoded"}
        return self.ask("POST", path, urlencode(fields), **own)

    def paired(self, code, initials):
        """The browser of a device that is let in by a code."""
        status, headers, text = Client(self.port).send("/pair", code=code, initials=initials)
        assert (status, headers.get("location")) == (303, "/"), text
        cookie, *_ = headers["set-cookie"].split(";")
        return Client(self.port, Cookie=cookie)

    @contextlib.contextmanager
    def stream(self, path, **headers):
        with contextlib.closing(self._line()) as line:
            line.request("GET", path, headers={**self.headers, **headers})
            answer = line.getresponse()
            assert answer.status == 200, answer.read()
            yield Stream(answer)


class Stream:
    """Events as they come: (kind, id or "", data)."""

    def __init__(self, answer):
        self._answer = answer

    def next(self, *kinds):
        """The next event, of these kinds if any are said."""
        while True:
            found = {"event": "", "id": "", "data": ""}
            while (line := self._answer.readline().decode()) != "\n":
                if not line:
                    raise EOFError
                key, _, value = line.rstrip("\n").partition(": ")
                found[key] = value
            if found["event"] and (not kinds or found["event"] in kinds):
                return found["event"], found["id"], json.loads(found["data"])

    def until(self, is_so, *kinds):
        """The first event of these kinds of whose data that is so."""
        while True:
            kind, number, data = self.next(*kinds)
            if is_so(data):
                return kind, number, data


@contextlib.contextmanager
def served(named, **options):
    """A floor of a folder, a job file or a book's address; its client. options: as Floor takes them."""
    listens = listening(THIS_COMPUTER, 0)
    port = listens.getsockname()[1]
    made = Floor(shop_of(str(named)), **{"names": ("localhost",), **options})
    server = server_of(made.app)
    made.is_ending = lambda: server.should_exit
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listens]})
    thread.start()
    end_s = time.monotonic() + LONGEST_WAIT_S
    while not server.started:
        assert thread.is_alive(), "the server has ended"
        assert time.monotonic() < end_s, "the server does not start"
        time.sleep(0.01)
    client = Client(port)
    client.floor = made
    try:
        yield client
    finally:
        server.should_exit = True
        thread.join(LONGEST_WAIT_S)
        assert not thread.is_alive(), "the server does not end"
