"""What the tests of this room share: an open hall, and light hashing."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from drillhall.store.session import Store
from tests.hall import MADE_AT
from tests.visits import Hall, open_hall
from tests.web.full import fill_hall


@pytest.fixture
def hall(sqlite_store: Store, tmp_path: Path) -> Hall:
    """An open hall with nobody in it."""
    return open_hall(sqlite_store, tmp_path)


@pytest.fixture
def full_hall(built_hall: Path, tmp_path: Path) -> Iterator[Hall]:
    """An open hall with something in every table."""
    folder = Path(shutil.copytree(built_hall, tmp_path / "hall"))
    store = Store(f"sqlite:///{folder / 'hall.sqlite'}")
    hall = open_hall(store, folder)
    hall.clock.at = MADE_AT + timedelta(hours=1)
    fill_hall(hall)
    yield hall
    store.close()
