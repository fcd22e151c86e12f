"""Candidates side by side, by their command."""

import json
import zipfile

import choosing
import pytest


def test_one_file_and_one_command_tell_target_and_slugs(shop, tmp_path):
    """Of a builder who knows only catalog weights."""
    text = choosing.demo_text()
    first, last = text.index('[[set]]\nname = "cast from the shop"'), text.index("[[crank]]")
    file = choosing.written(tmp_path, text[:first] + text[last:])
    status, said = shop.run("candidates", file)
    assert status == 0
    assert "! ESTIMATE: not weighed yet, in every set: piston, pin, locks, rings, small end, big end" in said
    assert "1   light forged  crank A           1800  11" in said
    assert "2=  light forged  crank B           1800  11" in said
    found = json.loads(shop.run("candidates", file, "--json", "--sort", "slugs")[1])
    assert found["sorted_by"] == "slugs"
    one, other = found["candidates"]
    assert (one["rank"], one["crank"], one["expected"]["middle"]["slugs"]) == (1, "crank A", 0)
    assert (other["rank"], other["crank"]) == (2, "crank B")
    assert other["expected"]["middle"]["slugs"] > 0
    assert one["estimated"] == ["piston", "pin", "locks", "rings", "small_end", "big_end", "bearings"]


def test_the_order_is_by_what_matters_and_its_doubt_is_named(shop, tmp_path):
    file = choosing.written(tmp_path)
    status, said = shop.run("candidates", file, "--sort", "reciprocating")
    assert status == 0
    assert "Sorted: the lightest reciprocating mass first." in said
    assert (
        "2 (B on C) could come before 1 (A on C): their reciprocating masses are 2.0 g apart, ± 5.8; most of the "
        "doubt is from piston 100%." in said
    )
    assert "does not change this order" in shop.run("candidates", file)[1]
    by_file = choosing.written(
        tmp_path, choosing.SMALL.replace('id = "pump"', 'id = "pump"\nby = "reciprocating"')
    )
    assert shop.run("candidates", by_file)[1] == said


def test_what_is_not_told_says_what_would_tell_it(shop, tmp_path):
    file = choosing.written(tmp_path)
    said = shop.run("candidates", file)[1]
    assert "Not told: metal, slugs and holes, which need --station, or [[drill]] and [[slug]] in the file" in said
    assert "price" not in said
    said = shop.run("candidates", choosing.written(tmp_path, choosing.SMALL + choosing.TOOLS))[1]
    assert (
        "Not told: metal, slugs and holes, which need a limit in [station], or a grade with the crank's "
        "mass; [[crank.counterweight]] of C." in said
    )
    limit = choosing.SMALL + choosing.TOOLS + '[station]\nlimit = "300 g mm"\n'
    assert (
        "slugs and holes on C: it has no [[crank.counterweight]]"
        in shop.run("candidates", choosing.written(tmp_path, limit))[1]
    )


def test_the_stations_profile_beside_the_file_has_the_tools(shop, tmp_path):
    file = choosing.written(tmp_path, choosing.SMALL + '[station]\nlimit = "300 g mm"\n')
    (tmp_path / "station.toml").write_bytes(shop.station.read_bytes())
    assert "it has no [[crank.counterweight]]" in shop.run("candidates", file)[1]
    assert "it has no [[crank.counterweight]]" in shop.run("candidates", file, "--station", shop.station)[1]


def test_a_page_and_a_spreadsheet_are_written(shop, tmp_path):
    file = choosing.written(tmp_path)
    page, book = tmp_path / "choice.html", tmp_path / "choice.xlsx"
    assert shop.run("candidates", file, "--out", page, "--xlsx", book)[0] == 0
    text = page.read_text(encoding="utf-8")
    assert "ESTIMATE" in text
    assert "CANDIDATES" in text
    assert "QR code" not in text
    with zipfile.ZipFile(book) as made:
        assert "A on C" not in made.namelist()
        assert b"bobweight" in made.read("xl/sharedStrings.xml")


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--sort", "weight"), "--sort: 'weight' is not known; allowed: bobweight, reciprocating"),
        (("--out", "page.doc"), "--out: page.doc; allowed: a file that ends in .html or .pdf"),
        (("--xlsx", "page.csv"), "--xlsx: page.csv; allowed: a file that ends in .xlsx"),
        (("--show", "cubits"), "--show: 'cubits' is not known"),
    ],
)
def test_what_is_asked_for_wrongly_is_one_line(shop, tmp_path, more, said):
    status, told = shop.run("candidates", choosing.written(tmp_path), *more)
    assert status == 2
    assert told.startswith(said)
