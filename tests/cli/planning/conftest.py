import pytest
from demo_shop import DemoShop


@pytest.fixture
def shop(tmp_path):
    folder = tmp_path / "shop"
    folder.mkdir()
    return DemoShop(folder)
