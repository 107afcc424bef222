"""Shows a picture's owner what it is like from far off or as a shape alone, and keeps that for drills where its rights allow it."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date
from io import BytesIO
from typing import Final

from PIL import Image
from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.optics import FarView, left_in_words, what_is_left
from drillhall.core.regions import WHOLE, Region, in_cut
from drillhall.core.rights import Purpose, Verdict, may
from drillhall.core.term_words import RENDITIONS
from drillhall.core.values import Rendition
from drillhall.errors import BadPicture, Invalid, NotAllowed, NotFound
from drillhall.pictures.far_off import seen_from_afar
from drillhall.pictures.framing import Whole, the_whole
from drillhall.pictures.reading import read_picture
from drillhall.pictures.rendered import drop_files, hold, keep_rendered
from drillhall.pictures.renditions import EFFORT, MadeSize
from drillhall.pictures.shape_only import shape_of
from drillhall.pictures.storage import Storage
from drillhall.store.models.catalogue import CatalogueFormRow
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.queries.marks import frame_of, subjects_of
from drillhall.store.queries.pictures import files_in_renditions, find_own, rights_of, served_files
from drillhall.words import say

MOST_KEPT: Final = 3
"""So many recipes of one rendition are kept of a picture; the oldest goes when another comes."""

SIDE_PX: Final = 800
"""The long side of an altered picture, which has little detail to lose."""

DISTANCE_M, MAGNIFICATION, VISIBILITY_KM, LENGTH_MM = (1, 20_000), (1, 100), (0.05, 200), (1, 100_000)


@dataclass(frozen=True, slots=True)
class FarWish:
    """How a picture is to be seen from afar, and how long the organism really is."""

    view: FarView
    length_mm: float


@dataclass(frozen=True, slots=True)
class FarOff:
    """What the page about a picture's renditions shows.

    `length_mm` is what a catalogue says, or None; `extent` says in words by what the organism's length on the picture is known, and
    `warning` what is uncertain in that; `allowed` judges whether its owner may have it altered at all, `to_others` whether others may.
    """

    whole: Whole
    length_mm: int | None
    extent: str
    warning: str
    allowed: Verdict
    to_others: Verdict
    kept: tuple[str, ...]


def check_wish(wish: FarWish) -> FarWish:
    """Return a wish as it came, or raise Invalid naming the field that is out of its bounds."""
    view = wish.view
    asked = (
        ("distance", say("Distance"), say("metres"), view.distance_m, DISTANCE_M),
        ("magnification", say("Magnification"), say("times"), view.magnification, MAGNIFICATION),
        ("length", say("Real length"), say("millimetres"), wish.length_mm, LENGTH_MM),
        *(
            (("visibility", say("How far one sees"), say("kilometres"), view.visibility_km, VISIBILITY_KM),)
            if view.visibility_km is not None
            else ()
        ),
    )
    for field, label, unit, value, (least, most) in asked:
        if not least <= value <= most:
            raise Invalid(
                say("{label} must be from {least:g} to {most:,} {unit}.", label=label, least=least, most=most, unit=unit), field=field
            )
    return wish


def the_far_off(db: Session, account_id: int, public_id: str, *, on: date) -> FarOff:
    """Return what the page about renditions of one of somebody's own pictures shows, or raise NotFound."""
    picture = _the_own(db, account_id, public_id)
    _, extent, warning = _extent(db, picture)
    files = files_in_renditions(db, [picture.id]).get(picture.id, [])
    return FarOff(
        whole=the_whole(db, picture, viewer_id=account_id, on=on),
        length_mm=_length_mm(db, picture),
        extent=extent,
        warning=warning,
        allowed=_verdict(db, picture, account_id, on),
        to_others=_verdict(db, picture, 0, on),
        kept=tuple(RENDITIONS[file.rendition] for file in files if file.rendition in RENDITIONS),
    )


def words_of(wish: FarWish) -> tuple[str, ...]:
    """Say what is left to see."""
    return left_in_words(what_is_left(wish.length_mm, wish.view))


def far_off(db: Session, storage: Storage, account_id: int, public_id: str, wish: FarWish, *, on: date) -> MadeSize:
    """Make one's own picture as it looks from afar; nothing is kept. Raises NotAllowed where its rights forbid that."""
    wish = check_wish(wish)
    picture = _the_alterable(db, account_id, public_id, on)
    image = _image(db, storage, picture)
    share, _, _ = _extent(db, picture)
    extent_px = max(share.width * image.width, share.height * image.height)
    seen = seen_from_afar(image, extent_px=extent_px, length_mm=wish.length_mm, view=wish.view)
    view = wish.view
    told = f"{wish.length_mm:g} {view.distance_m:g} {view.magnification:g} {view.visibility_km or 0:g}"
    return _made(picture, seen, "far", f"{told} {share} {frame_of(picture)}")


