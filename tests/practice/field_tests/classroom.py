"""A class in the small hall, a test set to it, and pupils who sit it as they are told to."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from random import Random

from sqlalchemy import update
from sqlalchemy.orm import Session

from drillhall.acts.set_field_test import set_field_test
from drillhall.people.group import Group
from drillhall.practice.field_tests import sitting
from drillhall.practice.field_tests.asked import Question
from drillhall.practice.field_tests.setting import PairWanted, TestWanted
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import PictureRow
from tests.practice.small_hall import NOON, SmallHall, make_small_hall

UNTIL = NOON + timedelta(hours=2)
Says = Callable[[Question], int]


@dataclass(frozen=True)
class Classroom:
    """Ids: the hall's, the group, its pupils; the stranger leads."""

    hall: SmallHall
    group: Group
    pupils: tuple[int, ...]


def make_classroom(db: Session, *, pupils: int = 2, kind: str = "class", is_paid: bool = False) -> Classroom:
    hall = make_small_hall(db, taken=False)
    db.execute(update(PictureRow).values(described_at=NOON))
    row = GroupRow(public_id=f"{kind} of {pupils}", title="Form Six", kind=kind, is_paid=is_paid, made_at=NOON)
    db.add(row)
    db.flush()
    _join(db, row.id, hall.stranger, "teacher" if kind == "class" else "leader")
    ids = [hall.learner, *(_pupil(db, number) for number in range(1, pupils))][:pupils]
    for account_id in ids:
        _join(db, row.id, account_id, "member")
    db.flush()
    return Classroom(hall, Group(row.id, row.public_id, row.title, kind, is_paid, None, "teacher"), tuple(ids))


def wanted(hall: SmallHall, *, pairs: int = 1, **more: object) -> TestWanted:
    told = {"title": "Autumn test", "set_id": hall.pair_set, "per_form": 2, "opens_at": NOON, "until": UNTIL, "minutes": 30}
    asked = tuple(PairWanted(one) for one in hall.pairs[:pairs])
    return TestWanted(**told | {"pairs": asked} | {("pairs" if name == "asked" else name): value for name, value in more.items()})  # type: ignore[arg-type]


def a_test(db: Session, room: Classroom, *, at: datetime = NOON, seed: int = 1, **more: object) -> int:
    return set_field_test(db, room.group, wanted(room.hall, **more), by=room.hall.stranger, at=at, dice=Random(seed))  # type: ignore[arg-type]


def begun(db: Session, account_id: int, test_id: int, *, at: datetime = NOON, sitting_id: str = "", seed: int = 2) -> str:
    made = sitting_id or f"sitting {account_id} of {test_id} at {at:%d %H:%M}"
    return sitting.begin_sitting(db, account_id, test_id, sitting_id=made, at=at, dice=Random(seed))


def sit(db: Session, account_id: int, test_id: int, says: Says, *, at: datetime = NOON) -> str:
    """Begin a test, say to each question what `says` tells, and hand it in."""
    sitting_id = begun(db, account_id, test_id, at=at)
    running = sitting.the_running(db, account_id, sitting_id, at=at)
    for place in running.items:
        said = says(running.question(place))
        sitting.answer(db, account_id, sitting_id, place, str(said) if said else "", at=at)
    sitting.hand_in(db, account_id, sitting_id, at=at)
    return sitting_id


def rightly(question: Question) -> int:
    return question.key


def wrongly(question: Question) -> int:
    return sum(question.forms) - question.key


def always_first(question: Question) -> int:
    return question.forms[0]


def nothing(_question: Question) -> int:
    return 0


def _join(db: Session, group_id: int, account_id: int, role: str) -> None:
    db.add(MembershipRow(group_id=group_id, account_id=account_id, role=role, since=NOON))


def _pupil(db: Session, number: int) -> int:
    row = AccountRow(name=f"Pupil {number}", name_folded=f"pupil {number}", passphrase_hash="none", zone="UTC", created_at=NOON)
    db.add(row)
    db.flush()
    return row.id
