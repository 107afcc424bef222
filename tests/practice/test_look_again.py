"""The picture to look at again: of those missed while certain the latest that may be shown still."""

from __future__ import annotations

from datetime import timedelta

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from drillhall.practice.today import LookAgain, the_today
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import AnswerRow, ShowingRow
from drillhall.store.session import Store
from tests.practice.playing import play
from tests.practice.small_hall import NOON, SmallHall
from tests.web.curating.curated import counted_statements


def missed_while_certain(db: Session, hall: SmallHall) -> list[str]:
    """Miss all of a drill and return the pictures' names in addresses, the latest first."""
    play(db, hall.learner, at=NOON, knows=lambda view, question: question.kind != "form", sure="certain")
    shown = select(PictureRow.public_id).join(ShowingRow, ShowingRow.picture_id == PictureRow.id)
    told = shown.join(AnswerRow, AnswerRow.showing_id == ShowingRow.id).where(AnswerRow.sure == "certain", ~ShowingRow.third)
    return list(db.scalars(told.order_by(AnswerRow.at.desc())))


def look_again(db: Session, hall: SmallHall) -> tuple[LookAgain | None, int]:
    """Return what the first page shows, and in how many statements the page was read."""
    db.expire_all()
    with counted_statements() as seen:
        return the_today(db, hall.learner, now=NOON + timedelta(hours=1)).look_again, len(seen)


def test_of_a_withdrawn_picture_the_next_that_was_missed_is_shown(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        pictures = missed_while_certain(db, hall)
        assert len(set(pictures)) == len(pictures) > 2
        for gone, name in enumerate(pictures):
            again, _ = look_again(db, hall)
            assert again is not None, f"{gone} withdrawn"
            assert again.picture.public_id == name
            db.execute(update(PictureRow).where(PictureRow.public_id == name).values(retired_at=NOON))
        assert look_again(db, hall)[0] is None


def test_many_withdrawn_cost_no_more_statements_than_one(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        pictures = missed_while_certain(db, quick_hall)
        db.execute(update(PictureRow).where(PictureRow.public_id == pictures[0]).values(retired_at=NOON))
        first, few = look_again(db, quick_hall)
        db.execute(update(PictureRow).where(PictureRow.public_id.in_(pictures[:-1])).values(retired_at=NOON))
        last, many = look_again(db, quick_hall)
        assert first is not None
        assert last is not None
        assert first.picture.public_id != last.picture.public_id
        assert many == few
