"""An open hall with the small catalogue in it: the keeper is its steward, the learner has taken its set, the stranger nothing."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from drillhall.store.session import Store
from tests.hall import MADE_AT
from tests.visits import Hall, open_hall


@pytest.fixture
def hall(built_hall: Path, tmp_path: Path) -> Iterator[Hall]:
    folder = Path(shutil.copytree(built_hall, tmp_path / "hall"))
    store = Store(f"sqlite:///{folder / 'hall.sqlite'}")
    hall = open_hall(store, folder)
    hall.clock.at = MADE_AT + timedelta(days=2)
    yield hall
    store.close()
