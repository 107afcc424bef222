"""Takes pictures in: from the bytes of an upload to its files and rows, whole or not at all."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import partial
from typing import Final

from PIL import Image
from sqlalchemy.orm import Session

from drillhall.core.rights import Rights, check_rights, columns
from drillhall.core.values import Use
from drillhall.errors import Invalid
from drillhall.pictures.reading import read_picture
from drillhall.pictures.renditions import ENDING, MEDIA_TYPE, MadeSize, make_sizes, with_rights
from drillhall.pictures.storage import Storage
from drillhall.store.base import Row
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.session import if_not_kept
from drillhall.words import say

ORIGINAL: Final = "original"
_ENDINGS: Final = {
    "image/jpeg": "jpg",
    "image/png": "png",
    "image/webp": "webp",
    "image/avif": "avif",
    "image/tiff": "tif",
    "image/gif": "gif",
    "image/heic": "heic",
}


@dataclass(frozen=True, slots=True)
class Original:
    """The file as it came, for its owner alone: it may tell where the picture was taken."""

    content: bytes
    media_type: str


@dataclass(frozen=True, slots=True)
class Taken:
    """An upload that has been decoded and made ready to keep; nothing is stored yet.

    width_px, height_px: of the upright upload; content_sha256: of its bytes; fingerprint: see `fingerprint`; taken_on: the day that
    the file gives; original: None where it is not to be kept; found: what the file says of itself, see `found.read_found`.
    """

    sizes: tuple[MadeSize, ...]
    width_px: int
    height_px: int
    content_sha256: str
    fingerprint: int
    taken_on: date | None
    original: Original | None
    found: Mapping[str, str] = field(default_factory=dict)


def take(source: bytes, *, keep_original: bool = True) -> Taken:
    """Decode an upload and make its sizes, or raise BadPicture; several may run at once."""
    read = read_picture(source)
    digest = hashlib.sha256(source).hexdigest()
    return Taken(
        sizes=make_sizes(read.image, content_sha256=digest),
        width_px=read.width_px,
        height_px=read.height_px,
        content_sha256=digest,
        fingerprint=fingerprint(read.image),
        taken_on=read.taken_on,
        original=Original(source, read.media_type) if keep_original else None,
        found=read.found,
    )


def fingerprint(image: Image.Image) -> int:
    """Return 64 bits, as a signed integer, that stay nearly the same when a picture is resized or encoded anew.

    Each bit says whether a pixel of the picture at 9 × 8 greys is lighter than the one to its left, row by row, highest bit first.
    """
    greys = image.convert("L").resize((9, 8), Image.Resampling.LANCZOS).tobytes()
    bits = 0
    for row in range(8):
        for column in range(8):
            bits = bits << 1 | (greys[row * 9 + column + 1] > greys[row * 9 + column])
    return bits - (1 << 64) if bits >> 63 else bits


def add_picture(
    db: Session,
    storage: Storage,
    taken: Taken,
    *,
    public_id: str,
    owner_id: int | None,
    form_id: int | None,
    rights: Rights,
    at: datetime,
    use: Use = Use.PRACTICE,
    medium: str = "Photograph",
    orientation: str = "",
    pose: str = "",
    setting: str = "",
    typical: bool = True,
    alt: str = "",
    taken_on: date | None = None,
    cluster: str = "",
    described: bool = True,
) -> int:
    """Keep a taken picture, its files first and then its rows, and return its id.

    `public_id` is a fresh random UUID; `described` False: nothing has been said of it yet. When the work is rolled back, the files
    go with the rows.
    """
    check_rights(rights)
    row = PictureRow(
        public_id=public_id,
        owner_id=owner_id,
        form_id=form_id,
        use=use.value,
        medium=medium,
        orientation=orientation,
        pose=pose,
        setting=setting,
        typical=typical,
        alt=alt,
        taken_on=taken_on or taken.taken_on,
        width_px=taken.width_px,
        height_px=taken.height_px,
        content_sha256=taken.content_sha256,
        fingerprint=taken.fingerprint,
        cluster=cluster,
        found=dict(taken.found),
        made_at=at,
        described_at=at if described else None,
    )
    said = rights_row(rights)
    check_words(row, said)
    if_not_kept(db, partial(forget_files, storage, public_id))
    return add_rows(db, row, said, put_files(storage, taken, rights, public_id))


def add_rows(db: Session, row: PictureRow, rights: RightsRow, files: Iterable[FileRow]) -> int:
    """Keep the rows of a picture whose files are kept already, and return its id."""
    db.add(row)
    db.flush()
    rights.picture_id = row.id
    for file in files:
        file.picture_id = row.id
    db.add_all((rights, *files))
    db.flush()
    return row.id


def forget_files(storage: Storage, public_id: str) -> None:
    """Delete every file of a picture from the storage."""
    for key in tuple(storage.keys(_folder(public_id))):
        storage.delete(key)


def _folder(public_id: str) -> str:
    # Two characters of a random name spread the pictures over 256 folders.
    return f"{public_id[:2]}/{public_id}/"


def put_files(storage: Storage, taken: Taken, rights: Rights, public_id: str) -> list[FileRow]:
    """Put the files of a taken picture into the storage and return their rows, which belong to no picture yet."""
    rows = []
    for size in (with_rights(plain, rights) for plain in taken.sizes):
        row = FileRow(size_name=size.name, recipe=size.recipe, width_px=size.width_px, height_px=size.height_px)
        row.storage_key, row.media_type = f"{_folder(public_id)}{size.recipe}.{ENDING}", MEDIA_TYPE
        note_bytes(row, size.content)
        storage.put(row.storage_key, size.content)
        rows.append(row)
    if taken.original:
        row = FileRow(size_name=ORIGINAL, recipe=taken.content_sha256[:32], width_px=taken.width_px, height_px=taken.height_px)
        row.media_type = taken.original.media_type
        row.storage_key = f"{_folder(public_id)}{ORIGINAL}.{_ENDINGS[row.media_type]}"
        note_bytes(row, taken.original.content)
        storage.put(row.storage_key, taken.original.content)
        rows.append(row)
    return rows


def note_bytes(row: FileRow, content: bytes) -> None:
    """Write down in a file's row how many bytes it has, and which."""
    row.bytes, row.sha256 = len(content), hashlib.sha256(content).hexdigest()


