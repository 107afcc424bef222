"""What a catalogue's import and export need of pictures: files kept ahead of rows, new rights, the best bytes that may leave."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.regions import WHOLE, Region
from drillhall.core.rights import Purpose, Rights, check_rights, may
from drillhall.core.values import Use
from drillhall.errors import BadPicture
from drillhall.pictures.found import refuse_generated
from drillhall.pictures.framing import CUT, check_frame, cut_sizes, frame_as_told, is_alterable, write_frame
from drillhall.pictures.ingest import ORIGINAL, Taken, add_rows, put_files, rights_row
from drillhall.pictures.rendered import hold
from drillhall.pictures.rights import write_rights
from drillhall.pictures.storage import Storage
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.queries.pictures import rights_of


@dataclass(frozen=True, slots=True)
class KeptPicture:
    """A picture whose files are in the storage and whose rows are still to come."""

    public_id: str
    taken: Taken
    rights: Rights
    files: tuple[FileRow, ...]
    frame: Region | None = None


def keep_files(storage: Storage, taken: Taken, rights: Rights, *, public_id: str, frame: Region | None = None) -> KeptPicture:
    """Put a picture's files into the storage ahead of its rows, so that no database waits while they are written.

    With a frame, the cut to it is among them where rights allow one. Raises BadPicture where the frame leaves too little.
    """
    check_rights(rights)
    if frame is not None:
        check_frame(taken.width_px, taken.height_px, frame)
    files = put_files(storage, taken, rights, public_id)
    if frame is not None and taken.original is not None and is_alterable(rights):
        cuts = cut_sizes(taken.original.content, frame, content_sha256=taken.content_sha256)
        cut = put_files(storage, replace(taken, sizes=cuts, original=None), rights, public_id)
        for row in cut:
            row.rendition = CUT
        files += cut
    return KeptPicture(public_id, replace(taken, sizes=(), original=None), rights, tuple(files), frame)


def add_kept(db: Session, kept: KeptPicture, *, owner_id: int, form_id: int, use: Use, at: datetime) -> int:
    """Keep the rows of a picture whose files are kept, and return its id."""
    row = PictureRow(
        public_id=kept.public_id,
        owner_id=owner_id,
        form_id=form_id,
        use=use.value,
        width_px=kept.taken.width_px,
        height_px=kept.taken.height_px,
        content_sha256=kept.taken.content_sha256,
        fingerprint=kept.taken.fingerprint,
        found=dict(kept.taken.found),
        made_at=at,
        described_at=at,
    )
    write_frame(row, kept.frame)
    return add_rows(db, row, rights_row(kept.rights), kept.files)


def change_rights(db: Session, storage: Storage, picture_id: int, rights: Rights) -> bool:
    """Give a picture the rights that a catalogue's row says, and return whether anything changed.

    Where the row is silent on a permission (what was agreed to, by whom, when, until when, how one knows), what is known of it stays
    as long as the licence does.
    """
    hold(db, db.get_one(PictureRow, picture_id))
    known = rights_of(db.get_one(RightsRow, picture_id))
    says = rights.agreed or rights.until or rights.granted_by or rights.granted_on or rights.evidence or rights.data_mining
    if rights.licence == known.licence and not says:
        rights = replace(
            rights,
            agreed=known.agreed,
            until=known.until,
            granted_by=known.granted_by,
            granted_on=known.granted_on,
            evidence=known.evidence,
            data_mining=known.data_mining,
        )
    return write_rights(db, storage, picture_id, rights)


def made_up_among(db: Session, media: Mapping[int, str]) -> dict[int, str]:
    """Return those pictures, id → medium that a row says of it, whose files say that a program made them up, with the sentence for it."""
    refused = {}
    for picture_id, found in db.execute(select(PictureRow.id, PictureRow.found).where(PictureRow.id.in_(list(media)))):
        try:
            refuse_generated(found, medium=media[picture_id])
        except BadPicture as error:
            refused[picture_id] = error.sentence
    return refused


def change_frame(db: Session, storage: Storage, picture_id: int, frame: Region | None) -> bool:
    """Give a picture the frame that a catalogue's row says, and return whether anything changed; the whole picture means none.

    A row that is silent on it leaves the frame as it is. Raises BadPicture where the frame leaves too little.
    """
    if frame is None:
        return False
    return frame_as_told(db, storage, db.get_one(PictureRow, picture_id), None if frame == WHOLE else frame)


def is_kept_size(db: Session, storage: Storage, picture_id: int, content: bytes) -> bool:
    """Whether these bytes are one of the files that the hall keeps of a picture, so that it is no new picture."""
    query = select(FileRow.storage_key).where(FileRow.picture_id == picture_id, FileRow.bytes == len(content))
    return any(storage.get(key) == content for key in db.scalars(query))


@dataclass(frozen=True, slots=True)
class FileOut:
    """The file of a picture that somebody may take out of the hall: where it is stored, its media type, and its size in pixels."""

    storage_key: str
    media_type: str
    size_px: tuple[int, int]


def files_to_hand_out(
    db: Session, picture_ids: Collection[int], *, to_id: int, on: date, with_originals: bool = False
) -> dict[int, FileOut]:
    """Return the best file of each picture that somebody may take out of the hall, by picture; two statements for all.

    That is the largest size, where its rights allow an export; with `with_originals` the owner gets the file as it came, which
    may tell where it was taken. Nobody gets what rests on a permission that has ended, or what has no files any more.
    """
    query = select(PictureRow.id, PictureRow.owner_id, RightsRow).join(RightsRow, RightsRow.picture_id == PictureRow.id)
    owners = {
        picture_id: owner_id
        for picture_id, owner_id, rights in db.execute(query.where(PictureRow.id.in_(picture_ids)))
        if may(rights_of(rights), owner_id=owner_id, viewer_id=to_id, purpose=Purpose.EXPORT, on=on).allowed
    }
    sizes = select(FileRow).where(FileRow.picture_id.in_(owners), FileRow.size_name.in_((ORIGINAL, "large")))
    best: dict[int, FileRow] = {}
    for row in db.scalars(sizes.order_by(FileRow.size_name == ORIGINAL)):
        if row.size_name != ORIGINAL or (with_originals and owners[row.picture_id] == to_id):
            best[row.picture_id] = row
    return {of: FileOut(row.storage_key, row.media_type, (row.width_px, row.height_px)) for of, row in best.items()}


def list_kept_in(db: Session, picture_ids: Sequence[int], *, to_id: int, on: date) -> dict[int, str]:
    """Return those pictures that somebody may not take out of the hall, each with the reason; one statement for all."""
    query = select(PictureRow, RightsRow).join(RightsRow, RightsRow.picture_id == PictureRow.id).where(PictureRow.id.in_(picture_ids))
    kept = {}
    for picture, rights in db.execute(query):
        verdict = may(rights_of(rights), owner_id=picture.owner_id, viewer_id=to_id, purpose=Purpose.EXPORT, on=on)
        if not verdict.allowed:
            kept[picture.id] = verdict.reason
    return kept
