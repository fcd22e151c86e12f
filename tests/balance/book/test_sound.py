"""What is sound of a book's rows holds together without the rest."""

from __future__ import annotations

from truethrow.balance.book import schema, sound
from truethrow.balance.book.rows import is_sealed, sealed


def reading(seq, label="R01", other_g=100.0):
    return sealed(
        kind="rod", label=label, seq=seq, at="t", by="", big_end_g=400.0, other_g=other_g, bank="", together=""
    )


def found_in(rows):
    found, lost = sound.none_yet(), []
    for row in rows:
        sound.take("stock_readings", row, found, lost)
    return found, lost


def test_a_row_that_is_not_as_it_was_written_is_lost_and_the_others_are_numbered_without_it():
    found, lost = found_in([reading(1), reading(2) | {"other_g": 1.0}, reading(3, other_g=101.0)])
    assert lost == ["stock readings: rod R01 2 is damaged"]
    made = sound.together(found, (), lost)["stock_readings"]
    assert [(row["seq"], row["other_g"]) for row in made] == [(1, 100.0), (2, 101.0)]
    assert all(map(is_sealed, made))


def test_a_value_that_is_none_of_its_column_is_lost():
    for odd in (b"\xff", None, "100", float("nan")):
        assert found_in([reading(1) | {"other_g": odd}])[1] == ["stock readings: rod R01 1 is damaged"]


def test_a_part_without_a_weight_is_lost_with_its_moves_and_one_with_a_weight_is_made_again():
    found, lost = found_in([reading(1)])
    for label in ("R01", "R02"):
        move = sealed(kind="rod", label=label, seq=1, at="t", by="", job="launch-7", cylinder=1)
        sound.take("stock_moves", move, found, lost)
    made = sound.together(found, {"launch-7"}, lost)
    assert [row["label"] for row in made["stock"]] == ["R01"]
    assert [row["label"] for row in made["stock_moves"]] == ["R01"]
    assert lost == ["rod R02: what it weighs, and so the part"]
    assert sound.together(found, set(), lost)["stock_moves"] == []


def test_texts_follow_the_last_one_that_could_be_read():
    texts = [
        sealed(job="a", revision=number, before=number - 1, at="t", by="", encoding="utf-8", text="x")
        for number in (1, 3)
    ]
    made = sound.following(texts)
    assert [row["before"] for row in made] == [0, 1]
    assert all(map(is_sealed, made))


def test_all_tables_with_a_seal_but_the_records_are_known():
    with_seal = {table.name for table in schema.ALL_TABLES if "seal" in table.columns}
    assert {table.name for table in sound.SEALED} == with_seal - {"records"}
