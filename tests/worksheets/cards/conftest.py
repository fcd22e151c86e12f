"""Fixtures that the files of this room share."""

from __future__ import annotations

import pytest
from card_texts import (
    STORIES,
)


@pytest.fixture(scope="session")
def told(tmp_path_factory):
    """A story by its name, worked once."""
    shops = {}

    def tell(name):
        if name not in shops:
            shops[name] = STORIES[name](tmp_path_factory.mktemp(name))
        return shops[name]

    return tell
