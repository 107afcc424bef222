"""Storage: whole or not at all, nothing outside its folder, and leftovers found."""

from __future__ import annotations

import errno
import os
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from drillhall.errors import Unavailable
from drillhall.pictures.ingest import add_picture, take
from drillhall.pictures.storage import FolderStorage, Leftovers, Storage, orphans
from drillhall.store.session import Store
from tests.pictures.drawn import NOW, OPEN, PUBLIC_ID, saved, scene
from tests.pictures.storage_contract import BAD_KEYS, StorageContract


@pytest.fixture
def folder(tmp_path: Path) -> FolderStorage:
    return FolderStorage(tmp_path / "pictures")


class TestFolderStorage(StorageContract):
    """A folder on disk keeps what any storage must."""

    @pytest.fixture
    def storage(self, folder: FolderStorage) -> Storage:
        return folder


def test_deleting_takes_the_empty_folder_along(folder: FolderStorage) -> None:
    folder.put("ab/one/x.webp", b"-")
    folder.delete("ab/one/x.webp")
    assert not (folder.folder / "ab" / "one").exists()


@pytest.mark.parametrize("key", BAD_KEYS)
def test_a_key_that_leads_elsewhere_leaves_no_trace(folder: FolderStorage, key: str) -> None:
    with pytest.raises(ValueError, match="not a key"):
        folder.put(key, b"-")
    assert list(folder.folder.parent.iterdir()) == []


def test_a_full_disk_leaves_what_was_there_and_says_so(folder: FolderStorage, monkeypatch: pytest.MonkeyPatch) -> None:
    folder.put("ab/one/x.webp", b"first")

    def full(_handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(Unavailable, match="No space left on device"):
        folder.put("ab/one/x.webp", b"second")
    assert folder.get("ab/one/x.webp") == b"first"
    assert [path.name for path in (folder.folder / "ab" / "one").iterdir()] == ["x.webp"]


def test_bytes_are_on_the_disk_before_they_get_their_name_and_the_name_before_put_returns(
    folder: FolderStorage, monkeypatch: pytest.MonkeyPatch
) -> None:
    order: list[str] = []
    sync, rename = os.fsync, os.replace

    def name_of(handle: int) -> str:
        path = Path(os.readlink(f"/proc/self/fd/{handle}"))
        return path.relative_to(folder.folder).as_posix() if path.is_dir() else f"bytes of {path.stat().st_size}"

    monkeypatch.setattr(os, "fsync", lambda handle: (order.append(f"sync {name_of(handle)}"), sync(handle)))
    monkeypatch.setattr(os, "replace", lambda old, new: (order.append(f"name {Path(new).name}"), rename(old, new)))
    folder.put("ab/one/x.webp", b"12345")
    assert order == ["sync bytes of 5", "name x.webp", "sync ab/one", "sync ab", "sync ."]
    order.clear()
    folder.put("ab/one/y.webp", b"123")
    assert order == ["sync bytes of 3", "name y.webp", "sync ab/one"]


def test_what_a_broken_write_left_is_no_key_and_is_dropped_once_it_is_old(folder: FolderStorage) -> None:
    folder.put("ab/one/x.webp", b"-")
    (folder.folder / "ab" / "one" / ".unfinished-k3").write_bytes(b"half")
    assert list(folder.keys()) == ["ab/one/x.webp"]
    assert folder.drop_unfinished(before=datetime.now(UTC) - timedelta(hours=1)) == 0
    assert folder.drop_unfinished(before=datetime.now(UTC) + timedelta(hours=1)) == 1
    assert folder.get("ab/one/x.webp") == b"-"


def test_orphans_on_both_sides_are_found(sqlite_store: Store, folder: FolderStorage) -> None:
    with sqlite_store.work() as db:
        taken = take(saved(scene()))
        add_picture(db, folder, taken, public_id=PUBLIC_ID, owner_id=None, form_id=None, rights=OPEN, at=NOW)
        assert orphans(db, folder) == Leftovers((), ())
        gone = next(folder.keys())
        folder.delete(gone)
        folder.put("ab/stray/x.webp", b"-")
        assert orphans(db, folder) == Leftovers(files=("ab/stray/x.webp",), rows=(gone,))
