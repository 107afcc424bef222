"""Everybody's own pictures: looking at them, adding some, withdrawing one."""

from __future__ import annotations

from typing import Final
from uuid import UUID

from flask import redirect, render_template, request, url_for

from drillhall.core.cautions import cautions, fixed_banner
from drillhall.core.licences import ALL_RIGHTS_RESERVED, LICENCES
from drillhall.core.rights import Purpose, Rights, check_rights
from drillhall.errors import BadPicture, BadRights, Invalid
from drillhall.pictures import ingest, own
from drillhall.pictures.reading import MOST_BYTES
from drillhall.web import forms
from drillhall.web.pictures.room import Page, blueprint, her_day
from drillhall.web.session import dice, now, storage, store, the_person

MOST_AT_ONCE: Final = 12
IN_THIS_HALL: Final = "in-this-hall"
LICENCE_WORDS: Final = (
    ("", "Only you see it", "no licence"),
    (IN_THIS_HALL, "People of this hall drill it, nothing more", "all rights reserved"),
    ("CC-BY-NC-ND-4.0", "Anybody may use it unchanged, not for money, and names you", "CC BY-NC-ND 4.0"),
    ("CC-BY-ND-4.0", "Anybody may use it unchanged, and names you", "CC BY-ND 4.0"),
    ("CC-BY-NC-SA-4.0", "Anybody may use and change it, not for money, names you, and passes it on likewise", "CC BY-NC-SA 4.0"),
    ("CC-BY-NC-4.0", "Anybody may use and change it, not for money, and names you", "CC BY-NC 4.0"),
    ("CC-BY-SA-4.0", "Anybody may use and change it, names you, and passes it on likewise", "CC BY-SA 4.0"),
    ("CC-BY-4.0", "Anybody may use and change it, and names you", "CC BY 4.0"),
    ("CC0-1.0", "Anybody may do anything with it", "CC0 1.0"),
)
"""What an owner may choose, the narrowest first, so that nothing is given away unseen."""


@blueprint.get("/my-pictures")
def my_pictures() -> Page:
    """Show somebody's own pictures, and the form that adds more."""
    return _page()


@blueprint.post("/my-pictures")
def add() -> Page:
    """Add pictures of one form, all with the same rights, whole or not at all."""
    try:
        shown, rights = _typed_shown(), _typed_rights()
        if not forms.ticked("undisturbed"):
            raise Invalid("Tick that nothing was disturbed for the picture. If something was, do not add it.", field="undisturbed")
        count = _keep(_taken(), shown, rights)
    except Invalid as error:
        return _page(error), 422
    return redirect(url_for("pictures.my_pictures", added=count), code=303)


@blueprint.post("/my-pictures/<public_id>/retire")
def retire(public_id: str) -> Page:
    """Withdraw one of somebody's own pictures."""
    with store().work() as db:
        own.retire_picture(db, account_id=the_person().id, public_id=public_id, at=now())
    return redirect(url_for("pictures.my_pictures", withdrawn="yes"), code=303)


def _page(wrong: Invalid | None = None) -> str:
    person = the_person()
    number = request.args.get("page", 0, type=int)
    with store().look() as db:
        known = own.list_known_forms(db, person.id)
        mine = own.list_own_pictures(db, person.id, on=her_day(), page=min(max(number, 0), 10_000))
    subjects = dict.fromkeys(form.subject for form in known) or {"bird": None}  # before any catalogue: what most will add
    told = dict.fromkeys(sentence for subject in subjects for sentence in cautions(subject, "upload"))
    return render_template(
        "pictures/my_pictures.html",
        mine=mine,
        known=known,
        cautions=tuple(told),
        banners=tuple(dict.fromkeys(banner for subject in subjects if (banner := fixed_banner(subject)))),
        licences=LICENCE_WORDS,
        seen_from=own.SEEN_FROM,
        wrong=wrong,
    )


def _typed_shown() -> own.WhatItShows:
    chosen = forms.text("form", most=20)
    if not chosen:
        raise Invalid("Choose what the picture shows.", field="form")
    return own.WhatItShows(
        form_id=None if chosen == "unsure" else forms.whole("form", "What it shows"),
        medium=forms.text("medium", most=20),
        orientation=forms.text("orientation", most=24),
        typical=forms.ticked("typical"),
        alt=forms.text("alt", most=300).strip(),
    )


def _typed_rights() -> Rights:
    chosen = forms.text("licence", most=60)
    if chosen not in {key for key, _, _ in LICENCE_WORDS}:
        raise BadRights("Choose from the list what others may do with it.", field="licence")
    in_hall = chosen == IN_THIS_HALL
    rights = Rights(
        creator=forms.text("creator", most=200).strip(),
        licence=ALL_RIGHTS_RESERVED if in_hall else LICENCES.get(chosen),
        credit=forms.text("credit", most=300).strip(),
        agreed=frozenset({Purpose.GROUP}) if in_hall else frozenset(),
    )
    return check_rights(rights)


def _taken() -> list[ingest.Taken]:
    files = [file for file in request.files.getlist("file") if file.filename]
    if not files:
        raise BadPicture("Choose a picture from your device.", field="file")
    if len(files) > MOST_AT_ONCE:
        raise BadPicture(f"Choose at most {MOST_AT_ONCE} pictures at a time.", field="file")
    taken = []
    for place, file in enumerate(files, 1):
        try:
            taken.append(ingest.take(file.stream.read(MOST_BYTES + 1)))
        except BadPicture as error:
            which = f"Picture {place} of {len(files)}: " if len(files) > 1 else ""
            raise BadPicture(f"{which}{error.sentence}", field="file") from error
    return taken


def _keep(taken: list[ingest.Taken], shown: own.WhatItShows, rights: Rights) -> int:
    person, thrown = the_person(), dice()
    with store().work() as db:
        for one in taken:
            public_id = str(UUID(int=thrown.getrandbits(128), version=4))
            own.add_own_picture(db, storage(), one, shown, public_id=public_id, owner_id=person.id, rights=rights, at=now())
    return len(taken)
