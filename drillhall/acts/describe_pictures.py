"""Says what somebody's own pictures show; where answers were given under another form, they are judged anew with it."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime

from sqlalchemy.orm import Session

from drillhall.acts.correct_label import correct_label, what_would_change
from drillhall.core.labels import Label
from drillhall.pictures import describing, labels
from drillhall.pictures.storage import Storage


def describe_pictures(
    db: Session,
    storage: Storage,
    *,
    account_id: int,
    public_ids: Collection[str],
    said: describing.Description,
    at: datetime,
    on: date,
) -> describing.Described:
    """Say something of some of somebody's own pictures, whole or not at all; raises Invalid naming the field."""

    def relabel(picture_id: int, label: Label) -> None:
        if what_would_change(db, picture_id).answers:
            correct_label(db, picture_id, label, by=account_id, at=at)
        else:
            labels.write_label(db, picture_id, label, by_id=account_id, at=at)

    return describing.describe(db, storage, relabel, account_id=account_id, public_ids=public_ids, said=said, at=at, on=on)
