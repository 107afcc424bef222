"""Cuts a picture to its frame where its rights allow that; elsewhere the same rectangle is a zoom over the whole picture."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.regions import WHOLE, Region, check_region, clipped, in_pixels
from drillhall.core.rights import Purpose, Rights, Verdict, may
from drillhall.core.term_words import SUBJECT
from drillhall.errors import BadPicture, NotFound
from drillhall.pictures.ingest import ORIGINAL
from drillhall.pictures.reading import LEAST_LONG_SIDE_PX, LEAST_SHORT_SIDE_PX, read_picture
from drillhall.pictures.rendered import drop_rendered, hold, keep_rendered
from drillhall.pictures.renditions import MadeSize, make_sizes
from drillhall.pictures.serving import may_see
from drillhall.pictures.storage import Storage
from drillhall.store.models.pictures import PictureRow, RightsRow
from drillhall.store.queries import marks as queries
from drillhall.store.queries import own_pictures as mine
from drillhall.store.queries.marks import frame_of
from drillhall.store.queries.pictures import find_own, rights_of
from drillhall.words import say

CUT: Final = "cut"
OF_THE_FRAME: Final = (CUT, "far off", "shape only")
"""The renditions that are made of what lies within the frame, so that they go when it changes."""


@dataclass(frozen=True, slots=True)
class Whole:
    """A whole picture to draw on: its largest size; `recipe` is empty where whoever asks may not see it."""

    public_id: str
    recipe: str
    width_px: int
    height_px: int
    alt: str


@dataclass(frozen=True, slots=True)
class Framing:
    """A picture with its frame (None: it is shown whole), and what that means for whom.

    `to_her` and `to_others` judge whether a cut file may be shown; `has_cut`: there is one; `hides`: the marks that lie outside;
    `next_id` names the next of her pictures that has no frame, None where this was the last.
    """

    whole: Whole
    frame: Region | None
    has_cut: bool
    to_her: Verdict
    to_others: Verdict
    hides: tuple[str, ...]
    next_id: str | None = None


@dataclass(frozen=True, slots=True)
class NewFrame:
    """A frame that has been judged and cut, ready to be kept; `sizes` is empty where nobody may be shown a cut."""

    frame: Region | None
    sizes: tuple[MadeSize, ...]


def the_framing(db: Session, account_id: int, public_id: str, *, on: date) -> Framing:
    """Return the frame of one of somebody's own pictures, or raise NotFound."""
    picture = _the_own(db, account_id, public_id)
    rights = rights_of(db.get_one(RightsRow, picture.id))
    frame = frame_of(picture)
    marks = queries.marks_of(db, picture.id) if frame else ()
    return Framing(
        whole=the_whole(db, picture, viewer_id=account_id, on=on),
        frame=frame,
        has_cut=any(file.rendition == CUT for file in mine.files_of(db, picture.id)),
        to_her=_altered(rights, picture.owner_id, picture.owner_id, on),
        to_others=_altered(rights, picture.owner_id, 0, on),
        hides=tuple(words if trait else SUBJECT for mark, trait, words in marks if frame and clipped(mark, frame) is None),
        next_id=queries.next_unframed(db, account_id, after=picture.id),
    )


def the_whole(db: Session, picture: PictureRow, *, viewer_id: int, on: date) -> Whole:
    """Return a picture's largest size to draw on, as far as somebody may see it, or raise NotFound where its files are gone."""
    sizes = [file for file in mine.files_of(db, picture.id) if file.rendition == "as taken" and file.size_name != ORIGINAL]
    if not sizes:
        raise NotFound(say("The files of this picture are gone."))
    large = sizes[-1]
    recipe = large.recipe if may_see(db, picture, db.get_one(RightsRow, picture.id), viewer_id=viewer_id, on=on) else ""
    return Whole(picture.public_id, recipe, large.width_px, large.height_px, picture.alt)


def make_cut(db: Session, storage: Storage, account_id: int, public_id: str, frame: Region | None, *, on: date) -> NewFrame:
    """Judge a frame and cut one of somebody's own pictures to it; nothing is kept yet.

    `frame` None or the whole picture shows it whole again. Raises Invalid where the frame does not lie on the picture, BadPicture
    where too little would be left.
    """
    picture = _the_own(db, account_id, public_id)
    if frame is None or frame == WHOLE:
        return NewFrame(None, ())
    frame = check_region(frame.x, frame.y, frame.width, frame.height, field="frame")
    check_frame(picture.width_px, picture.height_px, frame)
    rights = rights_of(db.get_one(RightsRow, picture.id))
    if not any(_altered(rights, picture.owner_id, viewer, on).allowed for viewer in (picture.owner_id, 0)):
        return NewFrame(frame, ())
    return NewFrame(frame, cut_sizes(_source(db, storage, picture), frame, content_sha256=picture.content_sha256))


