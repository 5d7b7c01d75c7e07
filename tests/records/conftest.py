from __future__ import annotations

import pytest

from readiness.records.shop import ShopFolder
from tests.records.invented import demo_shop


@pytest.fixture(scope="session")
def shop(tmp_path_factory) -> ShopFolder:
    """A copy of the demo shop at a fixed moment. Tests give each job a name of its own."""
    return demo_shop(tmp_path_factory.mktemp("records"))
