"""The launch before anything of it was weighed, and a shop to run commands in."""

import pytest
from demo_shop import DemoShop
from planned import ESTIMATE
from within import demo


@pytest.fixture
def shop(tmp_path):
    folder = tmp_path / "shop"
    folder.mkdir()
    return DemoShop(folder)


@pytest.fixture
def estimated(tmp_path):
    """Its job file with a catalog's weights."""
    demo.copy_into(tmp_path)
    file = tmp_path / "launch.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("[every_cylinder]", f"{ESTIMATE}\n[every_cylinder]"), encoding="utf-8")
    return file
