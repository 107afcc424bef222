"""What the tests of acts share: a keeper in a hall, and somewhere to keep pictures."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from drillhall.people import accounts
from drillhall.people.person import Person
from drillhall.pictures.storage import FolderStorage
from drillhall.store.session import Store
from tests import cast

AT = datetime(2031, 3, 3, 8, 0, tzinfo=UTC)


@pytest.fixture
def storage(tmp_path: Path) -> FolderStorage:
    """An empty storage."""
    return FolderStorage(tmp_path / "kept")


@pytest.fixture
def keeper(store: Store) -> Person:
    """The keeper of the hall, who imports."""
    with store.work() as db:
        return accounts.make_account(db, name=cast.KEEPER.name, passphrase=cast.KEEPER.passphrase, at=AT, is_keeper=True)


@pytest.fixture
def stranger(store: Store) -> Person:
    """Somebody else with an account."""
    with store.work() as db:
        return accounts.make_account(db, name=cast.STRANGER.name, passphrase=cast.STRANGER.passphrase, at=AT)