_UNSEEN: Final = re.compile("[\\x00-\\x08\\x0b\\x0c\\x0e-\\x1f\\x7f-\\x9f\\u202a-\\u202e\\u2066-\\u2069]")
"""Control signs, and those that turn the direction of what is read: nobody sees them, and they change what stands there."""


def check_words(*rows: Row) -> None:
    """Refuse words that a column cannot hold; SQLite would take them, PostgreSQL not."""
    for row in rows:
        for column in row.__table__.columns:
            text = getattr(row, column.name)
            if not isinstance(text, str):
                continue
            named = column.name.replace("_", " ").capitalize()
            most = getattr(column.type, "length", None)
            if most is not None and len(text) > most:
                raise Invalid(say("{named} is longer than {most} signs. Shorten it.", named=named, most=most), field=column.name)
            if _UNSEEN.search(text):
                raise Invalid(say("{named} holds a sign that cannot be kept. Type it anew.", named=named), field=column.name)


def rights_row(rights: Rights) -> RightsRow:
    """Return rights as a row, with the columns that SQL filters by."""
    kept = columns(rights)
    return RightsRow(
        creator=rights.creator,
        licence=rights.licence.id if rights.licence else "",
        licence_url=rights.licence.url if rights.licence else "",
        credit=rights.credit,
        rights_owner=rights.rights_owner,
        source=rights.source,
        title=rights.title,
        statement=rights.statement,
        agreed=" ".join(sorted(purpose.name.lower() for purpose in rights.agreed)),
        granted_by=rights.granted_by,
        granted_on=rights.granted_on,
        evidence=rights.evidence,
        data_mining=rights.data_mining,
        may_group=kept.may_group,
        may_public=kept.may_public,
        may_alter=kept.may_alter,
        may_paid=kept.may_paid,
        may_until=kept.may_until,
    )
