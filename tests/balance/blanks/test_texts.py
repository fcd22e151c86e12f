"""The blanks: every key of every document is told in one, and each is sound once it is filled in."""

from __future__ import annotations

import importlib
import pkgutil
import re
import tomllib

import invented
import pytest

from truethrow import balance
from truethrow.balance.base import settings
from truethrow.balance.base.errors import BadInput
from truethrow.balance.base.fields import Table
from truethrow.balance.blanks import texts
from truethrow.balance.job import blank, job
from truethrow.balance.planning import candidates, prices
from truethrow.balance.station import stationfile
from truethrow.balance.weighing import benchjob

FILLED = {
    "unit": '"g"',
    "radius": "100.0",
    "sense": '"with"',
    "amount_uncertainty": "2.0",
    "angle_uncertainty": "2.0",
    "floor": "30.0",
    "name": '"bench 1"',
    "at": "-22.0",
    "thickness": "24.0",
    "outer_radius": "90.0",
    "inner_radius": "52.0",
    "from": "120",
    "to": "240",
    "id": '"choice"',
    "layout": '"v8-90-crossplane"',
    "stroke": "92.0",
    "rod_length": "155.0",
    "cylinder_spacing": "112.0",
    "top_speed": "5600",
    "target": "1850",
    "weighing": "2.50",
    "match": "60",
    "cut": "12",
    "spin": "35",
    "slug": "38",
    "hole": "6",
    "hour": "85",
    "hours": "4",
}
# Of parts by the catalog, in the blank candidates.
ABOUT = {"piston": 521, "pin": 118, "locks": 3, "rings": 41, "small_end": 172, "big_end": 441, "bearings": 46}
# Where the keys of a table are told: a blank by its name, or the blank job with every key.
TOLD_IN = {
    "stationfile": "station",
    "crank": "crank",
    "declared": "new",
    "document": "new",
    "settings": "settings",
    "candidates": "candidates",
    "prices": "prices",
}
OF_A_BENCH = ("BenchTable", "BenchProfileTable")


def filled(name: str) -> str:
    text = re.sub(r'^(\w+) = ""', lambda found: f"{found[1]} = {FILLED[found[1]]}", texts.text(name), flags=re.M)
    for kind, grams in ABOUT.items():
        text = text.replace(f'{kind} = {{ about = "", within = ""', f"{kind} = {{ about = {grams}, within = 1")
    return text


def uncommented(text: str) -> str:
    """With every key and table that stands behind a single #."""
    return re.sub(r"^# (?=\[|\w+ = )", "", text, flags=re.M)


def tables() -> list[type[Table]]:
    """Every table of every document."""
    for module in pkgutil.walk_packages(balance.__path__, f"{balance.__name__}."):
        if ".migrations" not in module.name:
            importlib.import_module(module.name)
    found, left = [], [Table]
    while left:
        more = left.pop().__subclasses__()
        found += [one for one in more if one.__module__.startswith("truethrow.")]
        left += more
    return found


def text_for(table: type[Table]) -> str:
    room = table.__module__.rpartition(".")[2]
    name = "bench" if table.__name__ in OF_A_BENCH else TOLD_IN.get(room, "new")
    return blank.job(blank.Wanted("v8-90-crossplane", "a"), every_key=True) if name == "new" else texts.text(name)


def test_every_key_of_every_document_is_told_in_a_blank():
    known = tables()
    assert len(known) > 25
    untold = [
        f"{table.__name__}.{key}"
        for table in known
        for name, field in table.model_fields.items()
        for key in [field.alias or name]
        if not re.search(rf"(\b{key} = |\[[\w.]*\b{key}\]|^# \[\[?[\w.]*{key}\])", text_for(table), re.M)
    ]
    assert untold == []


def test_a_key_that_is_in_no_blank_would_be_told():
    """The look above can fail."""
    assert not re.search(r"\bboar = ", text_for(next(one for one in tables() if one.__name__ == "StackTable")))


@pytest.mark.parametrize("name", texts.NAMES)
def test_what_has_to_be_known_is_asked_for_until_it_is_filled_in(name, tmp_path):
    if name != "settings":  # of which nothing has to be
        with pytest.raises(BadInput):
            read(name, texts.text(name), tmp_path)
    read(name, filled(name), tmp_path)


@pytest.mark.parametrize("name", texts.NAMES)
def test_a_blank_is_sound_with_all_of_its_comments_uncommented(name, tmp_path):
    read(name, uncommented(filled(name)), tmp_path)


def read(name: str, text: str, folder) -> None:
    path = folder / f"{name}.toml"
    path.write_text(text, encoding="utf-8")
    if name == "station":
        stationfile.load(path)
    elif name == "bench":
        benchjob.must_be_a_profile(path)
    elif name == "candidates":
        assert candidates.load(path).pairs
    elif name == "prices":
        assert prices.load(path).hours == 4
    elif name == "settings":
        assert set(tomllib.loads(text)) <= set(settings.KEYS)
    else:
        made = job.build(invented.text(invented.document()) + "\n" + text)
        assert made.crank


@pytest.mark.parametrize("name", [*texts.NAMES, texts.OF_A_JOB])
def test_a_blank_fits_a_screen(name):
    assert max(map(len, texts.text(name).splitlines())) <= 115
