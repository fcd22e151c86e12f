"""The demo's job in a folder, carried on by commands alone: what each said, and the records it left."""

from __future__ import annotations

import json
from pathlib import Path

from typer.testing import CliRunner
from within import BadInput, NotSaved, app, demo, log_path

FIRST = ("6.1@203", "5.0@169", "6.0@204", "5.1@169")
MASS = ("--mass", "50", "--radius", "100", "--plane", "front", "--at", "90", "47.9@96.6", "5.05@169")
# What the station shows once the holes of the first plan are drilled.
SECOND = ("0.4@20", "0.3@230", "0.4@25", "0.3@226")


class DemoShop:
    """The launch's job with its readings entered and what looks like a slip confirmed. Each throw gets its own
    bobweight, so that a crank may be signed."""

    def __init__(self, folder: Path) -> None:
        demo.copy_into(folder)
        self.file, self.station = folder / "launch.toml", folder / "station.toml"
        text = self.file.read_text(encoding="utf-8")
        assert text.count("share = 0.50") == 1
        self.file.write_text(text.replace("share = 0.50", 'share = 0.50\nhang = "own"'), encoding="utf-8")
        self.must("enter", folder / "launch-weigh.csv")
        for part in ("piston P33", "rod R35"):
            self.must("confirm", *part.split(), "--why", "weighed twice", "--by", "AB")

    def run(self, *said: object, stdin: str | None = None) -> tuple[int, str]:
        """The status, and all that was said, a refusal as the command line tells it."""
        done = CliRunner().invoke(app, [str(one) for one in said], input=stdin)
        if isinstance(done.exception, BadInput):
            return 2, "\n".join(done.exception.lines())
        if isinstance(done.exception, NotSaved):
            return 2, str(done.exception)
        assert isinstance(done.exception, SystemExit | None), done.exception
        # What was found without being named is told beside the data.
        return done.exit_code, done.stdout if "--json" in said else done.output

    def __call__(self, command: str, *more: object, stdin: str | None = None) -> tuple[int, str]:
        return self.run(command, self.file, *more, stdin=stdin)

    def must(self, command: str, *more: object) -> str:
        """What a command said that is not refused."""
        status, said = self(command, *more)
        assert status in (0, 1), said
        return said

    def refuses(self, command: str, *more: object) -> str:
        """What a command said that is refused, and wrote nothing."""
        before = self.records()
        status, said = self(command, *more)
        assert status == 2, said
        assert self.records() == before
        return said

    def at_station(self, command: str, *more: object) -> str:
        return self.must(command, "--station", self.station, *more)

    def refused_at_station(self, command: str, *more: object) -> str:
        return self.refuses(command, "--station", self.station, *more)

    def records(self) -> list[dict[str, object]]:
        """The records of the log, as history tells them."""
        return json.loads(CliRunner().invoke(app, ["history", str(self.file), "--json"]).stdout)["records"]

    def ids(self, action: str) -> list[str]:
        """The ids of the records of an action that are not struck."""
        return [str(one["id"]) for one in self.records() if one["action"] == action and not one["struck_by"]]

    def state(self) -> dict[str, object]:
        """Where the job is at the station."""
        return json.loads(self.at_station("spins", "--json"))

    def spun(self) -> None:
        """Spun and proved by a known mass."""
        self.at_station("spin", *FIRST)
        self.at_station("test-mass", *MASS)

    def signed(self) -> None:
        """Drilled by the plan, spun again and signed."""
        self.spun()
        self.at_station("holes", "--done")
        self.at_station("spin", *SECOND)
        self.at_station("sign", "--by", "AB")

    def damage(self, action: str) -> int:
        """Flip one bit in the middle of the first line of an action; its number."""
        path = log_path(self.file)
        lines = path.read_bytes().split(b"\n")
        at = next(at for at, one in enumerate(lines) if b'"action":"%s"' % action.encode() in one)
        broken = bytearray(lines[at])
        broken[len(broken) // 2] ^= 1
        lines[at] = bytes(broken)
        path.write_bytes(b"\n".join(lines))
        return at + 1
