"""What the tests of this room share: an open hall, and light hashing."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillhall.store.session import Store
from tests.visits import Hall, open_hall


@pytest.fixture
def hall(sqlite_store: Store, tmp_path: Path) -> Hall:
    """An open hall with nobody in it."""
    return open_hall(sqlite_store, tmp_path)
