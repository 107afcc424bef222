"""Storage: whole or not at all, nothing outside its folder, and leftovers found."""

from __future__ import annotations

import errno
import os
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from drillhall.errors import NotFound, Unavailable
from drillhall.pictures.ingest import add_picture, take
from drillhall.pictures.storage import FolderStorage, Leftovers, Storage, orphans
from drillhall.store.session import Store
from tests.pictures.drawn import NOW, OPEN, PUBLIC_ID, saved, scene


@pytest.fixture
def folder(tmp_path: Path) -> FolderStorage:
    return FolderStorage(tmp_path / "pictures")


def test_what_is_put_is_got_back_and_may_be_replaced(folder: FolderStorage) -> None:
    kept: Storage = folder
    kept.put("ab/one/large.webp", b"first")
    kept.put("ab/one/large.webp", b"second")
    assert kept.get("ab/one/large.webp") == b"second"


def test_keys_come_in_order_by_prefix(folder: FolderStorage) -> None:
    for key in ("ab/two/x.webp", "ab/one/x.webp", "cd/one/x.webp"):
        folder.put(key, b"-")
    assert list(folder.keys()) == ["ab/one/x.webp", "ab/two/x.webp", "cd/one/x.webp"]
    assert list(folder.keys("ab/o")) == ["ab/one/x.webp"]
    assert list(folder.keys("zz/")) == []


def test_deleting_takes_the_empty_folder_along_and_is_no_error_twice(folder: FolderStorage) -> None:
    folder.put("ab/one/x.webp", b"-")
    folder.delete("ab/one/x.webp")
    folder.delete("ab/one/x.webp")
    assert list(folder.keys()) == []
    assert not (folder.folder / "ab" / "one").exists()
    with pytest.raises(NotFound):
        folder.get("ab/one/x.webp")


@pytest.mark.parametrize(
    "key",
    ["", "/etc/passwd", "../x", "ab/../../x", "ab//x", "ab/.x", "AB/x", "ab/x.webp/..", "ab\\x", "c:x", "ab/x\0", "ab/x\n", "a" * 121],
)
def test_a_key_that_leads_elsewhere_is_refused(folder: FolderStorage, key: str) -> None:
    for act in (lambda: folder.put(key, b"-"), lambda: folder.get(key), lambda: folder.delete(key)):
        with pytest.raises(ValueError, match="not a key"):
            act()
    assert list(folder.folder.parent.iterdir()) == []


def test_a_prefix_that_leads_elsewhere_is_refused(folder: FolderStorage) -> None:
    with pytest.raises(ValueError, match="not the beginning"):
        list(folder.keys("../"))


def test_a_full_disk_leaves_what_was_there_and_says_so(folder: FolderStorage, monkeypatch: pytest.MonkeyPatch) -> None:
    folder.put("ab/one/x.webp", b"first")

    def full(_handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(Unavailable, match="No space left on device"):
        folder.put("ab/one/x.webp", b"second")
    assert folder.get("ab/one/x.webp") == b"first"
    assert [path.name for path in (folder.folder / "ab" / "one").iterdir()] == ["x.webp"]


def test_bytes_are_synced_before_they_get_their_name_and_the_name_after(folder: FolderStorage, monkeypatch: pytest.MonkeyPatch) -> None:
    order: list[str] = []
    sync, rename = os.fsync, os.replace
    monkeypatch.setattr(os, "fsync", lambda handle: (order.append("sync"), sync(handle)))
    monkeypatch.setattr(os, "replace", lambda old, new: (order.append("rename"), rename(old, new)))
    folder.put("ab/one/x.webp", b"-")
    assert order[:3] == ["sync", "rename", "sync"]


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
