"""Taking in: files first, rows after, nothing half-written; and a fingerprint that lives through a smaller copy."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from sqlalchemy import func, select, text

from drillhall.core.licences import WITH_PERMISSION
from drillhall.core.rights import Purpose, Rights, columns
from drillhall.core.values import Use
from drillhall.errors import BadPicture, BadRights, Conflict, Invalid, Unavailable
from drillhall.pictures.ingest import add_picture, fingerprint, take
from drillhall.pictures.storage import FolderStorage
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.queries.pictures import rights_of
from drillhall.store.session import Store
from tests.pictures.drawn import NOW, OPEN, PRIVATE, PUBLIC_ID, add_account, add_form, noise, opened, saved, scene

OTHER_ID = "7a1c9d3e-0b2f-4e68-8c4d-5e6f7a8b9c0d"


@pytest.fixture
def storage(tmp_path: Path) -> FolderStorage:
    return FolderStorage(tmp_path / "pictures")


def count(store: Store) -> tuple[int, int, int]:
    with store.look() as db:
        pictures, rights, files = (db.scalar(select(func.count()).select_from(row)) or 0 for row in (PictureRow, RightsRow, FileRow))
    return pictures, rights, files


def test_a_picture_is_kept_with_files_rows_and_rights(store: Store, storage: FolderStorage) -> None:
    source = saved(scene())
    with store.work() as db:
        owner, form = add_account(db, "Ada"), add_form(db)
        words = {"medium": "Drawing", "orientation": "lateral", "pose": "standing", "setting": "mud", "alt": "One bird.", "cluster": "c1"}
        shown = add_picture(
            db,
            storage,
            take(source),
            public_id=PUBLIC_ID,
            owner_id=owner,
            form_id=form,
            rights=OPEN,
            at=NOW,
            use=Use.PORTRAIT,
            typical=False,
            taken_on=date(2031, 1, 2),
            **words,
        )
    with store.look() as db:
        row = db.get_one(PictureRow, shown)
        assert {name: getattr(row, name) for name in words} == words
        assert (row.owner_id, row.form_id, row.use, row.typical, row.taken_on) == (owner, form, "portrait", False, date(2031, 1, 2))
        assert (row.width_px, row.height_px, row.made_at) == (800, 600, NOW)
        assert row.content_sha256 == hashlib.sha256(source).hexdigest()
        kept = db.get_one(RightsRow, shown)
        assert (kept.creator, kept.licence, kept.may_group, kept.may_alter) == ("Ada Mudd", "CC-BY-4.0", True, True)
        assert rights_of(kept) == OPEN
        files = {file.size_name: file for file in db.scalars(select(FileRow))}
        assert sorted(files) == ["large", "original", "small"]
        for file in files.values():
            content = storage.get(file.storage_key)
            assert (len(content), opened(content).size) == (file.bytes, (file.width_px, file.height_px))
            assert Image.MIME[opened(content).format or ""] == file.media_type
        assert storage.get(files["original"].storage_key) == source


def test_the_original_is_kept_only_where_it_is_asked_for(sqlite_store: Store, storage: FolderStorage) -> None:
    with sqlite_store.work() as db:
        taken = take(saved(scene(400, 300)), keep_original=False)
        add_picture(db, storage, taken, public_id=PUBLIC_ID, owner_id=None, form_id=None, rights=PRIVATE, at=NOW)
        assert [file.size_name for file in db.scalars(select(FileRow))] == ["large"]


def test_rights_come_back_as_they_were_put_whatever_they_are(sqlite_store: Store, storage: FolderStorage) -> None:
    agreed = frozenset({Purpose.GROUP, Purpose.ALTERED})
    rights = Rights("A", WITH_PERMISSION, "C", "O", "S", "T", "said so", agreed=agreed, until=date(2032, 1, 1))
    with sqlite_store.work() as db:
        add_picture(db, storage, take(saved(scene())), public_id=PUBLIC_ID, owner_id=None, form_id=None, rights=rights, at=NOW)
        row = db.scalars(select(RightsRow)).one()
        assert rights_of(row) == rights
        kept = columns(rights)
        assert all(getattr(row, name) == getattr(kept, name) for name in kept.__slots__)


def test_a_licence_without_credit_keeps_nothing(sqlite_store: Store, storage: FolderStorage) -> None:
    taken = take(saved(scene()))
    with pytest.raises(BadRights), sqlite_store.work() as db:
        add_picture(db, storage, taken, public_id=PUBLIC_ID, owner_id=None, form_id=None, rights=replace(OPEN, credit=""), at=NOW)
    assert count(sqlite_store) == (0, 0, 0)
    assert list(storage.keys()) == []


@pytest.mark.parametrize(("field", "value"), [("creator", "M" * 201), ("credit", "C" * 301), ("source", "a\0b"), ("statement", "a\0b")])
def test_words_that_no_column_holds_keep_nothing(store: Store, storage: FolderStorage, field: str, value: str) -> None:
    rights = replace(OPEN, **{field: value})
    with pytest.raises(Invalid) as caught, store.work() as db:
        add_picture(db, storage, take(saved(scene())), public_id=PUBLIC_ID, owner_id=None, form_id=None, rights=rights, at=NOW)
    assert caught.value.field == field
    assert (count(store), list(storage.keys())) == ((0, 0, 0), [])


def test_files_go_again_when_the_transaction_fails(store: Store, storage: FolderStorage) -> None:
    taken = take(saved(scene()))
    with store.work() as db:
        add_picture(db, storage, taken, public_id=PUBLIC_ID, owner_id=None, form_id=None, rights=OPEN, at=NOW)
    kept = list(storage.keys())

    def twice_under_one_name() -> None:
        with store.work() as db:
            add_picture(db, storage, taken, public_id=OTHER_ID, owner_id=None, form_id=None, rights=OPEN, at=NOW)
            assert len(list(storage.keys())) == 2 * len(kept)
            add_picture(db, storage, taken, public_id=OTHER_ID, owner_id=None, form_id=None, rights=OPEN, at=NOW)

    with pytest.raises(Conflict):
        twice_under_one_name()
    assert (count(store), list(storage.keys())) == ((1, 1, 3), kept)


def test_files_go_again_when_the_commit_itself_fails(sqlite_store: Store, storage: FolderStorage) -> None:
    taken = take(saved(scene()))

    def fails_at_the_very_end() -> None:
        with sqlite_store.work() as db:
            db.execute(text("PRAGMA defer_foreign_keys = ON"))
            add_picture(db, storage, taken, public_id=PUBLIC_ID, owner_id=4711, form_id=None, rights=OPEN, at=NOW)
            assert len(list(storage.keys())) == 3

    with pytest.raises(Conflict):
        fails_at_the_very_end()
    assert (count(sqlite_store), list(storage.keys())) == ((0, 0, 0), [])


class DiskFillsUp(FolderStorage):
    """A folder that takes one file and no more."""

    def put(self, key: str, content: bytes) -> None:
        if list(self.keys()):
            raise Unavailable("The disk is full.")
        super().put(key, content)


def test_a_disk_that_fills_up_half_way_keeps_nothing(sqlite_store: Store, tmp_path: Path) -> None:
    storage = DiskFillsUp(tmp_path / "pictures")
    taken = take(saved(scene()))
    with pytest.raises(Unavailable), sqlite_store.work() as db:
        add_picture(db, storage, taken, public_id=PUBLIC_ID, owner_id=None, form_id=None, rights=OPEN, at=NOW)
    assert (count(sqlite_store), list(storage.keys())) == ((0, 0, 0), [])


def test_a_damaged_upload_is_refused_before_anything_is_kept() -> None:
    with pytest.raises(BadPicture):
        take(saved(scene())[:500])


def by_definition(image: Image.Image) -> int:
    """Each pixel against its left neighbour at 9 × 8 greys, as the text of `fingerprint` says; in numpy, for a second opinion."""
    greys = np.asarray(image.convert("L").resize((9, 8), Image.Resampling.LANCZOS)).astype(int)
    return int(np.packbits(np.diff(greys, axis=1) > 0).view(">i8")[0])


@pytest.mark.parametrize("image", [scene(), noise(400, 300), scene().transpose(Image.Transpose.FLIP_LEFT_RIGHT)])
def test_the_fingerprint_is_what_it_says_and_fits_a_signed_column(image: Image.Image) -> None:
    assert fingerprint(image) == by_definition(image)
    assert -(2**63) <= fingerprint(image) < 2**63


def far(one: int, other: int) -> int:
    return ((one ^ other) & (2**64 - 1)).bit_count()


def test_a_fingerprint_lives_through_a_smaller_copy_and_tells_other_pictures_apart() -> None:
    blobs = noise(12, 9).resize((1200, 900), Image.Resampling.BICUBIC)
    others = noise(13, 9).resize((1200, 900), Image.Resampling.BICUBIC)
    mark = take(saved(blobs)).fingerprint
    assert far(mark, take(saved(blobs.resize((500, 375)), "WEBP", quality=60)).fingerprint) <= 3
    assert far(mark, take(saved(others)).fingerprint) >= 16
