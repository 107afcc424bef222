"""Takes in pictures of which a table tells everything at once: judged row by row before any is kept, then kept one by one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from datetime import date, datetime
from typing import Any, Final

from sqlalchemy.orm import Session

from drillhall.core.regions import Region
from drillhall.core.rights import Rights, check_entry
from drillhall.core.values import Mark
from drillhall.errors import DrillhallError, Invalid
from drillhall.pictures.describing import Description, check_beyond_form, check_listed
from drillhall.pictures.found import refuse_generated
from drillhall.pictures.framing import check_frame, frame_as_told
from drillhall.pictures.ingest import Taken, add_picture, check_words, rights_row
from drillhall.pictures.own import WhatItShows, check_alt, plain_alt
from drillhall.pictures.sent import Sent
from drillhall.pictures.storage import Storage
from drillhall.store.models.concepts import FormRow
from drillhall.store.models.pictures import MarkRow, PictureRow
from drillhall.store.queries import own_pictures
from drillhall.store.queries.pictures import forms_by_id, names_by_form
from drillhall.words import speaking

SUBJECT: Final = "subject"
"""The mark that says which of several organisms is meant."""


@dataclass(frozen=True, slots=True)
class Told:
    """What is told of one picture: a description with its rights, its marks, trait id (None: the subject) → where, and its frame."""

    said: Description
    marks: tuple[tuple[int | None, Mark], ...] = ()
    frame: Region | None = None


@dataclass(frozen=True, slots=True)
class KnownForm:
    """A form to judge rows by: the name that it is told by, and every name that it has anywhere in the hall."""

    row: FormRow
    name: str
    names: tuple[str, ...]


def known_forms(db: Session, form_ids: list[int]) -> Mapping[int, KnownForm]:
    """Return forms with their names, to judge rows by."""
    names = names_by_form(db, form_ids)
    return {
        id_: KnownForm(row, name, tuple(sorted(names.get(id_, ())))) for id_, (row, name) in forms_by_id(db, form_ids, speaking()).items()
    }


def faults_of(told: Told, forms: Mapping[int, KnownForm], *, on: date) -> Iterator[Invalid]:
    """Yield everything for which what is told would be refused later, a field at a time."""
    said = told.said
    words = {one.name: value for one in fields(said) if (value := getattr(said, one.name)) is not None}
    form = forms.get(said.form.form_id or 0) if said.form else None
    for field, value in words.items():
        try:
            if field == "rights":
                check_entry(value, on=on)
                check_words(rights_row(value))
                continue
            check_listed(_only(field, value), on=on)
            _check_field(field, value, form)
        except Invalid as error:
            yield error


def keep_told(db: Session, storage: Storage, taken: Taken, told: Told, *, public_id: str, owner_id: int, at: datetime) -> Sent:
    """Keep a picture with its rights and marks; what it shows is said after that, since answers may hang on it.

    The very bytes that its owner has already are no fault, and nothing is changed then.
    """
    known = own_pictures.known_bytes(db, owner_id, [taken.content_sha256])
    if known:
        return Sent(known[taken.content_sha256], already=True)
    medium = told.said.medium or "Photograph"
    refuse_generated(taken.found, medium=medium)
    if told.frame is not None:
        check_frame(taken.width_px, taken.height_px, told.frame)
    picture_id = add_picture(
        db,
        storage,
        taken,
        public_id=public_id,
        owner_id=owner_id,
        form_id=None,
        rights=told.said.rights or Rights(),
        at=at,
        medium=medium,
        alt=plain_alt(WhatItShows(None, medium=medium)),
        described=False,
    )
    for trait_id, mark in told.marks:
        place = {"x": mark.x, "y": mark.y, "width": mark.width, "height": mark.height}
        db.add(MarkRow(picture_id=picture_id, trait_id=trait_id, **place))
    db.flush()
    frame_as_told(db, storage, db.get_one(PictureRow, picture_id), told.frame)
    return Sent(public_id, already=False)


def _only(field: str, value: Any) -> Description:
    return replace(Description(), **{field: value})


def _check_field(field: str, value: Any, form: KnownForm | None) -> None:
    if not isinstance(value, str):
        return
    row = PictureRow(**{field: value})
    check_words(row)
    if form is None:
        return
    if field == "alt":
        check_alt(value, form.name, *form.names)
    elif field in {"sex", "life_stage", "plumage", "variant"}:
        check_beyond_form(_words_of(row), form.row, form.name)


def _words_of(row: PictureRow) -> PictureRow:
    for field in ("sex", "life_stage", "plumage", "variant"):
        if getattr(row, field) is None:
            setattr(row, field, "")
    return row


def sentence_of(error: DrillhallError) -> str:
    """Return what an error says, with the field it names before it."""
    field = getattr(error, "field", "")
    return f"{field}: {error.sentence}" if field and field != "file" else error.sentence
