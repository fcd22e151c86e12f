"""Reading what a shop hands over, and writing whole files or nothing."""

from __future__ import annotations

import codecs
import os
import stat
import subprocess
import sys
import tracemalloc
from pathlib import Path

import pytest

from truethrow.balance.base import files
from truethrow.balance.base.errors import BadInput, NotSaved

TEXT = 'id = "größe ±"\npiston = 538.4\n'


@pytest.fixture
def target(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text("old\n")
    return path


def only_file(folder: Path) -> Path:
    (found,) = folder.iterdir()
    return found


@pytest.mark.parametrize(
    ("mark", "encoding"),
    [
        (b"", "utf-8"),
        (codecs.BOM_UTF8, "utf-8"),
        (codecs.BOM_UTF16_LE, "utf-16-le"),
        (codecs.BOM_UTF16_BE, "utf-16-be"),
    ],
)
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_one_text_is_read_from_every_encoding_and_line_end(target, mark, encoding, end):
    target.write_bytes(mark + TEXT.replace("\n", end).encode(encoding))
    assert files.read_text(target) == TEXT


def test_a_file_far_too_large_is_refused_before_it_is_in_memory(target):
    os.truncate(target, 200_000_000)
    tracemalloc.start()
    try:
        with pytest.raises(BadInput, match=r"200 MB is no job"):
            files.read_text(target)
        assert tracemalloc.get_traced_memory()[1] < 2 * files.LARGEST_BYTES + 1_000_000
    finally:
        tracemalloc.stop()


def test_the_largest_file_allowed_is_read_and_one_byte_more_is_not(target):
    target.write_bytes(b"#" * files.LARGEST_BYTES)
    assert len(files.read_text(target)) == files.LARGEST_BYTES
    target.write_bytes(b"#" * (files.LARGEST_BYTES + 1))
    with pytest.raises(BadInput):
        files.read_text(target)


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"abc\xff\xfe", "byte 4: not text"),
        (b"piston\x00", "character 7: not text"),
        (codecs.BOM_UTF16_LE + b"a", "not text"),
        (codecs.BOM_UTF32_LE + "a".encode("utf-32-le"), "not text"),
        (b"\x89PNG\r\n\x1a\n", "byte 1: not text"),
    ],
)
def test_bytes_that_are_no_text_are_refused(target, raw, said):
    target.write_bytes(raw)
    with pytest.raises(BadInput, match=said):
        files.read_text(target)


def test_a_missing_file_a_folder_and_a_name_too_long_are_told_apart(tmp_path):
    for path, said in (
        (tmp_path / "none.toml", "no such file"),
        (tmp_path, "is a folder"),
        (tmp_path / ("x" * 300), "name too long"),
    ):
        with pytest.raises(BadInput, match=said) as caught:
            files.read_text(path)
        assert str(path) in str(caught.value)


def test_a_file_is_written_whole_with_its_line_ends_as_given(target):
    files.write_text(target, "a\r\nb\n")
    assert target.read_bytes() == b"a\r\nb\n"
    assert only_file(target.parent) == target


@pytest.mark.parametrize("step", ["replace", "fsync", "chmod"])
def test_a_write_that_fails_leaves_the_old_file_and_nothing_beside_it(target, monkeypatch, step):
    def fail(*_args, **_kwargs):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os if step == "fsync" else Path, step, fail)
    with pytest.raises(NotSaved, match="no space left on device; nothing was written"):
        files.write_text(target, "new\n")
    monkeypatch.undo()
    assert target.read_bytes() == b"old\n"
    assert only_file(target.parent) == target


def test_a_folder_that_vanished_is_a_file_not_saved(tmp_path):
    with pytest.raises(NotSaved, match="no such folder"):
        files.write_text(tmp_path / "gone" / "job.toml", "new\n")
    assert not list(tmp_path.iterdir())


def test_a_name_that_no_folder_takes_is_a_file_not_saved(tmp_path):
    with pytest.raises(NotSaved, match="file name too long; nothing was written"):
        files.write_text(tmp_path / ("9" * 400), "x")


