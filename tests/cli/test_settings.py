"""What is set is shown, with where; an address never with what else was typed into it."""

import json


def test_each_key_is_shown_with_where_it_is_set_or_how_it_can_be(run, tmp_path):
    kept = tmp_path / "settings.toml"
    kept.write_text('length_unit = "in"\n', encoding="utf-8")
    told = run("settings", TRUETHROW_SETTINGS=str(kept), TRUETHROW_BY="AB").out.splitlines()
    assert told[0] == f"Settings file: {kept}"
    assert [line.split()[0] for line in told[2:]] == ["key", "by", "station", "book", "mass_unit", "length_unit"]
    assert told[3].split() == ["by", "AB", "TRUETHROW_BY"]
    assert "not set; TRUETHROW_STATION" in told[4]
    assert told[7].split(maxsplit=2) == ["length_unit", "in", f"{kept}, length_unit"]


def test_an_address_is_shown_without_the_users_name(run):
    told = run("settings", "--json", TRUETHROW_BOOK="postgresql://me@host/shop")
    assert json.loads(told.out)["settings"]["book"] == {
        "value": "postgresql://host/shop",
        "from": "TRUETHROW_BOOK",
    }


def test_the_book_of_the_settings_file_is_the_book(run, tmp_path):
    kept = tmp_path / "settings.toml"
    kept.write_text(f'book = "sqlite:///{tmp_path / "shop.db"}"\n', encoding="utf-8")
    told = run("book", "where", TRUETHROW_SETTINGS=str(kept))
    assert str(tmp_path / "shop.db") in told.out
    other = run("book", "where", TRUETHROW_SETTINGS=str(kept), TRUETHROW_BOOK=f"sqlite:///{tmp_path / 'mine.db'}")
    assert "mine.db" in other.out and "shop.db" not in other.out