def cut_sizes(source: bytes, frame: Region, *, content_sha256: str) -> tuple[MadeSize, ...]:
    """Return the sizes of what lies within a frame of a picture's bytes; `content_sha256` names the picture in their recipes."""
    read = read_picture(source, part=frame)
    told = f"{content_sha256}|cut|{frame.x:.6f} {frame.y:.6f} {frame.width:.6f} {frame.height:.6f}"
    return tuple(replace(size, name=f"{CUT}-{size.name}") for size in make_sizes(read.image, content_sha256=told))


def is_alterable(rights: Rights) -> bool:
    """Whether anybody at all may have a picture altered: its owner for herself, or others."""
    owner = 1
    return any(_altered(rights, owner, who, date.min).allowed for who in (owner, owner + 1))


def frame_as_told(db: Session, storage: Storage, picture: PictureRow, frame: Region | None) -> bool:
    """Give a picture the frame that a table tells, with its cut where its rights allow one; return whether it was another before.

    Raises BadPicture where too little would be left.
    """
    if frame == frame_of(picture):
        return False
    if frame is not None:
        check_frame(picture.width_px, picture.height_px, frame)
    drop_rendered(db, storage, picture.id, OF_THE_FRAME)
    write_frame(picture, frame)
    cut_again(db, storage, picture, rights_of(db.get_one(RightsRow, picture.id)))
    return True


def cut_again(db: Session, storage: Storage, picture: PictureRow, rights: Rights) -> None:
    """Make the cut of a picture's frame where its rights allow one and there is none: rights that had taken it away are back."""
    frame = frame_of(picture)
    if frame is None or not is_alterable(rights) or any(file.rendition == CUT for file in mine.files_of(db, picture.id)):
        return
    try:
        sizes = cut_sizes(_source(db, storage, picture), frame, content_sha256=picture.content_sha256)
    except (NotFound, BadPicture):  # lost or spoilt files must not keep rights from being changed: it stays a zoom over the whole
        return
    keep_rendered(db, storage, picture, sizes, rendition=CUT)


def write_frame(picture: PictureRow, frame: Region | None) -> None:
    """Write a frame, or that there is none, into a picture's row."""
    picture.frame_x, picture.frame_y = (frame.x, frame.y) if frame else (None, None)
    picture.frame_width, picture.frame_height = (frame.width, frame.height) if frame else (None, None)


def set_frame(db: Session, storage: Storage, account_id: int, public_id: str, new: NewFrame) -> None:
    """Keep a frame that `make_cut` has judged, in place of the one before and of everything that was made of that."""
    picture = _the_own(db, account_id, public_id)
    hold(db, picture)
    if new.frame == frame_of(picture) and bool(new.sizes) == any(file.rendition == CUT for file in mine.files_of(db, picture.id)):
        return
    drop_rendered(db, storage, picture.id, OF_THE_FRAME)
    write_frame(picture, new.frame)
    keep_rendered(db, storage, picture, new.sizes, rendition=CUT)


def _the_own(db: Session, account_id: int, public_id: str) -> PictureRow:
    picture = find_own(db, account_id, public_id)
    if picture is None:
        raise NotFound(say("There is no such picture of yours."))
    return picture


def _altered(rights: Rights, owner_id: int | None, viewer_id: int | None, on: date) -> Verdict:
    return may(rights, owner_id=owner_id, viewer_id=viewer_id, purpose=Purpose.ALTERED, on=on)


def check_frame(width_px: int, height_px: int, frame: Region) -> None:
    """Raise BadPicture where a frame leaves too little of a picture of so many pixels."""
    _, _, width, height = in_pixels(frame, width_px, height_px)
    if max(width, height) < LEAST_LONG_SIDE_PX or min(width, height) < LEAST_SHORT_SIDE_PX:
        sentence = say(
            "The frame holds only {width} × {height} pixels, too few to see anything by. Make it larger: its longer side needs "
            "at least {longer}, its shorter one {shorter}.",
            width=width,
            height=height,
            longer=LEAST_LONG_SIDE_PX,
            shorter=LEAST_SHORT_SIDE_PX,
        )
        raise BadPicture(sentence, field="frame")


def _source(db: Session, storage: Storage, picture: PictureRow) -> bytes:
    """Return the bytes to cut from: the file as it came, which has the most pixels, else the largest size that is there."""
    files = [file for file in mine.files_of(db, picture.id) if file.rendition == "as taken"]
    for file in sorted(files, key=lambda file: (file.size_name == ORIGINAL, file.width_px), reverse=True):
        try:
            return storage.get(file.storage_key)
        except NotFound:
            continue
    raise NotFound(say("The files of this picture are gone."))
