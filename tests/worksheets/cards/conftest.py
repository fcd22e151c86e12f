"""Fixtures that the files of this room share."""

from __future__ import annotations

import functools

import pytest
from card_texts import STORIES


@pytest.fixture(scope="session")
def told(tmp_path_factory):
    """A story by its name, worked once."""
    shops = {}

    def tell(name):
        if name not in shops:
            shops[name] = STORIES[name](tmp_path_factory.mktemp(name))
        return shops[name]

    return tell


@pytest.fixture(scope="session")
def cards_of(told):
    """The cards of a story by its name, made once; show: the units, if not the job's own."""
    made = functools.cache(lambda name, show: told(name).cards(show))
    return lambda name, show=None: made(name, show)
