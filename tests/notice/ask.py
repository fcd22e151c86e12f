"""Would the tests notice? Small seeded changes are made to the domain (changes.py), one at a time, in a copy; of
each that alters a figure of a fixed corpus of jobs (corpus.py) the tests that belong to it are run until one
fails.

Run: python tests/notice/ask.py [--changes 12] [--seed 1] [--module matching …] [--all] [--stories]
     [--folder FOLDER]

A change is drawn evenly out of all in functions that the corpus enters, of the modules whose path begins so. Its
tests, in this order: the module's own file; the published checks that name it, and the laws; the files of modules
that import it; the other published checks; with --stories the stories. What alters no figure of the corpus does
not count; what makes a job fail or never end does, and is told apart. In FOLDER the corpus' figures are kept, for
as long as the program and the tests are the same. The libraries that change programs in this way ask the tests
alone; whether any figure is another, which is what counts here, none does, and what is left of them is
changes.py."""

from __future__ import annotations

import argparse
import ast
import contextlib
import functools
import hashlib
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NamedTuple

sys.path.insert(0, str(Path(__file__).parent))

from changes import Change, changes

ROOT = Path(__file__).parents[2]
# Seconds of the processor: a job may take so many times as long as it did, and a little; the files of a stage so
# long in all, after which they noticed nothing; and of the clock, against hanging.
TIMES_AS_LONG, AND_S, STAGE_S, LONGEST_S = 5.0, 5.0, 60.0, 1800.0
# Of the files of modules that import the one that was changed.
MOST_IMPORTING = 24
ENDLESS = "never ends"
# Enters: the functions that something enters, by file and first line.
Enters = list[tuple[str, int]]


class Asked(NamedTuple):
    """What became of one change. altered: the first figure that is another; by: the first test that fails."""

    module: str
    change: Change
    altered: str
    by: str

    def __str__(self) -> str:
        change, who = self.change, self.by or "NOT NOTICED"
        return f"{self.module}:{change.line}: {change.was!r} → {change.now!r}: {self.altered}: {who}"


def in_a_child(copy: Path, work: Callable[[], Any], seconds: float) -> Any:
    """What work gives in a process of its own, with the copy's program: nothing of it is loaded here. None where
    it does not end, a text where it failed."""
    with tempfile.TemporaryFile("w+") as into, tempfile.TemporaryFile("w+") as out:
        return _forked(copy, work, seconds, into, out)


def _forked(copy: Path, work: Callable[[], Any], seconds: float, into: Any, out: Any) -> Any:
    if (child := os.fork()) == 0:
        status = 1
        try:
            os.setpgid(0, 0)
            # Begun in the background it would be deaf to it, and so would whatever a test interrupts.
            signal.signal(signal.SIGINT, signal.default_int_handler)
            os.chdir(copy)
            os.dup2(out.fileno(), 1)
            os.dup2(out.fileno(), 2)
            places = [str(copy / place) for place in (".editable", "tests", "tests/notice")]
            sys.path[:] = places + [place for place in sys.path if not place.startswith(str(ROOT) + "/.editable")]
            sys.path[:] = [place for place in sys.path if place != str(ROOT / "tests")]
            os.environ["PYTHONPATH"] = os.pathsep.join(places)
            given = work()
            json.dump(given, into)
            into.flush()
            status = 0
        except BaseException:
            traceback.print_exc()
        finally:
            sys.stdout.flush()
            os._exit(status)
    until = time.monotonic() + seconds
    try:
        while not (ended := os.waitpid(child, os.WNOHANG))[0]:
            if time.monotonic() > until:
                os.killpg(child, signal.SIGKILL)
                os.waitpid(child, 0)
                return None
            time.sleep(0.02)
    except KeyboardInterrupt:
        os.killpg(child, signal.SIGKILL)
        raise
    for stream in (into, out):
        stream.seek(0)
    if os.WIFSIGNALED(ended[1]) and os.WTERMSIG(ended[1]) == signal.SIGPROF:
        return None
    if ended[1]:
        return (out.read().strip().splitlines() or ["killed"])[-1]
    return json.load(into)