def shape_only(db: Session, storage: Storage, account_id: int, public_id: str, *, on: date) -> MadeSize:
    """Make the shape of what one's own picture shows; nothing is kept.

    Raises NotAllowed where its rights forbid that, BadPicture where the shape cannot be told from what lies around it.
    """
    picture = _the_alterable(db, account_id, public_id, on)
    shape = shape_of(_image(db, storage, picture))
    if shape.image is None:
        raise BadPicture(say("No shape can be offered. {why_not}", why_not=shape.why_not), field="shape")
    return _made(picture, shape.image, "shape", str(frame_of(picture)))


def keep(db: Session, storage: Storage, account_id: int, public_id: str, made: MadeSize, rendition: Rendition, *, on: date) -> None:
    """Keep a rendition that has been made, and let the oldest go where there are too many."""
    picture = _the_alterable(db, account_id, public_id, on)
    hold(db, picture)
    kept = db.scalars(
        select(FileRow).where(FileRow.picture_id == picture.id, FileRow.rendition == rendition.value).order_by(FileRow.id)
    ).all()
    if any(row.size_name == made.name for row in kept):
        return
    drop_files(db, storage, kept[: max(0, len(kept) + 1 - MOST_KEPT)])
    keep_rendered(db, storage, picture, [made], rendition=rendition.value)


def _the_own(db: Session, account_id: int, public_id: str) -> PictureRow:
    picture = find_own(db, account_id, public_id)
    if picture is None:
        raise NotFound(say("There is no such picture of yours."))
    return picture


def _the_alterable(db: Session, account_id: int, public_id: str, on: date) -> PictureRow:
    picture = _the_own(db, account_id, public_id)
    verdict = _verdict(db, picture, account_id, on)
    if not verdict.allowed:
        raise NotAllowed(verdict.reason)
    return picture


def _verdict(db: Session, picture: PictureRow, viewer_id: int, on: date) -> Verdict:
    rights = rights_of(db.get_one(RightsRow, picture.id))
    return may(rights, owner_id=picture.owner_id, viewer_id=viewer_id, purpose=Purpose.ALTERED, on=on)


def _extent(db: Session, picture: PictureRow) -> tuple[Region, str, str]:
    """Return the organism's extent on the part that is shown, by what it is known, and what is uncertain in that."""
    frame, subject = frame_of(picture) or WHOLE, subjects_of(db, [picture.id]).get(picture.id)
    marked = in_cut(subject, frame) if subject else None
    if marked:
        return marked, say("the mark that says which one is meant"), ""
    if frame != WHOLE:
        return WHOLE, say("the frame"), say("The frame is taken for as long as it is, so it looks a little farther off than it would be.")
    warning = say(
        "Nothing says how much of the picture it fills, so the whole picture is taken for its length. Frame it, or mark it, first."
    )
    return WHOLE, say("the whole picture"), warning


def _length_mm(db: Session, picture: PictureRow) -> int | None:
    query = (
        select(CatalogueFormRow.length_mm)
        .where(CatalogueFormRow.form_id == picture.form_id, CatalogueFormRow.length_mm.is_not(None))
        .where(CatalogueFormRow.retired_at.is_(None))
        .order_by(CatalogueFormRow.id)
    )
    return db.scalars(query).first()


def _image(db: Session, storage: Storage, picture: PictureRow) -> Image.Image:
    """Return what lies within the frame, out of the largest size."""
    sizes = served_files(db, [picture.id]).get(picture.id)
    if not sizes:
        raise NotFound(say("The files of this picture are gone."))
    image = read_picture(storage.get(sizes[-1].storage_key), part=frame_of(picture) or WHOLE).image
    image.thumbnail((SIDE_PX, SIDE_PX), Image.Resampling.LANCZOS)
    return image


def _made(picture: PictureRow, image: Image.Image, name: str, told: str) -> MadeSize:
    out = BytesIO()
    image.save(out, format="WEBP", quality=80, method=EFFORT, exif=b"", xmp=b"", icc_profile=b"")
    recipe = hashlib.sha256(f"1|{name}|{told}|{picture.content_sha256}".encode()).hexdigest()[:32]
    return MadeSize(f"{name}-{recipe[:16]}", recipe, out.getvalue(), image.width, image.height)
