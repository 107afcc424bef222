"""Lets the pictures of somebody go who is erased: all of them, or all but those that a catalogue holds under an open licence."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import NAMESPACE_URL, uuid5

from sqlalchemy import delete, select, update
from sqlalchemy.orm import Session

from drillhall.pictures.ingest import ORIGINAL, forget_files
from drillhall.pictures.storage import Storage
from drillhall.store.models.catalogue import CataloguePictureRow, CatalogueRow
from drillhall.store.models.field_tests import FieldTestQuestionRow
from drillhall.store.models.open_questions import OpenDayRow
from drillhall.store.models.people import SettingRow
from drillhall.store.models.pictures import (
    FileRow,
    LabelChangeRow,
    MarkRow,
    PictureOfferRow,
    PictureRow,
    PicturesApartRow,
    PictureShareRow,
    RightsRow,
)
from drillhall.store.models.practice import ShowingRow, SightRow
from drillhall.store.models.rarity import RarityShowingRow

A_BATCH: Final = 500
NOTED: Final = "files to let go "
"""How the settings begin in which the files are noted that an erasure has still to delete."""
NAMED_BY: Final = (
    ShowingRow.picture_id,
    ShowingRow.beside_id,
    SightRow.picture_id,
    RarityShowingRow.picture_id,
    OpenDayRow.picture_id,
    FieldTestQuestionRow.picture_id,
)
"""Where what others answered names a picture, so that its row must stay."""
_HANGING: Final = (FileRow, MarkRow, PictureShareRow, PictureOfferRow, CataloguePictureRow)
_SAID: Final[dict[str, Any]] = {
    **dict.fromkeys(("creator", "licence", "licence_url", "credit", "rights_owner", "source", "title", "statement"), ""),
    **dict.fromkeys(("agreed", "granted_by", "evidence", "data_mining"), ""),
    **dict.fromkeys(("may_group", "may_public", "may_alter", "may_paid"), False),
    **dict.fromkeys(("granted_on", "may_until"), None),
}
_BARE: Final[dict[str, Any]] = {
    **dict.fromkeys(("owner_id", "taken_on", "described_at", "frame_x", "frame_y", "frame_width", "frame_height"), None),
    **dict.fromkeys(("alt", "content_sha256", "cluster", "orientation", "pose", "setting", "distance"), ""),
    **dict.fromkeys(("sex", "life_stage", "plumage", "variant"), ""),
    "medium": "Photograph",
    "found": {},
    "fingerprint": 0,
}


@dataclass(frozen=True, slots=True)
class Owned:
    """Somebody's pictures as an erasure meets them: how many there are, and how many of them a catalogue holds under a licence."""

    pictures: int
    licensed: int


def count_owned(db: Session, account_id: int) -> Owned:
    """Return how many pictures somebody has, and how many may stay for others."""
    return Owned(len(_ids(db, account_id)), len(_licensed(db, account_id)))


def let_pictures_go(db: Session, account_id: int, *, leave_licensed: bool, at: datetime) -> tuple[list[str], list[str]]:
    """Erase somebody's pictures in the work of whoever calls; what she answered must be gone by then.

    `leave_licensed`: those that a catalogue in use holds under an open licence stay as nobody's, with their credit, and lose the
    file as it came. Of a picture on which others have answered a bare row stays, since their answers hang on it, under
    another name. Returns the names of the pictures all whose files are to go, and keys of single files.
    """
    staying = _licensed(db, account_id) if leave_licensed else set()
    keys = []
    for batch in _batches(sorted(staying)):
        keys += _leave(db, batch)
    names: list[str] = []
    for batch in _batches([id_ for id_ in _ids(db, account_id) if id_ not in staying]):
        names += db.scalars(select(PictureRow.public_id).where(PictureRow.id.in_(batch)))
        _let_go(db, batch, at=at)
    return names, keys


def note_files(db: Session, name: str, pictures: Sequence[str], keys: Sequence[str]) -> None:
    """Note which files are to go, in the work that erases their rows: whoever comes to it later finds what a break left over."""
    if pictures or keys:
        db.add(SettingRow(key=f"{NOTED}{name}", value={"pictures": list(pictures), "keys": list(keys)}))