class Tracer:
    """Which functions of the domain are entered."""

    def __init__(self, copy: Path) -> None:
        self.seen: dict[int, Any] = {}
        self.begins = f"{copy / '.editable' / 'truethrow'}{os.sep}"

    def __enter__(self) -> Tracer:
        self.seen.clear()
        sys.settrace(self._entered)
        return self

    def __exit__(self, *_: object) -> None:
        sys.settrace(None)

    def _entered(self, frame: Any, _event: str, _given: object) -> None:
        self.seen[id(frame.f_code)] = frame.f_code

    @property
    def entered(self) -> Enters:
        own = {(code.co_filename, code.co_firstlineno) for code in self.seen.values()}
        return sorted((name[len(self.begins) :], line) for name, line in own if name.startswith(self.begins))


class Copy:
    """A copy of the program and its tests, and what is known of them as they are."""

    def __init__(self, folder: Path) -> None:
        names = subprocess.run(
            ["git", "ls-files", "-co", "--exclude-standard"], cwd=ROOT, capture_output=True, text=True, check=True
        ).stdout.split("\n")
        names = [name for name in names if name and (ROOT / name).exists()]
        told = hashlib.sha256()
        for name in names:
            if (ROOT / name).is_file() and name.endswith(".py"):
                told.update((ROOT / name).read_bytes())
        self.at = folder / f"copy-{os.getpid()}"
        for name in names:
            to = self.at / name
            to.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(ROOT / name, to, follow_symlinks=False)
        self.kept = folder / f"known-{told.hexdigest()[:16]}.json"
        self.known: dict[str, Any] = json.loads(self.kept.read_text("utf-8")) if self.kept.exists() else {}

    def keep(self) -> None:
        self.kept.write_text(json.dumps(self.known), encoding="utf-8")

    @functools.cached_property
    def jobs(self) -> list[dict[str, Any]]:
        """Of each job of the corpus its figures, how long it takes, and what it enters."""
        if "jobs" not in self.known:
            found = in_a_child(self.at, self._jobs, LONGEST_S)
            if not isinstance(found, list):
                raise SystemExit(f"the corpus does not work: {found}")
            self.known["jobs"] = found
            self.keep()
        return self.known["jobs"]

    def _jobs(self) -> list[dict[str, Any]]:
        import corpus

        found = []
        for number in range(len(corpus.JOBS)):
            corpus.figures(number) if number == 0 else None  # what is loaded once
            start, tracer = time.process_time(), Tracer(self.at)
            with tracer:
                figures = corpus.figures(number)
            taken = time.process_time() - start
            found.append({"figures": figures, "seconds": taken, "enters": tracer.entered})
        return found

    def ask(self, module: str, change: Change, *, stories: bool) -> Asked | None:
        """Make a change, and ask; None where it alters nothing."""
        file, path = f"balance/{module}", self.at / "balance" / module
        source, before = path.read_text("utf-8"), path.stat()
        path.write_text(change.made(source), encoding="utf-8")
        try:
            altered = self._altered(file, change)
            return altered and Asked(module, change, altered, self._noticed(file, altered, stories=stories))
        finally:
            path.write_text(source, encoding="utf-8")
            os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))

    def _altered(self, file: str, change: Change) -> str:
        numbers = [number for number, job in enumerate(self.jobs) if _enters(job, file, change)]
        numbers.sort(key=lambda number: self.jobs[number]["seconds"])

        def first() -> str:
            import corpus

            for number in numbers:
                own = self.jobs[number]
                signal.setitimer(signal.ITIMER_PROF, TIMES_AS_LONG * own["seconds"] + AND_S)
                found = corpus.figures(number)
                if found != own["figures"]:
                    pairs = zip(found, own["figures"], strict=False)
                    return next(
                        (f"{found[0]}, {was} → {now.split()[-1]}" for now, was in pairs if now != was),
                        f"{found[0]}, as many figures",
                    )
            return ""

        told = in_a_child(self.at, lambda: [first()], LONGEST_S)
        if told is None:
            return ENDLESS
        return told[0] if isinstance(told, list) else f"fails: {told[:80]}"

    def _noticed(self, file: str, altered: str, *, stories: bool) -> str:
        """The first test that fails; of what never ends tests that do not, either."""
        for stage in self._stages(file, stories=stories):
            told = in_a_child(self.at, functools.partial(_first_to_fail, stage), LONGEST_S) if stage else None
            if told is None and stage and altered == ENDLESS:
                return ENDLESS
            if told not in (None, [""]):
                return told[0] if isinstance(told, list) else f"tests: {told}"
        return ""

    def failing_anyway(self, tests: Sequence[str]) -> set[str]:
        """Of tests that noticed something those that fail on the program as it is, too: they noticed nothing."""
        if not (real := sorted(test for test in set(tests) if (self.at / test.partition("::")[0]).is_file())):
            return set()
        found = in_a_child(self.at, lambda: _run(*real)[1], LONGEST_S)
        if not isinstance(found, list):
            raise SystemExit(f"the tests that noticed do not run on the program as it is: {found}")
        return set(found)

    def _stages(self, file: str, *, stories: bool) -> list[list[str]]:
        """The test files that belong to a module: its own; the published checks that name it; those of the modules
        that import it, the ones that import least else first; the other published checks; the stories."""
        name = file.removesuffix(".py").replace("/", ".")
        checks = [
            path.relative_to(self.at).as_posix()
            for path in sorted((self.at / "tests/published").glob("test_*.py"))
        ]
        naming = [one for one in checks if name in _imported(self.at / one)]
        importing = sorted(
            (len(names), one)
            for one, names in self._imports.items()
            if name in names and not one.endswith("__init__.py")
        )
        stages = [
            [_test_of(file)],
            [*naming, "tests/test_properties.py"],
            [_test_of(one) for _, one in importing][:MOST_IMPORTING],
            [one for one in checks if one not in naming],
        ]
        if stories:
            of_all = sorted((self.at / "tests/stories").glob("test_*.py"))
            stages += [[path.relative_to(self.at).as_posix()] for path in of_all]
        return [[one for one in stage if (self.at / one).exists()] for stage in stages]

    @functools.cached_property
    def _imports(self) -> dict[str, set[str]]:
        """Of each module of the domain those that it imports."""
        paths = sorted((self.at / "balance").rglob("*.py"))
        return {path.relative_to(self.at).as_posix(): _imported(path) for path in paths}


