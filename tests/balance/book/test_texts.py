"""A job's document: its bytes come back, and what changed is told in lines."""

import codecs

import pytest
from commands import refused
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.book.texts import MOST_CHANGED_LINES, Document, changes, of_bytes, read

MARKS = {"utf-8": codecs.BOM_UTF8, "utf-16-le": codecs.BOM_UTF16_LE, "utf-16-be": codecs.BOM_UTF16_BE}
plain = st.text(st.characters(blacklist_categories=["Cs"], blacklist_characters="\ufeff"), max_size=60)


@given(plain, st.sampled_from(["", *MARKS]))
def test_every_byte_comes_back(text, encoding):
    raw = MARKS[encoding] + text.encode(encoding) if encoding else text.encode("utf-8")
    assert of_bytes(raw).as_bytes() == raw
    assert of_bytes(raw).text == text


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_another_text_has_the_line_ends_and_the_encoding_of_the_one_before(end):
    first = of_bytes(codecs.BOM_UTF8 + f"a = 1{end}b = 2{end}".encode())
    assert first.plain == "a = 1\nb = 2\n"
    made = first.with_text("a = 3\nb = 2\n")
    assert made.as_bytes() == codecs.BOM_UTF8 + f"a = 3{end}b = 2{end}".encode()


def test_what_changed_is_told_line_by_line_and_not_too_long():
    assert changes("a\nb\nc\n", "a\nB\nc\n") == "\n  -b\n  +B"
    assert changes("a\n", "a\n") == ""
    many = changes("", "x\n" * 50).splitlines()
    assert many[-1] == f"  … and {50 - MOST_CHANGED_LINES} lines more"
    assert len(many) == MOST_CHANGED_LINES + 2
    assert changes("", "\x1b[31m" + "x" * 500).strip().isprintable()


def test_what_is_no_document_is_refused(tmp_path):
    assert "standard input" in refused(read, tmp_path.with_name("-").relative_to(tmp_path.parent))
    (tmp_path / "job.toml").write_bytes(b"\xff\xfe\x00")
    assert "job.toml: " in refused(read, tmp_path / "job.toml")
    (tmp_path / "job.toml").write_bytes("größe = 1\r\n".encode())
    assert read(tmp_path / "job.toml") == Document("größe = 1\r\n")
