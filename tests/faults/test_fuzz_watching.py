"""Whatever changes in a hall that is asked is seen, and set back: on either engine row by row, and file by file."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import delete, insert, select, update
from sqlalchemy.sql.base import Executable

from drillhall.store.models.people import AccountRow, AttemptRow, AuditRow, SettingRow
from drillhall.store.session import Store
from tests.faults.fuzz.databases import Database, OnPostgresql, OnSqlite
from tests.faults.fuzz.files import Files
from tests.hall import MADE_AT


def _do(store: Store, *what: Executable) -> None:
    with store.work() as db:
        for one in what:
            db.execute(one)


def _account(number: int) -> Executable:
    name = f"Heron {number}"
    return insert(AccountRow).values(id=number, name=name, name_folded=name.casefold(), passphrase_hash="x", created_at=MADE_AT)


@pytest.fixture
def watched(store: Store, tmp_path: Path) -> Iterator[tuple[Database, Store]]:
    """The watched database of a hall with two people, what one did, and two settings; and its store."""
    settings = [insert(SettingRow).values(key=key, value=1) for key in "ab"]
    _do(store, _account(1), _account(2), insert(AuditRow).values(at=MADE_AT, account_id=1, act="x"), *settings)
    if not store.is_sqlite:
        with closing(OnPostgresql(store.url)) as database:
            yield database, store
        return
    store.fold_log()
    (tmp_path / "watched").mkdir()
    with closing(OnSqlite(tmp_path / "hall.sqlite", tmp_path / "watched")) as copied, closing(Store(copied.address)) as there:
        yield copied, there


@pytest.mark.parametrize(
    ("change", "tables"),
    [
        (update(SettingRow).where(SettingRow.key == "a").values(value=2), {"setting"}),
        (update(SettingRow).where(SettingRow.key == "a").values(value="1"), {"setting"}),
        (update(AuditRow).values(account_id=2), {"audit"}),
        (insert(AuditRow).values(at=MADE_AT, act="y"), {"audit"}),
        (delete(AccountRow).where(AccountRow.id == 1), {"account", "audit"}),
        (delete(SettingRow), {"setting"}),
        (insert(AttemptRow).values(subject="x", window_start=MADE_AT), set()),
    ],
)
def test_each_change_of_a_row_is_seen_and_set_back(watched: tuple[Database, Store], change: Executable, tables: set[str]) -> None:
    database, store = watched
    version, rows = database.version(), database.read()
    assert (database.version(), database.read()) == (version, rows)
    _do(store, change)
    now = database.read()
    assert database.version() != version
    assert {name for name in now.keys() | rows if now.get(name) != rows.get(name)} == tables
    database.set_back(store.close)
    assert database.read() == rows
    with store.look() as db:
        assert db.scalars(select(AttemptRow)).all() == []


def test_what_stands_in_another_order_is_the_same(watched: tuple[Database, Store]) -> None:
    database, store = watched
    rows = database.read()
    _do(store, delete(SettingRow).where(SettingRow.key == "a"), insert(SettingRow).values(key="a", value=1))
    assert database.read() == rows


def test_numbers_are_counted_on_from_where_they_were(watched: tuple[Database, Store]) -> None:
    database, store = watched
    ids = []
    for _ in range(2):
        with store.work() as db:
            db.add(row := AuditRow(at=MADE_AT, act="y"))
            db.flush()
            ids.append(row.id)
        database.set_back(store.close)
    assert ids[0] == ids[1]


@pytest.fixture
def files(tmp_path: Path) -> Iterator[tuple[Files, Path]]:
    """The watched copy of a folder, and the folder."""
    ground = tmp_path / "ground"
    (ground / "pictures" / "a").mkdir(parents=True)
    for name in ("pictures/a/1.jpg", "pictures/a/2.jpg", "hall.sqlite"):
        (ground / name).write_bytes(b"one")
        os.utime(ground / name, (1, 1))
    with closing(Files(Path(shutil.copytree(ground, tmp_path / "there")))) as files:
        yield files, ground


def _add_deep(folder: Path) -> None:
    (folder / "new" / "deep").mkdir(parents=True)
    (folder / "new" / "deep" / "3.jpg").write_bytes(b"")


@pytest.mark.parametrize(
    ("change", "names"),
    [
        (lambda folder: (folder / "pictures/a/1.jpg").write_bytes(b"two"), ["pictures/a/1.jpg"]),
        (lambda folder: (folder / "pictures/a/3.jpg").write_bytes(b""), ["pictures/a/3.jpg"]),
        (lambda folder: (folder / "pictures/a/2.jpg").unlink(), ["pictures/a/2.jpg"]),
        (lambda folder: (folder / "pictures/a/2.jpg").rename(folder / "2.jpg"), ["2.jpg", "pictures/a/2.jpg"]),
        (lambda folder: shutil.rmtree(folder / "pictures"), ["pictures/a/1.jpg", "pictures/a/2.jpg"]),
        (_add_deep, ["new/deep/3.jpg"]),
        (lambda folder: (folder / "hall.sqlite-wal").write_bytes(b"x"), []),
    ],
)
def test_each_change_of_a_file_is_seen_and_set_back(files: tuple[Files, Path], change: Callable[[Path], object], names: list[str]) -> None:
    watched, ground = files
    first = watched.seen
    assert watched.look(closely=False) == []
    change(watched.folder)
    assert watched.look(closely=False) == names
    assert watched.look(closely=False) == []
    watched.set_back(ground, first)
    assert watched.seen == first
    assert not (watched.folder / "new").exists()
    (watched.folder / "pictures" / "a" / "1.jpg").write_bytes(b"six")
    assert watched.look(closely=False) == ["pictures/a/1.jpg"]


def test_what_happens_in_a_new_folder_is_seen_as_well(files: tuple[Files, Path]) -> None:
    watched, _ = files
    _add_deep(watched.folder)
    watched.look(closely=False)
    (watched.folder / "new/deep/3.jpg").write_bytes(b"more")
    assert watched.look(closely=False) == ["new/deep/3.jpg"]
