"""The launch before anything of it was weighed, and a shop to run commands in."""

import pytest
from demo_shop import DemoShop
from within import demo

ESTIMATE = """
[estimate]
piston = { about = 521, within = 2, scatter = 0.8 }
pin = { about = 118, within = 0.5 }
small_end = { about = "180 g", within = 3, scatter = 1 }
big_end = { about = 445, within = 4, scatter = 1.5 }
"""


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