def list_noted(db: Session) -> dict[str, tuple[list[str], list[str]]]:
    """Return what is noted by name: pictures all whose files are to go, and keys of single files."""
    rows = db.execute(select(SettingRow.key, SettingRow.value).where(SettingRow.key.startswith(NOTED)))
    return {key: (value["pictures"], value["keys"]) for key, value in rows}


def delete_noted(storage: Storage, pictures: Sequence[str], keys: Sequence[str]) -> None:
    """Delete the files that were noted; those that are gone already are no fault."""
    for public_id in pictures:
        forget_files(storage, public_id)
    for key in keys:
        storage.delete(key)


def forget_noted(db: Session, name: str) -> None:
    """Forget a note whose files are gone."""
    db.execute(delete(SettingRow).where(SettingRow.key == name))


def _ids(db: Session, account_id: int) -> list[int]:
    return list(db.scalars(select(PictureRow.id).where(PictureRow.owner_id == account_id).order_by(PictureRow.id)))


def _licensed(db: Session, account_id: int) -> set[int]:
    """Return the pictures of somebody that a catalogue in use holds, under a licence that cannot be taken back."""
    query = (
        select(PictureRow.id)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .join(CataloguePictureRow, CataloguePictureRow.picture_id == PictureRow.id)
        .join(CatalogueRow, CatalogueRow.id == CataloguePictureRow.catalogue_id)
        .where(PictureRow.owner_id == account_id, PictureRow.retired_at.is_(None), RightsRow.may_public)
        .where(RightsRow.agreed == "", RightsRow.may_until.is_(None))  # else it is a permission, which is hers to end
        .where(CataloguePictureRow.retired_at.is_(None), CatalogueRow.retired_at.is_(None))
    )
    return set(db.scalars(query))


def _leave(db: Session, ids: Sequence[int]) -> list[str]:
    """Make pictures nobody's and return the keys of the files that go."""
    came = FileRow.picture_id.in_(ids), FileRow.size_name == ORIGINAL
    keys = list(db.scalars(select(FileRow.storage_key).where(*came)))
    db.execute(delete(FileRow).where(*came))
    for row in (PictureShareRow, PictureOfferRow):
        db.execute(delete(row).where(row.picture_id.in_(ids)))
    db.execute(update(PictureRow).where(PictureRow.id.in_(ids)).values(owner_id=None, found={}))
    return keys


def _let_go(db: Session, ids: Sequence[int], *, at: datetime) -> None:
    apart = PicturesApartRow
    db.execute(delete(apart).where(apart.first_picture_id.in_(ids) | apart.second_picture_id.in_(ids)))
    for row in _HANGING:
        db.execute(delete(row).where(row.picture_id.in_(ids)))
    named = {id_ for column in NAMED_BY for id_ in db.scalars(select(column).where(column.in_(ids)).distinct()) if id_ is not None}
    unnamed = [id_ for id_ in ids if id_ not in named]
    for hanging in (LabelChangeRow, RightsRow):
        db.execute(delete(hanging).where(hanging.picture_id.in_(unnamed)))
    db.execute(delete(PictureRow).where(PictureRow.id.in_(unnamed)))
    db.execute(update(RightsRow).where(RightsRow.picture_id.in_(named)).values(_SAID))
    db.execute(update(LabelChangeRow).where(LabelChangeRow.picture_id.in_(named)).values(note=""))
    for id_ in sorted(named):  # nothing lies under the new name, so it need not be hard to guess
        name = str(uuid5(NAMESPACE_URL, f"bare picture {id_} at {at.isoformat()}"))
        db.execute(update(PictureRow).where(PictureRow.id == id_).values(_BARE | {"public_id": name}))
    db.execute(update(PictureRow).where(PictureRow.id.in_(named), PictureRow.retired_at.is_(None)).values(retired_at=at))


def _batches(ids: Sequence[int]) -> Iterator[Sequence[int]]:
    for start in range(0, len(ids), A_BATCH):
        yield ids[start : start + A_BATCH]
