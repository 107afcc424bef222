"""A hall in which people share: a club with pictures, an offer that waits and one that was accepted, and a corrected label."""

from __future__ import annotations

from datetime import timedelta
from io import BytesIO

from PIL import Image
from sqlalchemy import select

from drillhall.acts.accept_offer import accept_offer
from drillhall.acts.correct_label import correct_label
from drillhall.core.labels import Label
from drillhall.core.licences import LICENCES
from drillhall.core.rights import Rights
from drillhall.people import accounts, groups, invitations
from drillhall.people.permissions import the_group
from drillhall.pictures import ingest, offers, own, sharing
from drillhall.pictures.accepting import Acceptance
from drillhall.store.models.concepts import FormRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import ShowingRow
from tests import cast
from tests.hall import Hall

GROUP = "00000000-0000-4000-8000-00000000000c"
ARCHIVED = "00000000-0000-4000-8000-00000000000d"
HEADLESS = "00000000-0000-4000-8000-00000000000e"
PRIVATE, OFFERED, ACCEPTED = (f"00000000-0000-4000-8000-0000000000e{number}" for number in (1, 2, 3))
OPEN = Rights("Oda Querfurth", LICENCES["CC-BY-4.0"], "Oda Querfurth")


def groups_at_work(hall: Hall) -> None:
    """Fill the hall; the learner has drilled already."""
    keeper, learner = hall.people[cast.KEEPER], hall.people[cast.LEARNER]
    at, day = hall.clock.now, hall.clock.now.date()
    with hall.store.work() as db:
        made = groups.make_group(
            db, by=keeper, title="Watchers of the long sluice and the reed beds", kind="club", is_paid=True, public_id=GROUP, at=at
        )
        groups.add_member(db, made.id, learner.id, at=at)
        old = groups.make_group(db, by=learner, title="Form Six", kind="class", is_paid=False, public_id=ARCHIVED, at=at)
        groups.archive(db, old, by=learner, at=at)
        gone = accounts.make_account(db, name=cast.TEACHER.name, passphrase=cast.TEACHER.passphrase, at=at)
        hers = groups.make_group(db, by=gone, title="Counters of the lower flats", kind="class", is_paid=False, public_id=HEADLESS, at=at)
        groups.add_member(db, hers.id, learner.id, at=at)
        accounts.retire_account(db, gone.id, by=keeper, at=at)
        invitations.invite(db, by=keeper, at=at, places=9, note="the Thursday walk", group=made)
        theirs = db.scalars(select(PictureRow).where(PictureRow.owner_id == keeper.id, PictureRow.use == "practice").limit(4)).all()
        chosen = [row.public_id for row in theirs]
        sharing.share_pictures(db, hall.storage, chosen, owner_id=keeper.id, group_id=made.id, agrees=False, on=day, at=at)
    for number, public_id in enumerate((PRIVATE, OFFERED, ACCEPTED)):
        _add(hall, learner.id, public_id, Rights() if public_id == PRIVATE else OPEN, number)
    with hall.store.work() as db:
        for public_id in (OFFERED, ACCEPTED):
            offers.offer_picture(db, owner_id=learner.id, public_id=public_id, catalogue_id=1, on=day, at=at)
        waiting = offers.list_offers_of(db, owner_id=learner.id, public_id=ACCEPTED)[0]
        form_id = db.scalars(select(FormRow.id).order_by(FormRow.id)).all()[0]
        said = Acceptance(form_id, note="A fine bird in fine light")
        accept_offer(db, waiting.id, said, catalogue_id=1, by=keeper.id, on=day, at=at)
        sharing.share_pictures(db, hall.storage, [OFFERED], owner_id=learner.id, group_id=made.id, agrees=False, on=day, at=at)
    _correct(hall, keeper.id)


def group(_hall: Hall) -> dict[str, object]:
    """Name the club."""
    return {"group_key": GROUP}


def a_group_link(hall: Hall) -> str:
    """Make a link to the club and return its token."""
    keeper = hall.people[cast.KEEPER]
    with hall.store.work() as db:
        return invitations.invite(db, by=keeper, at=hall.clock.now, places=9, group=the_group(db, keeper, GROUP))


def a_shown(hall: Hall) -> str:
    """Return the address of a picture of the catalogue that the learner has answered on."""
    with hall.store.look() as db:
        shown = select(PictureRow.public_id).join(ShowingRow, ShowingRow.picture_id == PictureRow.id).order_by(ShowingRow.id)
        return str(db.scalars(shown.limit(1)).one())


def _add(hall: Hall, owner_id: int, public_id: str, rights: Rights, number: int) -> None:
    out = BytesIO()
    Image.new("RGB", (480, 360), (90 + 40 * number, 120, 140)).save(out, "PNG")
    with hall.store.work() as db:
        form_id = own.list_known_forms(db, owner_id)[0].form.id
        taken = ingest.take(out.getvalue())
        shown = own.WhatItShows(form_id, orientation="left")
        at = hall.clock.now
        own.add_own_picture(db, hall.storage, taken, shown, public_id=public_id, owner_id=owner_id, rights=rights, at=at)


def _correct(hall: Hall, by: int) -> None:
    at = hall.clock.now + timedelta(minutes=1)
    with hall.store.work() as db:
        row = db.scalars(select(PictureRow).where(PictureRow.public_id == a_shown(hall))).one()
        other = db.scalars(select(FormRow.id).where(FormRow.id != row.form_id)).first()
        correct_label(db, row.id, Label(other), by=by, at=at, note="The bill is bent, look at the tip")
        mine = db.scalars(select(PictureRow).where(PictureRow.public_id == OFFERED)).one()
        correct_label(db, mine.id, Label(other), by=by, at=at)
        correct_label(db, mine.id, Label(None, (other or 0, row.form_id or 0)) if other != row.form_id else Label(other), by=by, at=at)
        correct_label(db, mine.id, Label(other), by=by, at=at)
    hall.clock.pass_by(days=1)
