"""The option that every command gets that records; what a whole day of them leaves as it is:
tests/stories/test_a_dry_run.py."""

import inspect

from truethrow.balance.base import dry_run
from truethrow.cli.dry_run import FIRST, LAST, can_be_dry


def test_a_command_keeps_its_own_words_and_gets_one_more(capsys):
    seen = []

    def command(job: str, json: bool = False) -> int:
        """Do it."""
        seen.append((job, json, dry_run.is_on()))
        return 3

    made = can_be_dry(command)
    assert list(inspect.signature(made).parameters) == ["job", "json", "dry_run"]
    assert (made.__doc__, made.__name__) == ("Do it.", "command")
    assert made(job="a", dry_run=False) == 3 and capsys.readouterr().out == ""
    assert made(job="a", dry_run=True) == 3
    assert capsys.readouterr().out == f"{FIRST}\n{LAST}\n"
    made(job="a", json=True, dry_run=True)
    assert capsys.readouterr() == ("", f"{FIRST}\n{LAST}\n"), "machines read standard output"
    assert seen == [("a", False, False), ("a", False, True), ("a", True, True)]


def test_many_files_are_told_by_their_folder(capsys, tmp_path):
    made = can_be_dry(lambda: [dry_run.not_written(str(tmp_path / str(number)), b"") for number in range(5)])
    made(dry_run=True)
    assert capsys.readouterr().out.splitlines()[1] == f"Would be written: 5 files in {tmp_path}"


def test_every_command_that_can_be_dry_says_so_in_its_help(run):
    for name in ("spin", "enter", "cards"):
        assert "--dry-run" in run(name, "--help").out
    for name in ("weigh", "hang", "history"):
        assert "--dry-run" not in run(name, "--help").out
