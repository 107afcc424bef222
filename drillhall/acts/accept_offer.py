"""Accepts an offered picture into a catalogue, with its label as it is or corrected; it takes two doors once answers hang on it."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy.orm import Session

from drillhall.acts.correct_label import correct_label
from drillhall.core.labels import Label
from drillhall.people import audit
from drillhall.pictures import accepting, labels


def accept_offer(db: Session, offer_id: int, said: accepting.Acceptance, *, catalogue_id: int, by: int, on: date, at: datetime) -> str:
    """Take an offered picture into a catalogue as a picture of a form, and return the name of its file there.

    Where its owner has said another form, her label is corrected first, and what was answered on it is judged anew.
    """
    picture_id = accepting.the_offered_picture(db, offer_id, catalogue_id=catalogue_id)
    if labels.the_label(db, picture_id) != Label(said.form_id):
        labels.check_answers_for(db, picture_id, by)
    correct_label(db, picture_id, Label(said.form_id), by=by, at=at, note="when it was accepted")
    file = accepting.accept(db, offer_id, said, catalogue_id=catalogue_id, by_id=by, on=on, at=at)
    audit.note(db, "picture accepted", at=at, by=by, subject=f"picture {picture_id}, catalogue {catalogue_id}")
    return file
