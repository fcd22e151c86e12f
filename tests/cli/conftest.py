"""Jobs that commands are run on, in a folder of their own."""

import commands
import invented
import pytest

from truethrow.balance import demo


@pytest.fixture
def run(tmp_path):
    """Run a command in an empty folder: status, standard output, standard error."""
    return commands.in_folder(tmp_path)


@pytest.fixture
def launch(tmp_path):
    """The demo's files; its engine is outside its limits."""
    return demo.copy_into(tmp_path)


@pytest.fixture
def sound(tmp_path):
    """A job of like parts, all inside."""
    path = tmp_path / "sound.toml"
    path.write_text(invented.text(invented.document(limits={"piston": 1.0})))
    return path
