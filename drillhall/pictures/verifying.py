"""Reads every kept file again: its bytes against their hash, its picture against its row; mends what can be made anew."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import partial
from io import BytesIO
from typing import Final

from PIL import Image, UnidentifiedImageError
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from drillhall.core.rights import Rights
from drillhall.errors import BadPicture, NotFound
from drillhall.pictures.framing import CUT, make_cut
from drillhall.pictures.ingest import ORIGINAL, note_bytes, take
from drillhall.pictures.rendered import drop_files
from drillhall.pictures.renditions import ENDING, MEDIA_TYPE, MadeSize, rights_packet, with_rights
from drillhall.pictures.storage import Storage
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.queries.marks import frame_of
from drillhall.store.queries.pictures import rights_of
from drillhall.store.session import if_not_kept, once_kept

AS_TAKEN: Final = "as taken"
A_BATCH: Final = 200
GONE: Final = "The file is gone."


@dataclass(frozen=True, slots=True)
class Flaw:
    """What is wrong with one kept file."""

    file_id: int
    key: str
    wrong: str

    @property
    def line(self) -> str:
        """The flaw in one line."""
        return f"{self.key}: {self.wrong}"


@dataclass(frozen=True, slots=True)
class Mended:
    """What was made anew or taken away to be made on demand, what cannot be mended, and what was given up.

    Given up is a file as it came that is gone: nothing can make it anew, and the picture goes on with the sizes made of it.
    """

    mended: tuple[Flaw, ...]
    left: tuple[Flaw, ...]
    given_up: tuple[Flaw, ...] = ()


def verify(db: Session, storage: Storage, *, progress: Callable[[int, int, str], None]) -> Iterator[Flaw]:
    """Read every kept file, one at a time, and yield what is wrong; reads only."""
    total = db.scalar(select(func.count()).select_from(FileRow)) or 0
    for done, (file, picture, rights) in enumerate(_all_files(db)):
        progress(done, total, file.storage_key)
        wrong = wrong_with(storage, file, picture, rights_of(rights))
        if wrong:
            yield Flaw(file.id, file.storage_key, wrong)
    progress(total, total, "")


def still_wrong(db: Session, storage: Storage, flaws: Iterable[Flaw]) -> tuple[Flaw, ...]:
    """Return the flaws that are there still: while all files were read, somebody may have taken a picture away or changed its rights."""
    left = []
    for flaw in flaws:
        file = db.get(FileRow, flaw.file_id)
        if file is None:
            continue
        picture, rights = db.get_one(PictureRow, file.picture_id), db.get_one(RightsRow, file.picture_id)
        wrong = wrong_with(storage, file, picture, rights_of(rights))
        left += [Flaw(file.id, file.storage_key, wrong)] if wrong else []
    return tuple(left)


def wrong_with(storage: Storage, file: FileRow, picture: PictureRow, rights: Rights) -> str:
    """Return what is wrong with a kept file in a sentence, or an empty one."""
    try:
        content = storage.get(file.storage_key)
    except NotFound:
        return GONE
    digest = hashlib.sha256(content).hexdigest()
    if len(content) != file.bytes:
        return f"It has {len(content)} bytes, and {file.bytes} were kept."
    if file.sha256 and digest != file.sha256:
        return "Its bytes are others than were kept."
    if file.size_name == ORIGINAL:
        return "" if digest == picture.content_sha256 else "It is not the file that was added."
    return _wrong_with_size(content, file) or ("" if rights_packet(rights) in content else "It tells other rights than the picture has.")


def mend(db: Session, storage: Storage, flaws: Iterable[Flaw], *, on: date) -> Mended:
    """Make anew what can be made from a sound file of the same picture, the sizes of the whole first.

    What shows it as from afar or as a shape is taken away, since it is made on demand. The row of a file as it came that is gone
    goes where the sizes made of it are left; one whose bytes are spoilt stays, since somebody may still get something out of them.
    """
    mended, left, given_up = [], [], []
    flawed = ((flaw, db.get(FileRow, flaw.file_id)) for flaw in flaws)
    for flaw, file in sorted(flawed, key=lambda one: _turn(one[1])):
        if file is None:
            left.append(flaw)
        elif file.size_name == ORIGINAL and flaw.wrong == GONE and _has_a_sound_size(db, storage, file):
            db.delete(file)
            given_up.append(flaw)
        elif file.size_name == ORIGINAL:
            left.append(flaw)
        elif file.rendition == CUT and _cut_anew(db, storage, file, on):
            mended.append(flaw)
        elif file.rendition != AS_TAKEN:
            drop_files(db, storage, [file])
            mended.append(flaw)
        else:
            (mended if _make_anew(db, storage, file) else left).append(flaw)
    db.flush()
    return Mended(tuple(mended), tuple(left), tuple(given_up))


def _turn(file: FileRow | None) -> int:
    """The sizes of the whole first, what is made of them next, and last the files as they came, by when the sizes are known to be sound."""
    if file is None or file.size_name == ORIGINAL:
        return 2
    return int(file.rendition != AS_TAKEN)


def _has_a_sound_size(db: Session, storage: Storage, original: FileRow) -> bool:
    picture, rights = db.get_one(PictureRow, original.picture_id), rights_of(db.get_one(RightsRow, original.picture_id))
    query = select(FileRow).where(FileRow.picture_id == picture.id, FileRow.size_name == "large")
    return any(not wrong_with(storage, file, picture, rights) for file in db.scalars(query))


def _cut_anew(db: Session, storage: Storage, file: FileRow, on: date) -> bool:
    """Cut a size to its picture's frame again; return whether that could be: else it goes, and the frame is a zoom over the whole."""
    picture, rights = db.get_one(PictureRow, file.picture_id), rights_of(db.get_one(RightsRow, file.picture_id))
    if picture.owner_id is None:
        return False
    try:
        sizes = make_cut(db, storage, picture.owner_id, picture.public_id, frame_of(picture), on=on).sizes
    except (NotFound, BadPicture):
        return False
    return _replace(db, storage, file, sizes, rights)