def test_a_folder_in_the_files_place_is_not_replaced(tmp_path):
    (tmp_path / "job.toml").mkdir()
    with pytest.raises(NotSaved):
        files.write_text(tmp_path / "job.toml", "new\n")
    assert only_file(tmp_path).is_dir()


def test_a_change_made_meanwhile_is_not_overwritten(target):
    with pytest.raises(NotSaved, match="changed by someone else"):
        files.write_text(target, "new\n", expected="older\n")
    assert target.read_bytes() == b"old\n"


def test_what_is_expected_is_the_text_whatever_its_line_ends(target):
    target.write_bytes(codecs.BOM_UTF8 + b"old\r\n")
    files.write_text(target, "new\n", expected="old\n")
    assert target.read_bytes() == b"new\n"


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664, 0o755])
def test_a_files_mode_is_kept(target, mode):
    target.chmod(mode)
    files.write_text(target, "new\n")
    assert stat.S_IMODE(target.stat().st_mode) == mode


def test_a_new_file_of_a_shop_that_shares_gets_the_mode_that_any_program_would_give_it(tmp_path, monkeypatch):
    monkeypatch.setenv(files.SHARED, "1")
    before = os.umask(0o027)
    try:
        files.write_text(tmp_path / "new.toml", "new\n")
    finally:
        assert os.umask(before) == 0o027
    assert stat.S_IMODE((tmp_path / "new.toml").stat().st_mode) == 0o640


def test_a_link_stays_a_link_and_its_target_is_written(target, tmp_path):
    link = tmp_path / "link.toml"
    link.symlink_to(target)
    files.write_text(link, "new\n")
    assert link.is_symlink()
    assert target.read_bytes() == b"new\n"


@pytest.mark.skipif(sys.platform == "win32", reason="cp and mv of POSIX")
def test_a_file_of_two_names_is_not_split_and_the_remedy_makes_it_two(target, tmp_path):
    other = tmp_path / "other name.toml"
    os.link(target, other)
    with pytest.raises(NotSaved, match="a hard link; nothing was written") as refused:
        files.write_text(other, "new")
    assert target.samefile(other)
    old = target.read_bytes()
    subprocess.run(str(refused.value).partition("first: ")[2], shell=True, check=True)
    files.write_text(other, "new")
    assert (other.read_bytes(), target.read_bytes()) == (b"new", old)


def test_the_longest_name_that_a_folder_takes_can_be_written(tmp_path):
    path = tmp_path / ("x" * 255)
    files.write_text(path, "new\n")
    assert path.read_bytes() == b"new\n"


def test_a_file_to_be_created_must_not_stand_there_not_even_as_a_broken_link(target, tmp_path):
    broken = tmp_path / "broken"
    broken.symlink_to(tmp_path / "nowhere")
    for path in (target, broken, tmp_path):
        with pytest.raises(NotSaved, match="already exists"):
            files.create_text(path, "new\n")
    files.create_text(tmp_path / "fresh", "new\n")
    assert (tmp_path / "fresh").read_bytes() == b"new\n"


@pytest.mark.parametrize(("raw", "end"), [(b"a\r\nb\r\n", "\r\n"), (b"a\nb\r\n", "\n"), (b"", "\n"), (b"a", "\n")])
def test_a_files_line_end_is_that_of_its_first_line(target, raw, end):
    target.write_bytes(raw)
    assert files.line_end(target) == end


def test_a_name_that_would_upset_a_terminal_is_escaped_in_the_message(tmp_path):
    with pytest.raises(BadInput) as caught:
        files.read_text(tmp_path / "\x1b[31mred")
    assert "\x1b" not in str(caught.value)


@pytest.mark.parametrize("name", ["con.toml", "NUL", "lpt1.readings.jsonl"])
def test_a_name_that_windows_gives_to_a_device_is_refused(tmp_path, name):
    with pytest.raises(NotSaved, match="name of a device on Windows"):
        files.write_text(tmp_path / name, "x")
    assert list(tmp_path.iterdir()) == []


def test_a_job_may_be_called_almost_so(tmp_path):
    files.write_text(tmp_path / "console.toml", "x")
    files.write_text(tmp_path / "com10.toml", "x")
    assert len(list(tmp_path.iterdir())) == 2
