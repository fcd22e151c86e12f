"""Fixtures that several test files share."""

from __future__ import annotations

import invented
import pytest


@pytest.fixture
def blank(tmp_path):
    """A V8 whose readings are all still to be weighed."""

    def make(**tables):
        data = {name: table for name, table in invented.document(**tables).items() if name != "cylinder"}
        path = tmp_path / "job.toml"
        path.write_text(invented.text(data), encoding="utf-8")
        return path

    return make