def _all_files(db: Session) -> Iterator[tuple[FileRow, PictureRow, RightsRow]]:
    last = 0
    query = (
        select(FileRow, PictureRow, RightsRow)
        .join(PictureRow, PictureRow.id == FileRow.picture_id)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .order_by(FileRow.id)
        .limit(A_BATCH)
    )
    while batch := db.execute(query.where(FileRow.id > last)).all():
        for file, picture, rights in batch:
            yield file, picture, rights
            last = file.id
        db.expunge_all()  # else every row of the hall would be in memory at the end


def _wrong_with_size(content: bytes, file: FileRow) -> str:
    try:
        with Image.open(BytesIO(content)) as image:
            image.load()
            kind, size = image.format, image.size
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError):
        return "It cannot be decoded."
    if f"image/{(kind or '').lower()}" != file.media_type:
        return f"It is {kind}, and {file.media_type} was kept."
    if size != (file.width_px, file.height_px):
        return f"It is {size[0]} × {size[1]} pixels, and {file.width_px} × {file.height_px} were kept."
    return ""


def _make_anew(db: Session, storage: Storage, file: FileRow) -> bool:
    """Make a size from the original, or a small one from the large one; return whether there was a sound one to make it from."""
    picture, rights = db.get_one(PictureRow, file.picture_id), rights_of(db.get_one(RightsRow, file.picture_id))
    query = select(FileRow).where(FileRow.picture_id == picture.id, FileRow.rendition == AS_TAKEN)
    kept = {row.size_name: row for row in db.scalars(query)}
    for name in (ORIGINAL, "large"):
        source = kept.get(name)
        if source is None or source is file or wrong_with(storage, source, picture, rights):
            continue
        try:
            sizes = take(storage.get(source.storage_key), keep_original=False).sizes
        except BadPicture:
            continue
        if _replace(db, storage, file, sizes, rights):
            return True
    return False


def _replace(db: Session, storage: Storage, file: FileRow, sizes: Iterable[MadeSize], rights: Rights) -> bool:
    """Put the size of a file's name in the file's place; return whether there is one."""
    made = next((with_rights(size, rights) for size in sizes if size.name == file.size_name), None)
    if made is None:
        return False
    old, new = file.storage_key, f"{file.storage_key.rpartition('/')[0]}/{made.recipe}.{ENDING}"
    storage.put(new, made.content)
    if new != old:
        if_not_kept(db, partial(storage.delete, new))
        once_kept(db, partial(storage.delete, old))
    file.recipe, file.storage_key, file.media_type = made.recipe, new, MEDIA_TYPE
    file.width_px, file.height_px = made.width_px, made.height_px
    note_bytes(file, made.content)
    return True
