"""What is set: a variable counts before the file, and what is wrong is told with where."""

from pathlib import Path

import pytest

from truethrow.balance.base import settings
from truethrow.balance.base.errors import BadInput


@pytest.fixture
def kept(tmp_path, monkeypatch):
    path = tmp_path / "settings.toml"
    monkeypatch.setenv(settings.FILE, str(path))
    path.write_text('by = "AB"\nstation = "floor.toml"\n', encoding="utf-8")
    return path


def test_a_variable_counts_before_the_file_and_an_empty_one_is_none(kept, monkeypatch):
    assert settings.setting("by") == ("AB", f"{kept}, by", kept.parent)
    monkeypatch.setenv("TRUETHROW_BY", "MK")
    assert settings.setting("by") == ("MK", "TRUETHROW_BY", None)
    monkeypatch.setenv("TRUETHROW_BY", "")
    assert settings.setting("by").value == "AB"
    assert settings.setting("book") is None


@pytest.mark.parametrize("key", settings.KEYS)
def test_what_cannot_be_is_told_with_its_variable(kept, monkeypatch, key):
    if key == "book":  # whoever opens it looks at it
        return
    monkeypatch.setenv(settings.variable(key), "\a")
    with pytest.raises(BadInput, match=f"^{settings.variable(key)}: "):
        settings.setting(key)


def test_a_file_that_the_shell_names_has_to_be_there_and_ones_own_need_not(kept, monkeypatch):
    kept.unlink()
    with pytest.raises(BadInput, match=f"{kept}: no such file"):
        settings.setting("by")
    monkeypatch.delenv(settings.FILE)
    assert settings.path() == Path(settings.path().parent / "settings.toml")
    assert settings.setting("by") is None


def test_one_wrong_key_is_told_whichever_is_asked_for(kept):
    kept.write_text('by = "AB"\nmass_unit = "parsec"\n', encoding="utf-8")
    with pytest.raises(BadInput, match=f"{kept}: mass_unit: "):
        settings.setting("by")


def test_whether_there_may_be_a_book_is_told_by_its_file(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert not settings.may_have_a_book()
    settings.own_book().parent.mkdir(parents=True, exist_ok=True)
    settings.own_book().touch()
    assert settings.may_have_a_book()
    monkeypatch.setenv("TRUETHROW_BOOK", f"sqlite:///{tmp_path / 'other.db'}")
    assert not settings.may_have_a_book()
    (tmp_path / "other.db").touch()
    assert settings.may_have_a_book()
    monkeypatch.setenv("TRUETHROW_BOOK", "postgresql://shop/book")
    assert settings.may_have_a_book()
