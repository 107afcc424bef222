"""A small hall in each engine, and the rows of what is folded."""

from __future__ import annotations

import pytest

from drillhall.store.session import Store
from tests.practice.small_hall import SmallHall, make_small_hall


@pytest.fixture
def hall(store: Store) -> SmallHall:
    """Four invented waders in three pairs, a learner who has taken the set, and a stranger; on either engine."""
    with store.work() as db:
        return make_small_hall(db)


@pytest.fixture
def quick_hall(sqlite_store: Store) -> SmallHall:
    """The same on SQLite alone, for what does not depend on the engine."""
    with sqlite_store.work() as db:
        return make_small_hall(db)
