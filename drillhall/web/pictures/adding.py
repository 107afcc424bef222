"""Everybody's own pictures: looking at them, and adding some in one form."""

from __future__ import annotations

from typing import Any, Final
from uuid import UUID

from flask import redirect, render_template, request, url_for

from drillhall.core.cautions import cautions, fixed_banner
from drillhall.core.rights import Rights
from drillhall.core.term_words import MEDIA, SEEN_FROM
from drillhall.errors import BadPicture, Invalid
from drillhall.people import limits
from drillhall.pictures import ingest, own, reach
from drillhall.pictures.listing import OwnPictures, Show, list_own_pictures
from drillhall.pictures.reading import MOST_BYTES, list_readable
from drillhall.pictures.sent import keep_sent
from drillhall.web import forms
from drillhall.web.pictures.rights import rights_asked, typed_rights
from drillhall.web.pictures.room import Page, blueprint, her_day
from drillhall.web.session import dice, now, storage, store, the_person
from drillhall.words import say

MOST_AT_ONCE: Final = 12
LATER: Final = "later"
SORTS: Final = (
    (Show.ALL, say("All", ctx="of one's own pictures")),
    (Show.WAITING, say("Not described")),
    (Show.NOT_DRILLED, say("Not drilled")),
    (Show.WITHDRAWN, say("Withdrawn")),
)
CHOSEN_MEDIA: Final = tuple((medium, MEDIA[medium]) for medium in ("Photograph", "Drawing"))
"""What an owner may choose, the first being what most pictures are."""


@blueprint.get("/my-pictures")
def my_pictures() -> Page:
    """Show somebody's own pictures, and the form that adds more."""
    return _page()


@blueprint.post("/my-pictures")
def add() -> Page:
    """Add pictures, all with the same words and rights or with none yet, whole or not at all."""
    try:
        is_later = forms.text("form", most=20) == LATER
        shown, rights = (None, Rights()) if is_later else (_typed_shown(), typed_rights())
        refuse_disturbed()
        taken = _taken()
        count = _keep(taken, shown, rights)
    except Invalid as error:
        return _page(error), 422
    values: dict[str, Any] = {"added": count or None, "already": len(taken) - count or None}
    return redirect(url_for("pictures.describe" if is_later else "pictures.my_pictures", **values), code=303)


def refuse_disturbed() -> None:
    """Raise Invalid unless it is ticked that nothing was disturbed."""
    if not forms.ticked("undisturbed"):
        raise Invalid(say("Tick that nothing was disturbed for the picture. If something was, do not add it."), field="undisturbed")


def spend_sending() -> None:
    """Count one picture that somebody sends, or raise TooMany."""
    with store().work() as db:
        limits.spend_try(db, limits.SEND_PICTURE, str(the_person().id), at=now())


def new_public_id() -> str:
    """Return a fresh name for a picture."""
    return str(UUID(int=dice().getrandbits(128), version=4))


def asked_listing(*, size: int, otherwise: Show = Show.ALL) -> OwnPictures:
    """Return the page of somebody's own pictures that the address asks for."""
    asked = request.args.get("show", "")
    show = Show(asked) if asked in set(Show) else otherwise
    number = min(max(forms.asked_id("page") or 0, 0), 10_000)
    form_id = forms.asked_id("form")
    with store().look() as db:
        return list_own_pictures(db, the_person().id, on=her_day(), page=number, show=show, form_id=form_id, size=size)


def _page(wrong: Invalid | None = None) -> str:
    person = the_person()
    with store().look() as db:
        known = own.list_known_forms(db, person.id)
        idle = reach.list_idle_forms(db, person.id)
    subjects = dict.fromkeys(form.subject for form in known) or {"bird": None}  # before any catalogue: what most will add
    told = dict.fromkeys(sentence for subject in subjects for sentence in cautions(subject, "upload"))
    return render_template(
        "pictures/my_pictures.html",
        mine=asked_listing(size=24),
        sorts=SORTS,
        idle=idle,
        known=known,
        cautions=tuple(told),
        banners=tuple(dict.fromkeys(banner for subject in subjects if (banner := fixed_banner(subject)))),
        rights_fields=rights_asked(maker=person.name),
        seen_from=SEEN_FROM,
        media=CHOSEN_MEDIA,
        most_bytes=MOST_BYTES,
        readable=list_readable(),
        wrong=wrong,
    )


def _typed_shown() -> own.WhatItShows:
    chosen = forms.text("form", most=20)
    if not chosen:
        raise Invalid(say("Choose what the picture shows."), field="form")
    return own.WhatItShows(
        form_id=None if chosen == "unsure" else forms.chosen("form", say("What it shows")),
        medium=forms.text("medium", most=20),
        orientation=forms.text("orientation", most=24),
        typical=forms.ticked("typical"),
        alt=forms.text("alt", most=300).strip(),
    )


def _taken() -> list[ingest.Taken]:
    files = [file for file in request.files.getlist("file") if file.filename]
    if not files:
        raise BadPicture(say("Choose a picture from your device."), field="file")
    if len(files) > MOST_AT_ONCE:
        raise BadPicture(say("Choose at most {most_at_once} pictures at a time.", most_at_once=MOST_AT_ONCE), field="file")
    taken = []
    for place, file in enumerate(files, 1):
        spend_sending()
        try:
            taken.append(ingest.take(file.stream.read(MOST_BYTES + 1), keep_original=the_person().preferences.keep_originals))
        except BadPicture as error:
            if len(files) == 1:
                raise
            told = say("Picture {place} of {all}: {sentence}", place=place, all=len(files), sentence=error.sentence)
            raise BadPicture(told, field="file") from error
    return taken


def _keep(taken: list[ingest.Taken], shown: own.WhatItShows | None, rights: Rights) -> int:
    """Keep what was sent and return how many of it were new; with words, the very same picture once more is refused."""
    owner_id, count = the_person().id, 0
    with store().work() as db:
        for one in taken:
            public_id = new_public_id()
            if shown is None:
                count += not keep_sent(db, storage(), one, public_id=public_id, owner_id=owner_id, at=now()).already
            else:
                own.add_own_picture(db, storage(), one, shown, public_id=public_id, owner_id=owner_id, rights=rights, at=now())
                count += 1
    return count
