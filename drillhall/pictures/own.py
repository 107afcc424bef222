"""What a person may say that her pictures show, and adding some with all of it said at once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from drillhall.core import term_words
from drillhall.core.rights import Rights
from drillhall.core.term_words import SEEN_FROM
from drillhall.core.terms import MEDIA
from drillhall.core.values import Form
from drillhall.errors import BadPicture, Invalid
from drillhall.pictures.found import refuse_generated
from drillhall.pictures.ingest import Taken, add_picture
from drillhall.pictures.storage import Storage
from drillhall.store.queries import pictures as queries
from drillhall.words import say, speaking


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


def list_known_forms(db: Session, account_id: int) -> tuple[KnownForm, ...]:
    """Return the forms that somebody may name: those of the catalogues she drills or writes, else of all."""
    rows = queries.forms_of_catalogues(db, queries.catalogues_near(db, account_id), speaking())
    forms = queries.tell_apart(db, [queries.form_of(row, name) for _, _, row, name in rows])
    return tuple(KnownForm(form, title, subject) for form, (title, subject, *_) in zip(forms, rows, strict=True))


def add_own_picture(
    db: Session, storage: Storage, taken: Taken, shown: WhatItShows, *, public_id: str, owner_id: int, rights: Rights, at: datetime
) -> int:
    """Keep somebody's own picture, which she may drill at once, and return its id."""
    if shown.form_id is not None and shown.form_id not in {known.form.id for known in list_known_forms(db, owner_id)}:
        raise Invalid(say("Choose what the picture shows from the list."), field="form")
    if shown.orientation not in ("", *SEEN_FROM):
        raise Invalid(say("Choose from the list from where it is seen."), field="orientation")
    if shown.medium not in MEDIA:
        raise Invalid(say("Choose from the list whether it is a photograph or a drawing."), field="medium")
    if shown.form_id is not None:
        check_alt(shown.alt, *sorted(queries.names_by_form(db, [shown.form_id]).get(shown.form_id, ())))
    refuse_generated(taken.found, medium=shown.medium)
    if queries.has_own(db, owner_id, taken.content_sha256):
        raise BadPicture(say("You have added this very picture already. Nothing was added now."), field="file")
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
        alt=shown.alt or plain_alt(shown),
    )


def check_alt(alt: str, *names: str) -> None:
    """Raise Invalid where the words for a picture give its form away, by whichever of its names and however spaced."""
    said = " ".join(alt.split()).casefold()
    name = next((name for name in names if name and " ".join(name.split()).casefold() in said), "")
    if name:
        raise Invalid(
            say(
                "These words are read before the answer, and they give it away: {name}. Say how many, seen from where, on what.", name=name
            ),
            field="alt",
        )


def plain_alt(shown: WhatItShows) -> str:
    """Return words for a picture that give nothing away: what it is, and from where it is seen."""
    return str(term_words.plain_alt(shown.medium, shown.orientation))