def _test_of(file: str) -> str:
    return f"tests/{Path(file).with_name(f'test_{Path(file).name}').as_posix()}"


def _imported(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    return {name.removeprefix("truethrow.") for name in names}


HOW = ("-q", "-n", "0", "-p", "no:cacheprovider", "--no-header", "--tb=no")


def _first_to_fail(files: Sequence[str]) -> list[str]:
    signal.setitimer(signal.ITIMER_PROF, STAGE_S)
    status, failed = _run("-x", *files)
    return [failed[0] if failed else ("" if status in (0, 5) else f"status {status}")]


def _run(*asked: str) -> tuple[int, list[str]]:
    """The status that pytest ends with, and the tests that fail, in their order."""
    import pytest

    failed: list[str] = []

    class Plugin:
        @pytest.hookimpl(trylast=True)
        def pytest_configure(self) -> None:
            """An example that fails is enough: to look for a smaller one takes longer than a stage may."""
            from hypothesis import Phase, settings

            phases = [phase for phase in Phase if phase not in (Phase.shrink, Phase.explain)]
            settings.register_profile("asked", settings.get_profile("sample"), phases=phases)
            settings.load_profile("asked")

        def pytest_runtest_logreport(self, report: Any) -> None:
            if report.failed:
                failed.append(report.nodeid)

        def pytest_collectreport(self, report: Any) -> None:
            if report.failed:
                failed.append(report.nodeid)

    return int(pytest.main([*HOW, *asked], plugins=[Plugin()])), failed


def _enters(one: dict[str, Any], file: str, change: Change) -> bool:
    """Whether a job enters the function, or for what is outside of all any of the module."""
    return any(name == file and change.within in (0, line) for name, line in one["enters"])


def drawn(copy: Copy, modules: Sequence[str], seed: int) -> list[tuple[str, Change]]:
    """All changes in what the corpus enters, in a random order."""
    entered = {tuple(one) for job in copy.jobs for one in job["enters"]}
    files = {name for name, _ in entered}
    found = []
    for path in sorted((copy.at / "balance").rglob("*.py")):
        module = path.relative_to(copy.at / "balance").as_posix()
        file = f"balance/{module}"
        if file in files and (not modules or module.startswith(tuple(modules))):
            found += [
                (module, change)
                for change in changes(path.read_text("utf-8"))
                if not change.within or (file, change.within) in entered
            ]
    random.Random(seed).shuffle(found)
    return found


def told(found: Sequence[Asked]) -> str:
    """By module, and in all: how many were noticed of those that alter a figure."""
    by_module, noticed = Counter(one.module for one in found), Counter(one.module for one in found if one.by)
    lines = [f"{noticed[module]:5} of {count:4}  {module}" for module, count in sorted(by_module.items())]
    answers = [one for one in found if one.altered != ENDLESS and not one.altered.startswith("fails")]
    for what, some in (("all", found), ("those that still give an answer", answers)):
        own = sum(bool(one.by) for one in some)
        lines.append(f"{own:5} of {len(some):4}  {what}: {own / max(len(some), 1):.1%}")
    return "\n".join(lines)


def main() -> None:
    asks = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asks.add_argument("--changes", type=int, default=12, help="how many that alter a figure")
    asks.add_argument("--seed", type=int, default=1)
    asks.add_argument("--module", nargs="*", default=[], help="as matching, result/trim.py")
    asks.add_argument("--all", action="store_true", help="every change, instead of a sample")
    asks.add_argument("--stories", action="store_true", help="the stories, too, which are slow")
    asks.add_argument("--folder", type=Path, help="where to keep what is known of the corpus and the tests")
    given = asks.parse_args()
    for name, value in (("PYTHONHASHSEED", "0"), ("OPENBLAS_NUM_THREADS", "1"), ("PYTHONDONTWRITEBYTECODE", "1")):
        if os.environ.get(name) != value:
            os.environ.update(PYTHONHASHSEED="0", OPENBLAS_NUM_THREADS="1", PYTHONDONTWRITEBYTECODE="1")
            os.execv(sys.executable, [sys.executable, *sys.argv])
    with tempfile.TemporaryDirectory() as own:
        folder = given.folder or Path(own)
        folder.mkdir(parents=True, exist_ok=True)
        os.environ |= {"HOME": own, "XDG_DATA_HOME": own, "XDG_CONFIG_HOME": own}
        copy = Copy(folder)
        try:
            _load()
            subprocess.run(
                [sys.executable, "-m", "compileall", "-q", "balance", "cli", "worksheets"],
                cwd=copy.at,
                check=False,
            )
            found: list[Asked] = []
            with contextlib.suppress(KeyboardInterrupt):  # what was asked till then is told
                _ask_on(copy, given, found)
            anyway = copy.failing_anyway([one.by for one in found])
            for n, one in enumerate(found):
                if one.by in anyway:
                    found[n] = one._replace(by="")
                    sys.stdout.write(f"{n + 1} {one}: FAILS ANYWAY\n")
            sys.stdout.write(told(found) + "\n")
        finally:
            shutil.rmtree(copy.at)


def _ask_on(copy: Copy, given: argparse.Namespace, found: list[Asked]) -> None:
    """Ask one change after the other; what became of each is told at once."""
    for module, change in drawn(copy, given.module, given.seed):
        if len(found) >= given.changes and not given.all:
            break
        if asked := copy.ask(module, change, stories=given.stories):
            found.append(asked)
            sys.stdout.write(f"{len(found)} {asked}\n")
            sys.stdout.flush()


def _load() -> None:
    """What every child needs, and nothing of the program: it is forked, and so need not load it again."""
    for name in ("numpy", "pint", "pydantic", "pytest", "rich", "scipy.stats", "tomlkit", "typer"):
        __import__(name)


if __name__ == "__main__":
    main()
