"""The handbook, through the command line."""

import commands
import pytest

from truethrow.cli import handbook
from truethrow.cli.main import BY_USER, GROUPS


def test_it_is_written_as_html(tmp_path):
    said = commands.run("handbook", "--out", "book.html", folder=tmp_path)
    assert (said.status, said.err) == (0, "")
    assert said.out.strip() == "Written: book.html"
    text = (tmp_path / "book.html").read_text(encoding="utf-8")
    for chapter in ("What to weigh, and how", "Every equation", "What was checked against what"):
        assert chapter in text


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (("--out", "book.doc"), "a file that ends in .html or .pdf"),
        (("--paper", "a3"), "allowed: a4, letter"),
    ],
)
def test_what_it_cannot_print_is_one_line(tmp_path, asked, says):
    said = commands.run("handbook", *asked, folder=tmp_path)
    assert (said.status, said.out, said.err.count("\n")) == (2, "", 1)
    assert says in said.err
    assert not list(tmp_path.iterdir())


def test_every_command_is_handed_in_once():
    told = [one.usage.split()[1] for one in handbook.commands()]
    names = [name for own in BY_USER.values() for name in own]
    assert [name for name in told if name not in GROUPS] == names
    usages = [one.usage for one in handbook.commands()]
    assert len({*usages}) == len(usages)
    assert all(one.says and one.takes for one in handbook.commands() if "layouts" not in one.usage)


def test_what_is_typed_is_told_apart_from_what_is_said():
    match = next(one for one in handbook.commands() if one.usage.startswith("truethrow match"))
    typed = [part for part in match.says if isinstance(part, tuple)]
    assert [lines[0] for lines in typed] == ["[match]", "truethrow match my.toml"]


def test_the_programs_own_folder_has_its_floors():
    assert {"balance", "cli", "worksheets"} <= {one.name for one in handbook.program().iterdir()}
