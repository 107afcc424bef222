"""Halls to back up and to put a backup back into, and how to compare them row by row and file by file."""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select, text

from drillhall.acts.back_up import back_up
from drillhall.acts.restore import restore
from drillhall.pictures.storage import FolderStorage, Storage
from drillhall.store.archive import Archive
from drillhall.store.base import Row
from drillhall.store.migrating import bring_up_to_date
from drillhall.store.models.people import AttemptRow, SettingRow
from drillhall.store.models.pictures import FileRow, PictureRow
from drillhall.store.session import Store
from tests.practice.playing import play
from tests.practice.rows import rows_of
from tests.practice.small_hall import NOON, SmallHall, make_small_hall

ODD = "Ærø – “wet” 🐦\tand\u2028so on"


@dataclass
class Kept:
    """A hall's database and where its pictures lie."""

    store: Store
    storage: Storage


def quietly(done: int, of: int, what: str) -> None:
    assert 0 < done <= of, what


def take(kept: Kept, path: Path, progress: Callable[[int, int, str], None] = quietly) -> Path:
    back_up(kept.store, kept.storage, path, at=NOON, program="0.1.0", progress=progress)
    return path


def put_back(kept: Kept, path: Path) -> tuple[str, ...]:
    with Archive(path) as archive:
        return restore(kept.store, kept.storage, archive, progress=quietly)


def every_row(store: Store) -> dict[str, list[tuple[Any, ...]]]:
    with store.look() as db:
        return {mapper.class_.__tablename__: rows_of(db, mapper.class_) for mapper in Row.registry.mappers}


def every_file(storage: Storage) -> dict[str, str]:
    return {key: hashlib.sha256(storage.get(key)).hexdigest() for key in list(storage.keys())}


def furnish(kept: Kept) -> SmallHall:
    """Make a hall with a history, files behind its pictures, and rows that are odd."""
    bring_up_to_date(kept.store)
    with kept.store.work() as db:
        small = make_small_hall(db)
        db.add_all(
            [
                SettingRow(key="odd", value={"said": ODD, "deep": [None, 1.5, {"a": []}], "big": 2**62}),
                SettingRow(key="nothing", value=None),
                AttemptRow(subject=ODD, window_start=NOON + timedelta(microseconds=1), count=3),
            ]
        )
        db.get_one(PictureRow, 1).fingerprint = -(2**63)
        for row in db.scalars(select(FileRow)):
            kept.storage.put(row.storage_key, row.storage_key.encode() * 50)
    with kept.store.work() as db:
        play(db, small.learner, at=NOON, knows=lambda view, question: question.place != 1)
    return small


@pytest.fixture
def empty(pg_dsn: str, tmp_path: Path) -> Iterator[dict[str, Kept]]:
    """A database without a table on each engine."""
    server = Store(pg_dsn)
    with server.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.execute(text("DROP DATABASE IF EXISTS backed_up WITH (FORCE)"))
        connection.execute(text("CREATE DATABASE backed_up"))
    server.close()
    made = {
        "sqlite": Kept(Store(f"sqlite:///{tmp_path / 'one.sqlite'}"), FolderStorage(tmp_path / "one")),
        "postgresql": Kept(Store(pg_dsn.replace("/postgres?", "/backed_up?")), FolderStorage(tmp_path / "other")),
    }
    yield made
    for kept in made.values():
        kept.store.close()


@pytest.fixture(scope="module")
def taken(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sound backup of a small hall."""
    folder = tmp_path_factory.mktemp("taken")
    kept = Kept(Store(f"sqlite:///{folder / 'hall.sqlite'}"), FolderStorage(folder / "pictures"))
    furnish(kept)
    take(kept, folder / "hall.zip")
    kept.store.close()
    return folder / "hall.zip"


@pytest.fixture(scope="module")
def opened_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The database of a hall that was opened once, with all tables and no rows."""
    store = Store(f"sqlite:///{tmp_path_factory.mktemp('once') / 'hall.sqlite'}")
    bring_up_to_date(store)
    store.close()
    return Path(store.url.removeprefix("sqlite:///"))


@pytest.fixture
def bare(opened_once: Path, tmp_path: Path) -> Iterator[Kept]:
    """A hall in which nothing is yet."""
    kept = Kept(Store(f"sqlite:///{shutil.copy(opened_once, tmp_path / 'bare.sqlite')}"), FolderStorage(tmp_path / "bare"))
    yield kept
    kept.store.close()
