"""A learner who has taken a set, visiting over HTTP."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillhall.people.accounts import list_accounts
from drillhall.store.models.catalogue import TakenSetRow
from drillhall.store.session import Store
from tests import cast
from tests.practice.small_hall import SmallHall, make_small_hall
from tests.visits import Hall, Visitor, open_hall


@pytest.fixture
def hall(sqlite_store: Store, tmp_path: Path) -> Hall:
    """An open hall with the small catalogue in it."""
    return open_hall(sqlite_store, tmp_path)


@pytest.fixture
def small(hall: Hall) -> SmallHall:
    """What is in the hall; nobody who signs in has taken the set yet."""
    with hall.store.work() as db:
        return make_small_hall(db, taken=False)


@pytest.fixture
def learner(hall: Hall, small: SmallHall) -> Visitor:
    """Somebody signed in who has taken the set."""
    visitor = hall.enter(cast.LEARNER)
    with hall.store.work() as db:
        account = next(one.id for one in list_accounts(db) if one.name == cast.LEARNER.name)
        db.add(TakenSetRow(account_id=account, pair_set_id=small.pair_set, taken_at=hall.clock()))
    return visitor
