"""A person's own pictures: adding them, looking at them with who may see each, and withdrawing them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from types import MappingProxyType
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.rights import Purpose, Rights, licence_name, maker_line, may
from drillhall.core.terms import MEDIA
from drillhall.core.values import Form, Use
from drillhall.errors import BadPicture, Invalid, NotFound
from drillhall.pictures.ingest import Taken, add_picture
from drillhall.pictures.storage import Storage
from drillhall.store.models.concepts import FormRow
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.queries import pictures as queries

SEEN_FROM: Final[Mapping[str, str]] = MappingProxyType(
    {
        "lateral": "from the side",
        "left": "on its left side",
        "right": "on its right side",
        "anterior": "from in front",
        "posterior": "from behind",
        "dorsal": "from above",
        "ventral": "from below",
    }
)
"""The orientations that an owner may choose, in plain words."""

A_PAGE: Final = 24
"""How many of her pictures a page holds."""


@dataclass(frozen=True, slots=True)
class KnownForm:
    """A form that a picture may be said to show, as one catalogue names it."""

    form: Form
    catalogue: str
    subject: str


@dataclass(frozen=True, slots=True)
class WhatItShows:
    """What an owner says of her picture; `form_id` None: she is not sure which form it is, so it is kept and never drilled.

    `alt` empty: it is put together from what else is said, which gives nothing away.
    """

    form_id: int | None
    medium: str = "Photograph"
    orientation: str = ""
    typical: bool = True
    alt: str = ""


@dataclass(frozen=True, slots=True)
class OwnPicture:
    """One of a person's own pictures, its small size, and in a sentence who sees it and why nobody else.

    `form` None: which form it shows is not said; `credit` is the whole of it up to the licence, which a page links;
    `kept_back`: it is held out for tests, so it is not shown here either.
    """

    public_id: str
    recipe: str
    width_px: int
    height_px: int
    form: Form | None
    medium: str
    alt: str
    credit: str
    licence: str
    licence_url: str
    seen_by: str
    kept_back: bool
    made_at: datetime


@dataclass(frozen=True, slots=True)
class OwnPictures:
    """A page of a person's own pictures, the latest first, and how many she has."""

    pictures: tuple[OwnPicture, ...]
    total: int
    page: int

    @property
    def has_more(self) -> bool:
        """Whether another page follows."""
        return (self.page + 1) * A_PAGE < self.total


def list_known_forms(db: Session, account_id: int) -> tuple[KnownForm, ...]:
    """Return the forms that somebody may name: those of the catalogues she drills or writes, else of all."""
    rows = queries.forms_of_catalogues(db, queries.catalogues_near(db, account_id))
    return tuple(KnownForm(_form(row, name), title, subject) for title, subject, row, name in rows)


def add_own_picture(
    db: Session, storage: Storage, taken: Taken, shown: WhatItShows, *, public_id: str, owner_id: int, rights: Rights, at: datetime
) -> int:
    """Keep somebody's own picture, which she may drill at once, and return its id."""
    if shown.form_id is not None and shown.form_id not in {known.form.id for known in list_known_forms(db, owner_id)}:
        raise Invalid("Choose what the picture shows from the list.", field="form")
    if shown.orientation not in ("", *SEEN_FROM):
        raise Invalid("Choose from the list from where it is seen.", field="orientation")
    if shown.medium not in MEDIA:
        raise Invalid("Choose from the list whether it is a photograph or a drawing.", field="medium")
    if queries.has_own(db, owner_id, taken.content_sha256):
        raise BadPicture("You have added this very picture already. Nothing was added now.", field="file")
    return add_picture(
        db,
        storage,
        taken,
        public_id=public_id,
        owner_id=owner_id,
        form_id=shown.form_id,
        rights=rights,
        at=at,
        medium=shown.medium,
        orientation=shown.orientation,
        typical=shown.typical,
        alt=shown.alt or _plain_alt(shown),
    )


def list_own_pictures(db: Session, account_id: int, *, on: date, page: int = 0) -> OwnPictures:
    """Return a page of somebody's own pictures that are not withdrawn, the latest first."""
    found = queries.own_pictures(db, account_id, skip=page * A_PAGE, most=A_PAGE)
    ids = [picture.id for picture, _ in found]
    files, titles = queries.served_files(db, ids), queries.titles_holding(db, ids)
    forms = queries.forms_by_id(db, [picture.form_id for picture, _ in found if picture.form_id is not None])
    pictures = tuple(
        _own(picture, rights, files[picture.id][0], forms.get(picture.form_id or 0), titles.get(picture.id, ()), on)
        for picture, rights in found
    )
    return OwnPictures(pictures, queries.count_own(db, account_id), page)


def retire_picture(db: Session, *, account_id: int, public_id: str, at: datetime) -> None:
    """Withdraw somebody's own picture: nobody is shown it from now on; what was answered on it stays."""
    row = queries.find_own(db, account_id, public_id)
    if row is None:
        raise NotFound("There is no such picture of yours.")
    row.retired_at = at


def _plain_alt(shown: WhatItShows) -> str:
    seen = f", seen {SEEN_FROM[shown.orientation]}" if shown.orientation else ""
    return f"{shown.medium} for this question{seen}."


def _own(
    picture: PictureRow, rights: RightsRow, file: FileRow, form: tuple[FormRow, str] | None, titles: Sequence[str], on: date
) -> OwnPicture:
    said = queries.rights_of(rights)
    return OwnPicture(
        public_id=picture.public_id,
        recipe=file.recipe,
        width_px=file.width_px,
        height_px=file.height_px,
        form=_form(*form) if form else None,
        medium=picture.medium,
        alt=picture.alt,
        credit=maker_line(said, picture.medium),
        licence=licence_name(said),
        licence_url=said.licence.url if said.licence else "",
        seen_by=_seen_by(picture, said, titles, on),
        kept_back=picture.use == Use.HELD_OUT,
        made_at=picture.made_at,
    )


def _seen_by(picture: PictureRow, rights: Rights, titles: Sequence[str], on: date) -> str:
    if picture.form_id is None:
        return "Only you see it, and it is not drilled: which form it shows is not said."
    if picture.use == Use.HELD_OUT:
        return "Kept for field tests: only the stewards of its catalogue see it."
    others = may(rights, owner_id=None, viewer_id=picture.owner_id, purpose=Purpose.GROUP, on=on)
    if not others.allowed:
        return f"Only you see it. {others.reason}"
    if not titles:
        return "Only you see it until a steward accepts it into a catalogue. You drill it already."
    return f"Seen by everybody who drills {', '.join(titles)}."


def _form(row: FormRow, name: str) -> Form:
    return Form(row.id, name, "", sex=row.sex, life_stage=row.life_stage, plumage=row.plumage, variant=row.variant)
