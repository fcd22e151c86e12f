"""Which truethrow this is."""

import importlib.metadata

from truethrow.balance.base import program


def test_the_version_is_that_of_the_package_and_of_one_that_is_not_installed_unknown(monkeypatch):
    assert program.version() == importlib.metadata.version("truethrow")

    def missing(name):
        raise importlib.metadata.PackageNotFoundError(name)

    monkeypatch.setattr(importlib.metadata, "version", missing)
    assert program.version() == program.NOT_INSTALLED
