"""Learning records of a group: of whom, of what, under which names, and never from the future."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from drillhall.people import groups
from drillhall.people.accounts import the_person_of
from drillhall.practice.exports.xapi import LearningRecord
from drillhall.practice.recording import learning_records
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import ShowingRow
from drillhall.store.models.seasons import AssignmentRow
from drillhall.store.session import Store
from tests.practice.weak_spots.classes import BEGAN, Said, SmallClass, keep, make_class

LATER = BEGAN + timedelta(days=3)
NOW = LATER + timedelta(days=1)


def answered(db: Session, made: SmallClass, accounts: Iterable[int]) -> None:
    """Let each answer once right and once wrong on the first pair."""
    pair, (shown, other) = next(iter(made.pairs.items()))
    keep(db, [Said(account, pair, shown, said, LATER) for account in accounts for said in (shown, other)])


def records(db: Session, made: SmallClass, kind: str = "class", secret: str = "a secret", later: int = 0) -> list[LearningRecord]:
    return list(learning_records(db, made.group, kind, secret=secret, at=NOW + timedelta(days=later)))


def test_every_answer_is_a_record_of_somebody_without_a_name(store: Store) -> None:
    with store.work() as db:
        made = make_class(db, forms=5, learners=3)
        answered(db, made, made.learners)
        told = records(db, made)
        again = records(db, made, later=5)
        elsewhere = records(db, made, secret="another secret")
    shown, other = (str(form) for form in next(iter(made.pairs.values())))
    assert [one.key for one in told] == [shown] * 6
    assert sorted(one.said for one in told) == sorted([shown, other] * 3)
    assert len({one.learner for one in told}) == 3
    assert len({one.id for one in told}) == 6
    assert told == again, "the same names every time"
    for field in ("learner", "id", "drill", "picture"):
        assert {getattr(one, field) for one in told}.isdisjoint(getattr(one, field) for one in elsewhere)
    assert not any("P0" in repr(one) or f" {made.learners[0]} " in repr(one) for one in told)


def test_two_groups_know_somebody_under_different_names(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=1)
        answered(db, made, made.learners)
        first = records(db, made)
        by = the_person_of(db, made.learners[0])
        other = groups.make_group(db, by=by, title="Other", kind="class", is_paid=False, public_id="other", at=BEGAN)
        db.execute(update(MembershipRow).where(MembershipRow.group_id == other.id).values(role="member"))
        for given in db.scalars(select(AssignmentRow)).all():
            kept = {column.key: getattr(given, column.key) for column in AssignmentRow.__table__.columns if column.key != "id"}
            db.add(AssignmentRow(**kept | {"group_id": other.id}))
        db.flush()
        second = list(learning_records(db, other.id, "class", secret="a secret", at=NOW))
    assert len(first) == len(second) == 2
    assert {one.learner for one in first}.isdisjoint(one.learner for one in second)


def test_of_a_club_those_alone_are_told_of_who_agreed(store: Store) -> None:
    with store.work() as db:
        made = make_class(db, forms=5, learners=6, kind="club")
        answered(db, made, made.learners)
        assert records(db, made, "club") == []
        db.execute(update(MembershipRow).where(MembershipRow.account_id == made.learners[0]).values(lets_leader_see=True))
        assert len(records(db, made, "club")) == 2


def test_what_was_answered_before_she_joined_and_beside_the_group_is_not_told(store: Store) -> None:
    with store.work() as db:
        made = make_class(db, forms=5, learners=2)
        answered(db, made, made.learners)
        db.execute(update(MembershipRow).where(MembershipRow.account_id == made.learners[0]).values(since=LATER + timedelta(hours=1)))
        assert len(records(db, made)) == 2
        db.execute(update(MembershipRow).where(MembershipRow.account_id == made.learners[1]).values(until=NOW))
        assert records(db, made) == []
        db.execute(update(MembershipRow).values(until=None, since=BEGAN))
        db.execute(update(AssignmentRow).values(retired_at=NOW))
        assert records(db, made) == []


def test_no_record_lies_in_the_future(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=1)
        answered(db, made, made.learners)
        told = list(learning_records(db, made.group, "class", secret="a secret", at=LATER - timedelta(days=1)))
    assert {one.at for one in told} == {LATER - timedelta(days=1)}


def test_an_answer_is_judged_by_what_its_picture_is_said_to_show_now(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=1)
        answered(db, made, made.learners)
        _, other = next(iter(made.pairs.values()))
        pictures = db.scalars(select(ShowingRow.picture_id)).all()
        db.execute(update(PictureRow).where(PictureRow.id.in_(pictures)).values(form_id=other))
        assert {one.key for one in records(db, made)} == {str(other)}
        db.execute(update(PictureRow).where(PictureRow.id.in_(pictures)).values(form_id=None))
        assert records(db, made) == []
