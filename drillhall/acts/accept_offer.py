"""Accepts an offered picture into a catalogue, with its label as it is or corrected; it takes two doors once answers hang on it."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy.orm import Session

from drillhall.acts.correct_label import correct_label
from drillhall.core.labels import ACCEPTED, Label
from drillhall.people import audit
from drillhall.pictures import accepting, labels, offers
from drillhall.pictures.storage import Storage


def accept_offer(db: Session, offer_id: int, said: accepting.Acceptance, *, catalogue_id: int, by: int, on: date, at: datetime) -> str:
    """Take an offered picture into a catalogue as a picture of a form, and return the name of its file there.

    Where its owner has said another form, her label is corrected first, and what was answered on it is judged anew.
    """
    picture_id = accepting.the_offered_picture(db, offer_id, catalogue_id=catalogue_id)
    if labels.the_label(db, picture_id) != Label(said.form_id):
        labels.check_answers_for(db, picture_id, by)
    correct_label(db, picture_id, Label(said.form_id), by=by, at=at, note=str(ACCEPTED))
    file = accepting.accept(db, offer_id, said, catalogue_id=catalogue_id, by_id=by, on=on, at=at)
    audit.note(db, "picture accepted", at=at, by=by, subject=f"picture {picture_id}, catalogue {catalogue_id}")
    return file


def offer_picture(
    db: Session, storage: Storage, public_id: str, *, owner_id: int, catalogue_id: int, lets_drill: bool, on: date, at: datetime
) -> bool:
    """Offer one of somebody's own pictures to a catalogue; into one of which she is steward it goes at once, as what she says it shows.

    With `lets_drill`, her agreement that others drill it is written into its rights, where she has reserved them all.
    Return whether it went in. Raises as `offers.offer_picture` and `accept_offer` do; whoever calls keeps nothing then.
    """
    if lets_drill:
        offers.let_drill(db, storage, owner_id=owner_id, public_id=public_id)
    offer_id = offers.offer_picture(db, owner_id=owner_id, public_id=public_id, catalogue_id=catalogue_id, on=on, at=at)
    if not offers.the_target(db, owner_id, catalogue_id).is_hers:
        return False
    accept_offer(db, offer_id, accepting.as_it_stands(db, offer_id), catalogue_id=catalogue_id, by=owner_id, on=on, at=at)
    return True
