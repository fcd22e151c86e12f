"""Which truethrow this is."""

import importlib.metadata

from truethrow.balance.base import program


def test_every_json_document_begins_with_its_format_and_the_program():
    assert program.made_by() == {"truethrow": {"format": program.JSON_FORMAT, "program": program.version()}}


def test_the_version_is_that_of_the_package_and_of_one_that_is_not_installed_unknown(monkeypatch):
    assert program.version() == importlib.metadata.version("truethrow")

    def missing(name):
        raise importlib.metadata.PackageNotFoundError(name)

    monkeypatch.setattr(importlib.metadata, "version", missing)
    assert program.version() == program.NOT_INSTALLED
