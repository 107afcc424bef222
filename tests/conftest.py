"""What every test may ask for: both engines, a browser, and the certainty that nothing leaves the machine."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import Browser, expect

from drillhall.store.session import Store
from tests import chromium, engines, outside
from tests.hashing import quick_hashing

if TYPE_CHECKING:
    from tests.hall import Hall  # it brings the whole program along, which tests of one room need not wait for


__all__ = ["quick_hashing"]


@pytest.fixture(autouse=True)
def _nothing_leaves() -> Iterator[None]:
    with outside.nothing_leaves():
        yield


@pytest.fixture(scope="session", autouse=True)
def _no_syncing() -> Iterator[None]:
    with engines.no_syncing():
        yield


@pytest.fixture(scope="session")
def pg_dsn() -> Iterator[str]:
    """The address of a real PostgreSQL; each test process has its own."""
    with engines.postgresql() as dsn:
        yield dsn


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """A real Chromium; each test makes a context of its own in it. What is expected of a page may take long where a machine is busy."""
    expect.set_options(timeout=15_000)
    with chromium.running() as browser:
        yield browser


@pytest.fixture(scope="session")
def empty_sqlite(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file with all tables and no rows, to copy."""
    return engines.make_empty_sqlite(tmp_path_factory.mktemp("empty-hall") / "hall.sqlite")


@pytest.fixture(scope="session")
def empty_postgresql(pg_dsn: str) -> Iterator[Store]:
    """A store on PostgreSQL with all tables; whoever uses it empties it first."""
    store = Store(pg_dsn)
    engines.make_tables(store)
    yield store
    store.close()


@pytest.fixture
def sqlite_store(empty_sqlite: Path, tmp_path: Path) -> Iterator[Store]:
    """A new hall's store on SQLite, for tests to which the engine is all one."""
    store = Store(f"sqlite:///{shutil.copy(empty_sqlite, tmp_path / 'hall.sqlite')}")
    yield store
    store.close()


@pytest.fixture
def postgresql_store(empty_postgresql: Store) -> Store:
    """A new hall's store on PostgreSQL."""
    empty_postgresql.carry(None)  # whoever opened the hall before had a secret
    engines.empty_tables(empty_postgresql)
    return empty_postgresql


@pytest.fixture(params=engines.ENGINES)
def store(request: pytest.FixtureRequest) -> Store:
    """A new hall's store, once on each engine."""
    store: Store = request.getfixturevalue("sqlite_store" if request.param == "sqlite" else "postgresql_store")
    return store


@pytest.fixture(scope="session")
def built_hall(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A hall's data folder with people, a small catalogue and its pictures, to copy."""
    from tests.hall import build_hall

    return build_hall(tmp_path_factory.mktemp("built-hall"))


@pytest.fixture
def hall(built_hall: Path, tmp_path: Path) -> Iterator[Hall]:
    """A whole hall of its own that listens on a free port, with a clock that the test sets."""
    from tests.hall import open_hall

    with open_hall(built_hall, tmp_path / "hall") as hall:
        yield hall
