"""Shows one of a person's own pictures with all that is known and said of it, and what its rights allow for each purpose."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.rights import Purpose, Rights, may
from drillhall.core.term_words import DISTANCES, LIFE_STAGES, POSES, SEEN_FROM, SETTINGS, SEXES, USES, in_words, told_alt
from drillhall.errors import NotFound
from drillhall.pictures.found import FIELDS, differences_in, found_day
from drillhall.pictures.ingest import ORIGINAL
from drillhall.pictures.listing import OwnPicture, as_listed
from drillhall.pictures.storage import Storage
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.queries import own_pictures as mine
from drillhall.store.queries import pictures as queries
from drillhall.words import joined, say, say_n

PURPOSES: Final[Mapping[Purpose, str]] = MappingProxyType(
    {
        Purpose.OWN: say("Your own drill"),
        Purpose.GROUP: say("People of this hall, in a drill or a group"),
        Purpose.PRINT: say("On paper"),
        Purpose.WALL: say("On the wall of a room"),
        Purpose.OPEN_QUESTION: say("In a question open to anybody"),
        Purpose.PUBLIC: say("On a public page"),
        Purpose.EXPORT: say("In an export"),
        Purpose.ALTERED: say("Altered for others: cut, far off, shape only"),
        Purpose.PAID: say("In a group that people pay for"),
    }
)
"""What a picture may be wanted for, in words, in the order in which its owner reads it."""


@dataclass(frozen=True, slots=True)
class Allowed:
    """One purpose, whether the picture may be had for it, and why or why not."""

    purpose: str
    allowed: bool
    reason: str


@dataclass(frozen=True, slots=True)
class WholePicture:
    """One own picture: as it is listed, its largest size, what is said, what the file says, and what may be done with it.

    `keeps_original`: the file as it came is kept, for its owner alone.
    """

    listed: OwnPicture
    recipe: str
    width_px: int
    height_px: int
    said: tuple[tuple[str, str], ...]
    found: tuple[tuple[str, str | date | None], ...]
    differs: str
    allowed: tuple[Allowed, ...]
    keeps_original: bool
    is_answered: bool


def the_own_picture(db: Session, account_id: int, public_id: str, *, on: date) -> WholePicture:
    """Return one of somebody's own pictures, withdrawn or not, or raise NotFound."""
    found = mine.list_mine(db, account_id, mine.named([public_id]))
    if not found:
        raise NotFound(say("There is no such picture of yours."))
    picture, rights = found[0]
    listed = as_listed(db, found, on=on)[0]
    files = mine.files_of(db, picture.id)
    large = next((file for file in reversed(files) if file.size_name != ORIGINAL and file.rendition == "as taken"), None)
    return WholePicture(
        listed=listed,
        recipe=large.recipe if large and listed.recipe else "",
        width_px=large.width_px if large else picture.width_px,
        height_px=large.height_px if large else picture.height_px,
        said=_said(picture, files),
        found=_found(picture),
        differs=differences_in(picture.found),
        allowed=_allowed(queries.rights_of(rights), picture.owner_id, on=on, gone=_gone(picture, files)),
        keeps_original=_may_have(picture, rights, on=on) and any(file.size_name == ORIGINAL for file in files),
        is_answered=bool(mine.with_answers(db, [picture.id])),
    )


def the_original(db: Session, storage: Storage, account_id: int, public_id: str, *, on: date) -> tuple[bytes, str]:
    """Return the file of somebody's own picture as it came, and its media type, or raise NotFound where it is not kept.

    Where the permission that it rests on has ended, nobody gets it any more, its owner neither: NotFound as well.
    """
    found = mine.list_mine(db, account_id, mine.named([public_id]))
    kept = [file for picture, _ in found for file in mine.files_of(db, picture.id) if file.size_name == ORIGINAL]
    if not kept:
        raise NotFound(say("The file as it came is not kept here."))
    if not _may_have(*found[0], on=on):
        raise NotFound(say("The permission that this picture rests on has ended."))
    return storage.get(kept[0].storage_key), kept[0].media_type


def _may_have(picture: PictureRow, rights: RightsRow, *, on: date) -> bool:
    """Whether its owner herself may have a picture still."""
    said = queries.rights_of(rights)
    return may(said, owner_id=picture.owner_id, viewer_id=picture.owner_id, purpose=Purpose.OWN, on=on).allowed


def _said(picture: PictureRow, files: list[FileRow]) -> tuple[tuple[str, str], ...]:
    taken = joined("", [picture.taken_on]) if picture.taken_on else ""
    kept = sum(file.bytes for file in files)
    said = (
        (say("Sex"), in_words(picture.sex, SEXES)),
        (say("Life stage"), in_words(picture.life_stage, LIFE_STAGES)),
        (say("Plumage"), picture.plumage),
        (say("Variant"), picture.variant),
        (say("Pose"), in_words(picture.pose, POSES)),
        (say("Distance"), in_words(picture.distance, DISTANCES)),
        (say("Seen"), in_words(picture.orientation, SEEN_FROM)),
        (say("On or in"), in_words(picture.setting, SETTINGS)),
        (say("Looks"), say("as the form mostly looks") if picture.typical else say("unlike most of its form")),
        (say("How many"), say("several: only with a mark that says which is meant is it drilled") if picture.several else ""),
        (say("For"), USES[picture.use]),
        (say("Series"), picture.cluster),
        (say("Taken on"), taken),
        (say("In words"), told_alt(picture.alt)),
        (say("Size"), say("{width} × {height} pixels", width=picture.width_px, height=picture.height_px)),
        (
            say("Kept"),
            say_n("{size} in {n} file", "{size} in {n} files", len(files), size=_size(kept))
            if files
            else say("nothing: its files are deleted"),
        ),
    )
    return tuple((label, words) for label, words in said if words)


def _found(picture: PictureRow) -> tuple[tuple[str, str | date | None], ...]:
    told = {**picture.found, "taken_on": found_day(picture.found)}
    return tuple((words, told[field]) for field, words in FIELDS.items() if field in picture.found)


def _size(size: int) -> str:
    return say("{size:.1f} MB", size=size / 1_000_000) if size >= 1_000_000 else say("{size} kB", size=-(-size // 1000))


def _gone(picture: PictureRow, files: list[FileRow]) -> str:
    """Say why nobody at all is shown a picture whatever its rights, or nothing."""
    if not files:
        return say("Its files are deleted.")
    return say("It is withdrawn.") if picture.retired_at else ""


def _allowed(rights: Rights, owner_id: int | None, *, on: date, gone: str) -> tuple[Allowed, ...]:
    told = []
    for purpose, words in PURPOSES.items():
        if gone:
            told.append(Allowed(words, False, gone))
            continue
        viewer = owner_id if purpose is Purpose.OWN else 0
        verdict = may(rights, owner_id=owner_id, viewer_id=viewer, purpose=purpose, on=on)
        told.append(Allowed(words, verdict.allowed, verdict.reason))
    return tuple(told)
